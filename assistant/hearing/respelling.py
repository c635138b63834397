"""Words spelt in other words that sound like them, for a listener that knows a fixed list of words only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from assistant.errors import BadSetting

FILE = "respellings.dict"
"""Name of the file in the folders of the trade's and the keeper's grammars."""


def respellings(paths: Iterable[Path]) -> Mapping[str, tuple[str, ...]]:
    """Word → the words that sound like it, from files with lines such as `teasel tea sell`; `#` begins a comment.

    A file that does not exist adds nothing; a later line for a word takes the place of an earlier one.

    Raises:
        BadSetting: a file is not text, or a line has no words after the first.
    """
    found: dict[str, tuple[str, ...]] = {}
    for path in paths:
        try:
            text = path.read_text(encoding="utf-8-sig")
        except FileNotFoundError:
            continue
        except (OSError, UnicodeDecodeError) as error:
            raise BadSetting(f"{path} cannot be read as UTF-8 text: {error}.") from error
        for number, line in enumerate(text.splitlines(), start=1):
            words = line.partition("#")[0].lower().split()
            if len(words) == 1:
                raise BadSetting(
                    f"{path}:{number}: {words[0]!r} needs words that sound like it, as in: teasel tea sell"
                )
            if words:
                found[words[0]] = tuple(words[1:])
    return found

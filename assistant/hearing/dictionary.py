"""The en-us dictionary in PocketSphinx's wheel, looked into where it lies.

It lists 126,000 words; a holding says a thousand. Read as a whole it would take 34 MB in each process, and a quarter of
a second.
"""

from __future__ import annotations

import mmap
from bisect import bisect_left
from functools import cache
from pathlib import Path

from assistant.errors import ListenerMissing


class Dictionary:
    """A dictionary in CMU format whose words are in the order of their bytes, each with its further ways after it.

    Args:
        path: the file. Its pages are shared with other processes.
    """

    def __init__(self, path: Path) -> None:
        with path.open("rb") as file:
            self._text = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)

    def of(self, word: str) -> tuple[str, ...]:
        """The pronunciations of a word as they are written, in their order; () if it is not listed."""
        sought, found = word.encode(), []
        at = bisect_left(range(len(self._text)), sought, key=lambda place: self._word(self._line(place)))
        start = self._line(at)
        while self._word(start) == sought:
            end = self._end(start)
            found.append(self._text[start:end].decode().partition(" ")[2])
            start = end + 1
        return tuple(found)

    def _line(self, place: int) -> int:
        """Where the line begins that has this place."""
        return self._text.rfind(b"\n", 0, place) + 1

    def _end(self, start: int) -> int:
        end = self._text.find(b"\n", start)
        return end if end >= 0 else len(self._text)

    def _word(self, start: int) -> bytes:
        return self._text[start : self._end(start)].partition(b" ")[0].partition(b"(")[0]


@cache
def dictionary() -> Dictionary:
    """The dictionary in PocketSphinx's wheel.

    Raises:
        ListenerMissing: PocketSphinx is not installed.
    """
    try:
        from pocketsphinx import get_model_path
    except ImportError as error:
        raise ListenerMissing(f"PocketSphinx is not installed: {error}. Install the package pocketsphinx.") from error
    return Dictionary(Path(str(get_model_path())) / "en-us" / "cmudict-en-us.dict")

"""What a wand reader leaves behind: a line for each tag that it read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from assistant.register.register import Register
from assistant.values import Animal

_CODE = re.compile(r"(?<![0-9])([0-9]{3})[ .-]?([0-9]{12})(?![0-9])")


class WandLine(NamedTuple):
    """One line of a reader's file; `animal` is None if the register has nobody with what was read."""

    line: int
    read: str
    animal: Animal | None


def wand_code(text: str) -> str:
    """The first electronic code in a line, as 15 digits; empty if there is none.

    Readers put other things beside the code, such as a moment or the strength of the signal; none has 15 digits.
    """
    found = _CODE.search(text)
    return found[1] + found[2] if found else ""


def wand_lines(text: str, register: Register) -> Iterator[WandLine]:
    """The animals of a reader's file, line by line; a line without a code may have a tag, a number or a name first."""
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        read = wand_code(line) or re.split(r"[,;\t]", line)[0].strip().strip('"')
        found = register.resolved(read)
        yield WandLine(number, read[:40], found[0] if len(found) == 1 else None)

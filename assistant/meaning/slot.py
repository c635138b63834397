"""Which tags a grammar file may have: those that a meaning can be made of."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from assistant.meaning.meaning import ASIDE, Assembly
from assistant.values import Grade

SLOTS = frozenset(name.removeprefix("_take_") for name in vars(Assembly) if name.startswith("_take_")) | {
    "order",
    ASIDE,
}
"""See the table of docs/grammar.md."""

_GRADES = tuple(Grade)
_CLOSED: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"grade": _GRADES, "graded": _GRADES, "tag": ("missing", "replaced", "new"), "order": ("after",), ASIDE: ("yes",)}
)
_NUMBERS = MappingProxyType({"add": re.compile(r"\d{1,4}(\.\d{1,2})?"), "unit": re.compile(r"\d{1,3}")})


def tag_trouble(slot: str, value: str) -> str:
    """What is wrong with a tag, and what to do; empty if nothing is."""
    if slot not in SLOTS:
        return f"there is no slot {slot!r}, use one of {', '.join(sorted(SLOTS))}"
    if not value:
        return "a tag has a value after the sign ="
    if slot in _CLOSED and value not in _CLOSED[slot]:
        return f"{value!r} is no {slot}, use one of {', '.join(_CLOSED[slot])}"
    if slot in _NUMBERS and not _NUMBERS[slot].fullmatch(value):
        return f"{value!r} is no number to count with"
    return ""

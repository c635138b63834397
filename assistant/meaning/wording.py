"""The words that a record can hold, for lists to choose from: read off the grammar files, the one source of them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from assistant.meaning.belonging import STANDING_FOR_OTHERS
from assistant.values import FEET, WHOLE_ANIMAL, Grade

_TAG = re.compile(r"\{(\w+)=([^}]*)\}")
_OPEN = "…"


@dataclass(frozen=True)
class Wording:
    """Every value of each kind, in the order of the grammar files.

    Attributes:
        places: single places, the feet first.
        parts: parts of a foot.
    """

    places: tuple[str, ...] = (*FEET, WHOLE_ANIMAL)
    parts: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    actions: tuple[str, ...] = ()
    follow_ups: tuple[str, ...] = ()
    measures: tuple[str, ...] = ()
    traits: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()
    grades: tuple[str, ...] = tuple(Grade)

    @property
    def all_places(self) -> tuple[tuple[str, str | None], ...]:
        """Every place, and every part of every foot."""
        return (*((place, None) for place in self.places), *((foot, part) for foot in FEET for part in self.parts))


def wording(sources: Iterable[tuple[str, str]]) -> Wording:
    """The words of grammar files.

    Args:
        sources: (file name, text) pairs.
    """
    found: dict[str, dict[str, None]] = {}
    for _, text in sources:
        for slot, value in _TAG.findall(text):
            if value != _OPEN and "," not in value:
                found.setdefault(slot, {})[value] = None

    def of(slot: str) -> tuple[str, ...]:
        return tuple(value for value in found.get(slot, {}) if value not in STANDING_FOR_OTHERS)

    return Wording(
        (*FEET, *(place for place in of("place") if place not in FEET), WHOLE_ANIMAL),
        of("part"),
        tuple(sorted(of("finding"))),
        tuple(sorted(of("action"))),
        of("follow_up"),
        of("measure"),
        of("trait"),
        of("mark"),
        of("tag"),
    )

"""The families of a herd as the store would give them to the lists."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.husbandry.family import Parents, parents
from assistant.values import Animal
from assistant.values.outlook import Called, Child


def parents_of(herd: Sequence[Animal]) -> dict[str, Parents]:
    """Animal → its parents, all of the herd asked at once."""
    return parents([Child(one.id, one.dam, one.sire) for one in herd], {one.id for one in herd}, lambda: called(herd))


def called(herd: Sequence[Animal]) -> list[Called]:
    """All that each animal may be called by."""
    return [
        Called(
            *(one.id, one.sex, one.tag, one.number, one.name, one.electronic, one.nicknames),
            tuple(tag.code for tag in one.past_tags),
        )
        for one in herd
    ]

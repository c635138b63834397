"""What the lists need to know of an animal: less than the register holds, so that a large herd is quick to read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import NamedTuple

from assistant.values import Animal, Sex, Species

IN_HERD = "in herd"


class Head(NamedTuple):
    """One animal of the herd; the fields as in `assistant.values.Animal`."""

    id: str
    tag: str
    number: str
    name: str
    electronic: str
    nicknames: tuple[str, ...]
    past_codes: tuple[str, ...]
    species: Species
    sex: Sex
    born: date | None
    dam: str
    sire: str
    group: str
    status: str
    due: date | None

    @property
    def label(self) -> str:
        """How the animal is called: its name, else its number, else its tag."""
        return self.name or self.number or self.tag

    @property
    def is_here(self) -> bool:
        """Whether it is in the herd."""
        return self.status == IN_HERD

    @property
    def is_female(self) -> bool:
        """Whether it is known to be female."""
        return self.sex is Sex.FEMALE

    @property
    def is_male(self) -> bool:
        """Whether it is known to be an entire male."""
        return self.sex is Sex.MALE


def head(animal: Animal) -> Head:
    """What the lists need of an animal of the register."""
    return Head(
        animal.id,
        animal.tag,
        animal.number,
        animal.name,
        animal.electronic,
        animal.nicknames,
        tuple(tag.code for tag in animal.past_tags),
        animal.species,
        animal.sex,
        animal.born,
        animal.dam,
        animal.sire,
        animal.group,
        animal.status,
        animal.due,
    )


def here(heads: Iterable[Head]) -> Iterator[Head]:
    """Those that are in the herd."""
    return (one for one in heads if one.status == IN_HERD)

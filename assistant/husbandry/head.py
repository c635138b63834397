"""What the lists need to know of an animal: less than the register holds, so that a large herd is quick to read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import NamedTuple

from assistant.values import Animal, Sex, Species

IN_HERD = "in herd"


class Name(NamedTuple):
    """How an animal is shown: by its name, else its number, else its tag; and the number for itself."""

    label: str
    number: str


class Head(NamedTuple):
    """One animal of the herd. What it is called is read only for those that are shown, see `Name`.

    Attributes:
        is_here: whether it is in the herd.
    """

    id: str
    species: Species
    sex: Sex
    born: date | None
    group: str
    is_here: bool
    due: date | None

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
        animal.species,
        animal.sex,
        animal.born,
        animal.group,
        animal.status == IN_HERD,
        animal.due,
    )


def here(heads: Iterable[Head]) -> Iterator[Head]:
    """Those that are in the herd."""
    return (one for one in heads if one.is_here)

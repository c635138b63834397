"""What lists are worked out from: less than register and records hold, so that a large herd is quick to read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import NamedTuple

from assistant.values.recorded import Animal, Sex, Species

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


class Child(NamedTuple):
    """An animal with the texts by which the register names its parents; empty if it does not."""

    id: str
    dam: str
    sire: str


class Called(NamedTuple):
    """All that an animal may be called by as a parent; the fields as in `assistant.values.Animal`."""

    id: str
    sex: Sex
    tag: str
    number: str
    name: str
    electronic: str
    nicknames: tuple[str, ...]
    past_codes: tuple[str, ...]


class Asked(NamedTuple):
    """Something that was asked for.

    Attributes:
        entry: id of the entry that it comes from.
        reason: the finding behind it; empty if a remark asked for it.
        due: None if no time was said.
    """

    entry: str
    animal: str
    what: str
    said: date
    due: date | None
    reason: str = ""


class Measured(NamedTuple):
    """The last value of a measure, in the scale of the holding, and its day."""

    value: float
    day: date

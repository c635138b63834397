"""What cannot be true in the families of a register."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from graphlib import CycleError, TopologicalSorter

from assistant.register.register import Register, called
from assistant.values import Animal, Sex

YOUNGEST_PARENT_DAYS = 262
"""A dam or sire younger than this at the birth of its child is reported: four months and 142 days of gestation.

Source: kids and lambs reach puberty at four to six months on average, Louisiana State University AgCenter, Puberty and
development of replacement females for your flock or herd; the shortest gestation, see `assistant.husbandry.gestation`.
"""

MOST_LOOPS = 20
"""More circles of descent are not listed: they go back to one mistake in the whole table."""


@dataclass(frozen=True)
class FamilyProblem:
    """Something that cannot be true; `animals` are the ids concerned, the child first."""

    animals: tuple[str, ...]
    message: str


def family_problems(register: Register, youngest_parent_days: int = YOUNGEST_PARENT_DAYS) -> tuple[FamilyProblem, ...]:
    """Every contradiction in the families.

    Reported are parents of the wrong sex or too young, one animal as both parents, names of parents that fit several
    animals, and animals that are their own ancestors. A parent that the register does not hold is no problem.

    Args:
        register: the animals.
        youngest_parent_days: least age of a parent at the birth of a child, in days.
    """
    found = [problem for animal in register for problem in _of_parents(register, animal, youngest_parent_days)]
    return (*found, *_loops(register))


def _of_parents(register: Register, animal: Animal, youngest: int) -> Iterator[FamilyProblem]:
    dam, sire = register.dam(animal), register.sire(animal)
    if dam and dam is sire:
        yield FamilyProblem((animal.id, dam.id), f"{called(dam)} is both dam and sire of {called(animal)}.")
    rows = (
        ("dam", animal.dam, dam, (Sex.MALE, Sex.CASTRATED)),
        ("sire", animal.sire, sire, (Sex.FEMALE,)),
    )
    for role, text, parent, unfit in rows:
        if parent is None:
            yield from _unclear(register, animal, role, text)
            continue
        both = (animal.id, parent.id)
        if parent.sex in unfit:
            yield FamilyProblem(both, f"{called(parent)}, the {role} of {called(animal)}, is {parent.sex}.")
        if animal.born and parent.born and animal.born - parent.born < timedelta(days=youngest):
            yield FamilyProblem(both, _age(role, animal, parent, animal.born, parent.born))


def _unclear(register: Register, animal: Animal, role: str, text: str) -> Iterator[FamilyProblem]:
    fitting = register.resolved(text)
    if len(fitting) > 1:
        shown = " or ".join(called(one) for one in fitting[:4])
        ids = (animal.id, *(one.id for one in fitting))
        yield FamilyProblem(ids, f"The {role} of {called(animal)}, {text!r}, may be {shown}. Give its tag.")


def _age(role: str, animal: Animal, parent: Animal, born: date, parent_born: date) -> str:
    days = (born - parent_born).days
    start = f"{called(parent)}, the {role} of {called(animal)}, "
    if days <= 0:
        return f"{start}was not born before it ({parent_born.isoformat()}, {born.isoformat()})."
    return f"{start}was {days} days old at its birth ({parent_born.isoformat()}, {born.isoformat()})."


def _loops(register: Register) -> Iterator[FamilyProblem]:
    """Circles of descent, each once, those that share an animal as one; the first `MOST_LOOPS`."""
    parents = {
        animal.id: {parent.id for parent in (register.dam(animal), register.sire(animal)) if parent}
        for animal in register
    }
    for _ in range(MOST_LOOPS):
        try:
            TopologicalSorter(parents).prepare()
        except CycleError as error:
            *keys, _ = reversed(error.args[1])  # it goes from parent to child and ends where it began
            yield _loop(register, keys)
            parents = {key: found - set(keys) for key, found in parents.items() if key not in keys}
        else:
            return


def _loop(register: Register, keys: list[str]) -> FamilyProblem:
    animals = [animal for animal in map(register.animal, keys) if animal]
    line = " is a child of ".join(called(animal) for animal in (*animals, animals[0]))
    return FamilyProblem(tuple(keys), f"An animal is its own ancestor: {line}.")

"""Relatives of an animal, as far as the register knows dams and sires."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from assistant.register.register import Register
from assistant.values import Animal, Sex


@dataclass(frozen=True)
class Family:
    """Relatives of one animal.

    Attributes:
        dam, sire: None if the register does not know them; then the text of the register is `Animal.dam`.
        daughters, sons, children: its young; `children` are those of which the sex is not known.
        full_siblings: with the same dam and the same sire.
        by_dam, by_sire: half siblings: with the same dam only, with the same sire only.
    """

    animal: Animal
    dam: Animal | None
    sire: Animal | None
    daughters: tuple[Animal, ...]
    sons: tuple[Animal, ...]
    children: tuple[Animal, ...]
    full_siblings: tuple[Animal, ...]
    by_dam: tuple[Animal, ...]
    by_sire: tuple[Animal, ...]


def family(register: Register, animal: Animal) -> Family:
    """The relatives of an animal."""
    dam, sire = register.dam(animal), register.sire(animal)
    young = register.offspring(animal.id)
    of_dam = _others(register, dam, animal)
    of_sire = _others(register, sire, animal)
    return Family(
        animal,
        dam,
        sire,
        tuple(one for one in young if one.sex is Sex.FEMALE),
        tuple(one for one in young if one.sex in (Sex.MALE, Sex.CASTRATED)),
        tuple(one for one in young if one.sex is Sex.UNKNOWN),
        tuple(one for key, one in of_dam.items() if key in of_sire),
        tuple(one for key, one in of_dam.items() if key not in of_sire),
        tuple(one for key, one in of_sire.items() if key not in of_dam),
    )


def _others(register: Register, parent: Animal | None, animal: Animal) -> dict[str, Animal]:
    young = register.offspring(parent.id) if parent else ()
    return {one.id: one for one in young if one.id != animal.id}


@dataclass(frozen=True)
class CommonAncestor:
    """An ancestor of two animals; `from_one` and `from_other` count generations, 0 for the animal itself."""

    animal: Animal
    from_one: int
    from_other: int


def ancestors(register: Register, animal: Animal) -> dict[str, int]:
    """Id → fewest generations back, the animal itself with 0; a circle of descent ends where it closes."""
    found = {animal.id: 0}
    waiting = deque([animal])
    while waiting:
        young = waiting.popleft()
        for parent in (register.dam(young), register.sire(young)):
            if parent and parent.id not in found:
                found[parent.id] = found[young.id] + 1
                waiting.append(parent)
    return found


def common_ancestors(register: Register, one: Animal, other: Animal) -> tuple[CommonAncestor, ...]:
    """Ancestors that two animals share, the nearest first; an animal counts as its own, so that a dam is found too.

    Ancestors of a common ancestor are common as well; only those are given that are reached without passing another
    one on both sides.
    """
    of_one, of_other = ancestors(register, one), ancestors(register, other)
    shared = of_one.keys() & of_other.keys()
    nearest = _free(register, one, shared) | _free(register, other, shared)
    animals = (register.animal(key) for key in shared & nearest)
    found = [CommonAncestor(animal, of_one[animal.id], of_other[animal.id]) for animal in animals if animal]
    return tuple(sorted(found, key=lambda item: (item.from_one + item.from_other, item.animal.label)))


def _free(register: Register, animal: Animal, shared: set[str]) -> set[str]:
    """The shared ancestors that are reached from an animal without passing another shared one."""
    found: set[str] = set()
    seen: set[str] = set()
    waiting = [animal]
    while waiting:
        at = waiting.pop()
        if at.id in seen:
            continue
        seen.add(at.id)
        if at.id in shared:
            found.add(at.id)
        else:
            waiting += [parent for parent in (register.dam(at), register.sire(at)) if parent]
    return found

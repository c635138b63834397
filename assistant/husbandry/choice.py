"""Which male for which female: inbreeding of the young, faults that run in the family, judgements of the keeper.

A list to decide by, never an order. What the register does not know of parents makes every coefficient a floor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date

import numpy as np

from assistant.husbandry.family import Parents, Pedigree
from assistant.husbandry.kinship import Numbers, kinship
from assistant.values import Sex, Species
from assistant.values.outlook import Head

FLOOR = "An incomplete pedigree gives a floor: the truth may be higher."

DO_NOT_BREED = "do not breed"
ANOTHER_SIRE = "use another sire"
KEEP_NO_DAUGHTERS = "keep no daughters"


@dataclass(frozen=True, eq=False)
class Choice:
    """Every female with every male.

    Attributes:
        males, females: ids.
        inbreeding: F of the young, float64, shape (females, males); nan for a goat with a sheep.
        flags: animal → what is known against using it, its own and its family's.
        not_again: female → males that her keeper does not want for her again.
    """

    males: tuple[str, ...]
    females: tuple[str, ...]
    inbreeding: Numbers
    flags: Mapping[str, tuple[str, ...]]
    not_again: Mapping[str, frozenset[str]]

    def best(self, female: str, limit: float) -> tuple[str, ...]:
        """Males within the limit of inbreeding for a female that nothing is known against, least related first."""
        row = self.inbreeding[self.females.index(female)]
        fit = [
            (value, at)
            for at, value in enumerate(row.tolist())
            if value <= limit and not self.flags.get(self.males[at]) and not self.is_refused(female, self.males[at])
        ]
        return tuple(self.males[at] for _, at in sorted(fit))

    def is_refused(self, female: str, male: str) -> bool:
        """Whether the keeper said to use another sire than this one."""
        return male in self.not_again.get(female, frozenset())


def choice(
    of: Pedigree,
    males: Sequence[str],
    females: Sequence[str],
    faults: Mapping[str, Iterable[str]],
    traits: Mapping[str, frozenset[str]],
    sheep: AbstractSet[str] = frozenset(),
) -> Choice:
    """Every female with every male.

    Args:
        of: the pedigree.
        males: ids of those that can be used.
        females: ids of those to be mated.
        faults: animal → findings on it that run in families.
        traits: animal → the keeper's lasting judgements.
        sheep: ids of those that are sheep; the others are goats.

    Source:
        Wright 1922 and Henderson 1976 for the coefficients, see `assistant.husbandry.kinship`; marking relatives of
        animals with extra teats: Journal of Dairy Science 99:8891-8900, 2016 (many genes, no single major one, so a
        clear parent is no proof).
    """
    known = family_faults(of, faults)
    flags: dict[str, tuple[str, ...]] = {}
    marked = known.keys() | traits.keys()
    for key in (one for one in (*males, *females) if one in marked):
        against = [DO_NOT_BREED] if DO_NOT_BREED in traits.get(key, ()) else []
        if found := (*against, *known.get(key, ())):
            flags[key] = found
    not_again = {
        key: _former_sires(of, key) for key in females if key in marked and ANOTHER_SIRE in traits.get(key, ())
    }
    values = kinship(of, males, females)
    is_sheep = [np.array([key in sheep for key in keys], dtype=bool) for keys in (females, males)]
    values[is_sheep[0][:, None] != is_sheep[1]] = np.nan
    return Choice(tuple(males), tuple(females), values, flags, not_again)


def unfit(males: Sequence[Head], females: Sequence[Head], day: date, label: Callable[[str], str]) -> str:
    """Why these males and females cannot be mated, as a sentence; empty if they can.

    Args:
        males: those to be used.
        females: those to be mated.
        day: of the mating.
        label: gives what an animal is called, by its id.
    """
    for those, needed, wrong in ((males, "male", Sex.FEMALE), (females, "female", Sex.MALE)):
        for one in those:
            if one.sex in (wrong, Sex.CASTRATED):
                return f"{label(one.id)} is {one.sex} in the register. Name a {needed}."
            if one.born and one.born > day:
                return f"{label(one.id)} was born on {one.born}, after {day}. Correct one of the days."
    found = {one.species: label(one.id) for one in (*males, *females)}
    if len(found) > 1:
        goat, sheep = found[Species.GOAT], found[Species.SHEEP]
        return f"{goat} is a goat and {sheep} a sheep by the register. Name animals of one species."
    return ""


def family_faults(of: Pedigree, faults: Mapping[str, Iterable[str]]) -> dict[str, tuple[str, ...]]:
    """Animal → faults of its own and of its parents, young, full and half brothers and sisters, in words."""
    places = {key: of.place[key] for key in faults if key in of.place}
    children = _children(of, {near for at in places.values() for near in (at, int(of.sire[at]), int(of.dam[at]))})
    found: dict[str, dict[str, None]] = {}
    for key, at in places.items():
        for other, relation in {**_siblings(of, children, at), **_near(of, children, at), at: ""}.items():
            for what in faults[key]:
                found.setdefault(of.keys[other], {})[f"{what} ({relation})" if relation else what] = None
    return {key: tuple(texts) for key, texts in found.items()}


def _children(of: Pedigree, whose: AbstractSet[int]) -> dict[int, list[int]]:
    """Parent → its young; only of those asked for."""
    found: dict[int, list[int]] = {}
    wanted = np.array(sorted(whose - {of.n}), dtype=np.int64)
    for parents in (of.sire, of.dam):
        for at in np.flatnonzero(np.isin(parents, wanted)).tolist():
            found.setdefault(int(parents[at]), []).append(at)
    return found


def _near(of: Pedigree, children: Mapping[int, Sequence[int]], at: int) -> dict[int, str]:
    """Parents and young of an animal, each with what the animal is to it."""
    parents = {int(parent): "its young" for parent in (of.sire[at], of.dam[at]) if parent < of.n}
    return {**parents, **{child: "sire" if of.sire[child] == at else "dam" for child in children.get(at, ())}}


def _siblings(of: Pedigree, children: Mapping[int, Sequence[int]], at: int) -> dict[int, str]:
    by_sire = set(children.get(int(of.sire[at]), ())) if of.sire[at] < of.n else set()
    by_dam = set(children.get(int(of.dam[at]), ())) if of.dam[at] < of.n else set()
    return {
        other: "full sibling" if other in by_sire and other in by_dam else "half sibling"
        for other in by_sire | by_dam
        if other != at
    }


def _former_sires(of: Pedigree, female: str) -> frozenset[str]:
    at = of.place.get(female, -1)
    sires = of.sire[of.dam == at]
    return frozenset(of.keys[sire] for sire in sires.tolist() if sire < of.n)


def unwanted_daughters(
    heads: Iterable[Head], traits: Mapping[str, frozenset[str]], parents: Mapping[str, Parents]
) -> tuple[tuple[str, str], ...]:
    """(mother, daughter) for each daughter in the herd of a female of which no daughters are to be kept."""
    found = []
    for one in heads:
        dam = parents.get(one.id, (None, None))[1]
        if dam and one.is_here and one.is_female and KEEP_NO_DAUGHTERS in traits.get(dam, ()):
            found.append((dam, one.id))
    return tuple(found)


def relation(of: Pedigree, one: str, other: str) -> str:
    """What the first animal is to the second, if it is near: "dam", "half sibling", "daughter or son"; else empty."""
    a, b = of.place.get(one), of.place.get(other)
    if a is None or b is None or a == b:
        return ""
    if a in (of.sire[b], of.dam[b]):
        return "sire" if of.sire[b] == a else "dam"
    if b in (of.sire[a], of.dam[a]):
        return "young"
    shared = sum(
        parent < of.n and mine == parent for mine, parent in ((of.sire[a], of.sire[b]), (of.dam[a], of.dam[b]))
    )
    if shared:
        return "full sibling" if shared == 2 else "half sibling"
    for place, names in ((b, ("grandsire", "granddam")), (a, ("grandchild", "grandchild"))):
        asked = a if place == b else b
        for parent in (of.sire[place], of.dam[place]):
            if parent < of.n and asked in (of.sire[parent], of.dam[parent]):
                return names[0] if of.sire[parent] == asked else names[1]
    return ""

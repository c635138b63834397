"""Who descends from whom, as whole numbers in the order of generations: what the arithmetic of pedigrees works on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from assistant.errors import BadRegister
from assistant.register.register import compact
from assistant.values import Sex
from assistant.values.outlook import Called, Child

Parents = tuple[str | None, str | None]
"""Keys of the sire and the dam; None if not known."""

Places = NDArray[np.int64]

Shape = Callable[[str], str]
"""Makes texts alike that stand for the same."""

OUTSIDE = "outside:"
"""Before the name of a parent that the register does not have; two animals with one such parent are still siblings."""


@dataclass(frozen=True, eq=False)
class Pedigree:
    """Animals by place 0 … n - 1; place n stands for an unknown parent.

    Attributes:
        keys: the animals.
        place: key → place.
        sire, dam: int64, shape (n,): places of the parents.
        generations: places by generation, founders first; parents are always in an earlier one.
        generation: int64, shape (n,): each animal's own.
    """

    keys: tuple[str, ...]
    place: Mapping[str, int]
    sire: Places
    dam: Places
    generations: tuple[Places, ...]
    generation: Places

    @property
    def n(self) -> int:
        """How many animals."""
        return len(self.keys)

    def is_ancestor(self, of: Places) -> NDArray[np.bool_]:
        """For each place, and the unknown parent last, whether it is one of these animals or an ancestor of one."""
        found = np.zeros(self.n + 1, dtype=bool)
        found[of] = True
        for places in reversed(self.generations):
            mine = places[found[places]]
            found[self.sire[mine]] = True
            found[self.dam[mine]] = True
        return found

    def part(self, keys: Iterable[str]) -> Pedigree:
        """The pedigree of these animals alone, with all their known ancestors."""
        places = [self.place[key] for key in keys if key in self.place]
        named = [*self.keys, None]
        found = np.flatnonzero(self.is_ancestor(np.array(places, dtype=np.int64))[: self.n]).tolist()
        return pedigree({self.keys[at]: (named[self.sire[at]], named[self.dam[at]]) for at in found})


def pedigree(parents: Mapping[str, Parents], name: Callable[[str], str] = str) -> Pedigree:
    """Puts animals in the order of generations.

    Args:
        parents: animal → its parents; a parent that is no key itself becomes a founder.
        name: gives what an animal is called, for the message.

    Raises:
        BadRegister: an animal descends from itself.
    """
    everyone = dict.fromkeys(chain(parents, chain.from_iterable(parents.values())))
    keys = tuple(key for key in everyone if key is not None)
    n = len(keys)
    place = {key: at for at, key in enumerate(keys)}
    known: dict[str | None, int] = {None: n}
    known.update(place)
    sire, dam = np.full(n, n, dtype=np.int64), np.full(n, n, dtype=np.int64)
    sire[: len(parents)] = [known[one] for one, _ in parents.values()]
    dam[: len(parents)] = [known[one] for _, one in parents.values()]
    generations = _generations(sire, dam, lambda at: name(keys[at]))
    generation = np.zeros(n, dtype=np.int64)
    for at, places in enumerate(generations):
        generation[places] = at
    return Pedigree(keys, place, sire, dam, tuple(generations), generation)


def _generations(sire: Places, dam: Places, name: Callable[[int], str]) -> list[Places]:
    n = len(sire)
    is_placed = np.zeros(n + 1, dtype=bool)
    is_placed[n] = True
    waiting = np.arange(n)
    found = []
    while waiting.size:
        is_ready = is_placed[sire[waiting]] & is_placed[dam[waiting]]
        if not is_ready.any():
            raise BadRegister(
                f"By the parents written down, {name(int(waiting[0]))} or one of its ancestors descends from itself. "
                "Correct a dam or sire in the register; see: assistant register check"
            )
        found.append(waiting[is_ready])
        is_placed[found[-1]] = True
        waiting = waiting[~is_ready]
    return found


Column = tuple[Sequence[str], Sequence[Called]]
"""Texts by which animals may be called, and the animals."""


def parents(
    children: Sequence[Child], ids: AbstractSet[str], called: Callable[[], Sequence[Called]]
) -> dict[str, Parents]:
    """Animal → its parents, found as the register finds them: by id, else tag, code, number, name.

    Of several with one number or name only those of a fitting sex count; if several are left, the parent is not known.
    A parent that nobody in the register is called by is a founder of its own.

    Args:
        children: whose parents.
        ids: of every animal of the register.
        called: gives what they are called by; asked only if a parent is not named by its id.
    """
    texts = {one.dam for one in children} | {one.sire for one in children}
    found: dict[str, str | None] = {text: text for text in texts & ids}
    found[""] = None
    several: dict[str, list[Called]] = {}
    if others := texts - found.keys():
        for text, those in named(others, called()).items():
            found[text] = those[0].id if those else OUTSIDE + text.casefold()
            if len(those) > 1:
                several[text] = those

    whole = {child: (found[sire], found[dam]) for child, dam, sire in children}
    for child, dam, sire in children if several else ():
        if sire in several or dam in several:
            whole[child] = (
                _fit(several[sire], child, (Sex.FEMALE,)) if sire in several else found[sire],
                _fit(several[dam], child, (Sex.MALE, Sex.CASTRATED)) if dam in several else found[dam],
            )
    return whole


def _fit(those: Iterable[Called], child: str, unfit: tuple[Sex, ...]) -> str | None:
    left = [one.id for one in those if one.sex not in unfit and one.id != child]
    return left[0] if len(left) == 1 else None


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def named(texts: AbstractSet[str], called: Sequence[Called]) -> dict[str, list[Called]]:
    """Text → the animals that it stands for in the best way: as written, and only then without spaces and case."""
    past = [(text, one) for one in called if one.past_codes for text in one.past_codes]
    also = [(text, one) for one in called if one.nicknames for text in one.nicknames]
    codes: tuple[Column, ...] = (
        ([one.id for one in called], called),
        ([one.tag for one in called], called),
        ([text for text, _ in past], [one for _, one in past]),
        ([one.electronic for one in called], called),
        ([one.number for one in called], called),
    )
    names = ([one.name for one in called] + [text for text, _ in also], [*called, *(one for _, one in also)])
    found: dict[str, list[Called]] = {}
    for code, name in ((str, str), (compact, _folded)):
        for shape, columns in ((code, codes), (name, (names,))):
            left = {text: key for text in texts - found.keys() if (key := shape(text))}
            for column in columns:
                if left and (hits := _hits(column, shape, set(left.values()))):
                    found.update((text, hits[key]) for text, key in left.items() if key in hits)
                    left = {text: key for text, key in left.items() if key not in hits}
    return {text: found.get(text, []) for text in texts}


def _hits(column: Column, shape: Shape, wanted: AbstractSet[str]) -> dict[str, list[Called]]:
    """Shaped text → the animals that are called so; only of those wanted."""
    texts, animals = column
    keys = texts if shape is str else list(map(shape, texts))
    hits: dict[str, list[Called]] = {}
    if wanted.isdisjoint(keys):
        return hits
    for key, one in zip(keys, animals, strict=True):
        if key in wanted:
            held = hits.setdefault(key, [])
            if one not in held:  # its name and nickname may be the same
                held.append(one)
    return hits

"""Who descends from whom, as whole numbers in the order of generations: what the arithmetic of pedigrees works on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.errors import BadRegister
from assistant.husbandry.head import Head
from assistant.register.register import compact
from assistant.values import Sex

Parents = tuple[str | None, str | None]
"""Keys of the sire and the dam; None if not known."""

Shape = Callable[[str], str]

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
    sire: NDArray[np.int64]
    dam: NDArray[np.int64]
    generations: tuple[NDArray[np.int64], ...]
    generation: NDArray[np.int64]

    @property
    def n(self) -> int:
        """How many animals."""
        return len(self.keys)

    def ancestry(self, places: Iterable[int]) -> list[int]:
        """Places of these animals and all their known ancestors, later generations first."""
        found: set[int] = set()
        waiting = list(places)
        while waiting:
            at = waiting.pop()
            if at < self.n and at not in found:
                found.add(at)
                waiting += (int(self.sire[at]), int(self.dam[at]))
        return sorted(found, key=lambda at: -int(self.generation[at]))

    def part(self, keys: Iterable[str]) -> Pedigree:
        """The pedigree of these animals alone, with all their known ancestors."""
        places = self.ancestry(self.place[key] for key in keys if key in self.place)
        named = [*self.keys, None]
        return pedigree({self.keys[at]: (named[self.sire[at]], named[self.dam[at]]) for at in places})


def pedigree(parents: Mapping[str, Parents]) -> Pedigree:
    """Puts animals in the order of generations.

    Args:
        parents: animal → its parents; a parent that is no key itself becomes a founder.

    Raises:
        BadRegister: an animal descends from itself.
    """
    keys = tuple(dict.fromkeys([*parents, *(key for pair in parents.values() for key in pair if key is not None)]))
    place = {key: at for at, key in enumerate(keys)}
    n = len(keys)
    pairs = [parents.get(key, (None, None)) for key in keys]
    sire = np.array([n if one is None else place[one] for one, _ in pairs], dtype=np.int64)
    dam = np.array([n if one is None else place[one] for _, one in pairs], dtype=np.int64)
    generations = _generations(keys, sire, dam)
    generation = np.zeros(n, dtype=np.int64)
    for at, places in enumerate(generations):
        generation[places] = at
    return Pedigree(keys, place, sire, dam, tuple(generations), generation)


def _generations(keys: Sequence[str], sire: NDArray[np.int64], dam: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    n = len(keys)
    is_placed = np.zeros(n + 1, dtype=bool)
    is_placed[n] = True
    waiting = np.arange(n)
    found = []
    while waiting.size:
        is_ready = is_placed[sire[waiting]] & is_placed[dam[waiting]]
        if not is_ready.any():
            raise BadRegister(
                f"By the parents written down, {keys[int(waiting[0])]} or one of its ancestors descends from itself. "
                "Correct a dam or sire in the register."
            )
        found.append(waiting[is_ready])
        is_placed[found[-1]] = True
        waiting = waiting[~is_ready]
    return found


def parents(heads: Sequence[Head]) -> dict[str, Parents]:
    """Animal → its parents, found as the register finds them: by id, else tag, code, number, name.

    Of several with one number or name only those of a fitting sex count; if several are left, the parent is not known.
    A parent that nobody in the register is called by is a founder of its own.
    """
    names = _Names(heads)
    return {one.id: (names.parent(one, one.sire, Sex.FEMALE), names.parent(one, one.dam, Sex.MALE)) for one in heads}


class _Names:
    """What animals are called by, best first; compared as written, and only then without spaces and case."""

    def __init__(self, heads: Sequence[Head]) -> None:
        self._heads = heads
        self._sex = {one.id: one.sex for one in heads}
        texts = {text for one in heads for text in (one.dam, one.sire) if text}
        ids = {text: (text,) for text in texts & self._sex.keys()}
        rest = texts - ids.keys()
        self._exact = {**self._called(rest, str, str), **ids} if rest else ids
        missing = rest - self._exact.keys()
        self._codes = self._called({compact(text) for text in missing}, compact, None) if missing else {}
        self._names = self._called({text.casefold() for text in missing}, None, str.casefold) if missing else {}

    def _called(self, wanted: set[str], code: Shape | None, name: Shape | None) -> dict[str, tuple[str, ...]]:
        """Text → ids of the animals that it stands for in the best way; only for texts that are asked for.

        Args:
            wanted: the texts.
            code: the form in which codes are compared; None leaves them out.
            name: the same for names.
        """
        ways: list[dict[str, dict[str, None]]] = [{} for _ in range(6)]
        for one in self._heads:
            codes = [(0, one.id), (1, one.tag), *((2, text) for text in one.past_codes)] if code else []
            codes += [(3, one.electronic), (4, one.number)] if code else []
            names = [(5, text) for text in (one.name, *one.nicknames)] if name else []
            for shape, texts in ((code, codes), (name, names)):
                for way, text in texts:
                    if text and shape and (key := shape(text)) in wanted:
                        ways[way].setdefault(key, {})[one.id] = None
        found: dict[str, tuple[str, ...]] = {}
        for better in reversed(ways):
            found.update({key: tuple(ids) for key, ids in better.items()})
        return found

    def parent(self, child: Head, text: str, unfit: Sex) -> str | None:
        if not text:
            return None
        found = self._exact.get(text) or self._codes.get(compact(text)) or self._names.get(text.casefold())
        if not found:
            return f"{OUTSIDE}{text.casefold()}"
        if len(found) > 1:
            shut_out = (unfit, Sex.CASTRATED) if unfit is Sex.MALE else (unfit,)
            found = tuple(key for key in found if self._sex[key] not in shut_out and key != child.id)
        return found[0] if len(found) == 1 else None

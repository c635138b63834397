"""Indexes over a register: names by letters and by sound, numbers whole and by their end.

Every name, number and tag is looked at once when the index is built, so that a mention costs little in a big herd.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from assistant.register.likeness import Sounds, grouped, likeness
from assistant.values import Animal

T = TypeVar("T")

CLOSE_SPELLING = 0.75
"""Share of letters in common from which a name is taken for a slip of another."""

CLOSE_SOUND = 0.75
"""Likeness of sound from which two names can be heard for each other: tansy and pansy have 0.9."""


MOST_EDITS = 2
"""Letters or groups of sounds in which a name may differ at most, however long it is."""


class NameIndex:
    """Names and nicknames of animals.

    Args:
        animals: those to be found.
        sounds: how names sound.
    """

    def __init__(self, animals: Iterable[Animal], sounds: Sounds) -> None:
        self._ids: dict[str, list[str]] = defaultdict(list)
        for animal in animals:
            for name in {spelt(text) for text in (animal.name, *animal.nicknames)} - {""}:
                self._ids[name].append(animal.id)
        self._sounds = sounds
        self._spellings = _Nearby((name, name) for name in self._ids)
        self._heard = _Nearby((grouped(way), (way, name)) for name in self._ids for way in sounds.of(name))

    def same(self, text: str) -> list[str]:
        """Ids of the animals with this name."""
        return self._ids.get(spelt(text), [])

    def spelt_like(self, text: str) -> Iterator[tuple[str, float]]:
        """Ids of animals whose name has nearly these letters, with the likeness from `CLOSE_SPELLING` to 1."""
        wanted = spelt(text)
        for name in self._spellings.within(wanted, 1 - CLOSE_SPELLING):
            closeness = Levenshtein.normalized_similarity(name, wanted)
            yield from ((key, closeness) for key in self._ids[name])

    def sounding_like(self, text: str) -> Iterator[tuple[str, float]]:
        """Ids of animals whose name sounds nearly so, with the likeness from `CLOSE_SOUND` to 1."""
        ways = self._sounds.of(text)
        for groups in dict.fromkeys(map(grouped, ways)):
            for way, name in self._heard.within(groups, 1 - CLOSE_SOUND):
                closeness = max(likeness(said, way) for said in ways)
                if closeness >= CLOSE_SOUND:
                    yield from ((key, closeness) for key in self._ids[name])


def spelt(text: str) -> str:
    """A name in the form in which spellings are compared."""
    return " ".join(text.casefold().replace("-", " ").split())


class _Nearby(Generic[T]):
    """Strings to be searched for those with few edits, and what each stands for.

    One edit removes and adds at most two pairs of neighbours each. So of the strings of a fitting length only those
    are compared in full whose pairs, kept as 64 bits a string, differ from the wanted ones in few bits.
    """

    def __init__(self, pairs: Iterable[tuple[str, T]]) -> None:
        ordered = sorted(pairs, key=lambda pair: len(pair[0]))
        self._texts = [text for text, _ in ordered]
        self._meanings = [meant for _, meant in ordered]
        self._lengths = [len(text) for text in self._texts]
        self._bits = np.array([_pair_bits(text) for text in self._texts], dtype=np.uint64)

    def within(self, text: str, share: float) -> Iterator[T]:
        """What strings stand for that differ from `text` in at most this share of the longer one's characters.

        More than `MOST_EDITS` are never allowed.
        """
        shortest = max(math.ceil(len(text) * (1 - share)), len(text) - MOST_EDITS)
        longest = min(int(len(text) / (1 - share)), len(text) + MOST_EDITS)
        first, last = bisect_left(self._lengths, shortest), bisect_right(self._lengths, longest)
        edits = min(MOST_EDITS, int(share * longest))
        differing = _bit_counts(self._bits[first:last] ^ np.uint64(_pair_bits(text)))
        near = (np.flatnonzero(differing <= 4 * edits) + first).tolist()
        if not near:
            return
        texts = [self._texts[at] for at in near]
        counted = process.cdist([text], texts, scorer=Levenshtein.distance, score_cutoff=edits, dtype=np.uint8)[0]
        for at, count in zip(near, counted.tolist(), strict=True):
            if count <= edits and count <= share * max(len(text), self._lengths[at]):
                yield self._meanings[at]


def _pair_bits(text: str) -> int:
    bits = 0
    for one, other in pairwise(f" {text} "):
        bits |= 1 << ((31 * ord(one) + ord(other)) % 64)
    return bits


_BITS_OF_16 = np.array([n.bit_count() for n in range(1 << 16)], dtype=np.uint8)


def _bit_counts(words: NDArray[np.uint64]) -> NDArray[np.uint8]:
    """How many bits are set in each, shape (n,)."""
    quarters = words.view(np.uint16).reshape(-1, 4)
    counts: NDArray[np.uint8] = sum(_BITS_OF_16[quarters[:, n]] for n in range(4))  # type: ignore[assignment]
    return counts


class NumberIndex:
    """Digits of the numbers, tags and electronic codes that animals carry."""

    def __init__(self, animals: Iterable[Animal]) -> None:
        self._whole: dict[str, list[str]] = defaultdict(list)
        self._plain: dict[str, list[str]] = defaultdict(list)
        backwards = []
        for animal in animals:
            codes = {re.sub("[^0-9]", "", code) for code in (animal.number, animal.tag, animal.electronic)} - {""}
            for digits in codes:
                self._whole[digits].append(animal.id)
                self._plain[digits.lstrip("0")].append(animal.id)
                backwards.append((digits[::-1], animal.id))
        backwards.sort()
        self._backwards = [digits for digits, _ in backwards]
        self._owners = [key for _, key in backwards]

    def same(self, digits: str) -> list[str]:
        """Ids of the animals one of whose codes has exactly these digits."""
        return self._whole.get(digits, [])

    def same_but_zeros(self, digits: str) -> list[str]:
        """Ids of the animals one of whose codes has these digits when zeros at the front are left out."""
        return self._plain.get(digits.lstrip("0"), [])

    def ending(self, digits: str) -> list[str]:
        """Ids of the animals one of whose codes ends so: a range of the sorted reversed codes."""
        back = digits[::-1]
        return self._owners[bisect_left(self._backwards, back) : bisect_left(self._backwards, back + ":")]

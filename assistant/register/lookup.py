"""Indexes over a register: names by letters and by sound, numbers whole and by their end.

Every name, number and tag is looked at once when the index is built, so that a mention costs little in a big herd.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import TypeVar

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from assistant.register.likeness import Sounds, grouped, likeness
from assistant.values import Animal

T = TypeVar("T")

CLOSE_SPELLING = 0.75
"""Share of letters in common from which a name is taken for a slip of another."""

CLOSE_SOUND = 0.75
"""Likeness of sound from which two names can be heard for each other: tansy and pansy have 0.9."""


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
        self._spellings = _by_length((name, name) for name in self._ids)
        self._heard = _by_length((grouped(way), (way, name)) for name in self._ids for way in sounds.of(name))

    def same(self, text: str) -> list[str]:
        """Ids of the animals with this name."""
        return self._ids.get(spelt(text), [])

    def spelt_like(self, text: str) -> Iterator[tuple[str, float]]:
        """Ids of animals whose name has nearly these letters, with the likeness from `CLOSE_SPELLING` to 1."""
        for name in _near(self._spellings, spelt(text), 1 - CLOSE_SPELLING):
            closeness = Levenshtein.normalized_similarity(name, spelt(text))
            if closeness >= CLOSE_SPELLING:
                yield from ((key, closeness) for key in self._ids[name])

    def sounding_like(self, text: str) -> Iterator[tuple[str, float]]:
        """Ids of animals whose name sounds nearly so, with the likeness from `CLOSE_SOUND` to 1."""
        for said in self._sounds.of(text):
            for way, name in _near(self._heard, grouped(said), 1 - CLOSE_SOUND):
                closeness = likeness(said, way)
                if closeness >= CLOSE_SOUND:
                    yield from ((key, closeness) for key in self._ids[name])


def spelt(text: str) -> str:
    """A name in the form in which spellings are compared."""
    return " ".join(text.casefold().replace("-", " ").split())


def _by_length(pairs: Iterable[tuple[str, T]]) -> Mapping[int, tuple[list[str], list[T]]]:
    """Strings in buckets of one length, each bucket beside what its strings stand for."""
    buckets: dict[int, tuple[list[str], list[T]]] = defaultdict(lambda: ([], []))
    for text, meant in pairs:
        texts, meanings = buckets[len(text)]
        texts.append(text)
        meanings.append(meant)
    return dict(buckets)


def _near(buckets: Mapping[int, tuple[list[str], list[T]]], text: str, share: float) -> Iterator[T]:
    """What strings stand for that differ from `text` in at most this share of the longer one's characters."""
    for length in range(int(len(text) * (1 - share)), int(len(text) / (1 - share)) + 1):
        texts, meanings = buckets.get(length, ([], []))
        most = int(share * max(length, len(text)) + 1e-9)
        for _, _, at in process.extract_iter(text, texts, scorer=Levenshtein.distance, score_cutoff=most):
            yield meanings[at]


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

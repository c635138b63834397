"""Animals of a session that are easily heard for each other, to be known before it starts."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.register.likeness import Pronounce, Sounds
from assistant.register.lookup import NameIndex
from assistant.register.numeral import alike_digits
from assistant.values import Animal


@dataclass(frozen=True)
class Confusable:
    """Two animals that may be heard for each other, and why; the first comes first in the session."""

    one: Animal
    other: Animal
    why: str


def confusables(animals: Iterable[Animal], pronounce: Pronounce) -> tuple[Confusable, ...]:
    """Pairs with one name, names that sound alike, one number, or numbers that sound alike.

    Args:
        animals: those of the session, in its order.
        pronounce: ways to say a word in ARPAbet; a name that it cannot say is only compared by its letters.

    Returns:
        Each pair once, with the first reason found, in the order of the session.
    """
    session = {animal.id: animal for animal in animals}
    place = {key: at for at, key in enumerate(session)}
    found: dict[tuple[str, str], str] = {}
    for one, other, why in (*_by_name(session, pronounce), *_by_number(session)):
        first, second = sorted((one, other), key=place.__getitem__)
        if first != second:
            found.setdefault((first, second), why)
    order = sorted(found, key=lambda pair: (place[pair[0]], place[pair[1]]))
    return tuple(Confusable(session[one], session[other], found[one, other]) for one, other in order)


def _by_name(session: dict[str, Animal], pronounce: Pronounce) -> Iterator[tuple[str, str, str]]:
    index = NameIndex(session.values(), Sounds(pronounce))
    for animal in session.values():
        for name in filter(None, (animal.name, *animal.nicknames)):
            yield from ((animal.id, key, f"both are called {name}") for key in index.same(name))
            yield from ((animal.id, key, _names(session, name, key)) for key, _ in index.sounding_like(name))


def _names(session: dict[str, Animal], name: str, key: str) -> str:
    return f"{name} and {session[key].label} sound alike"


def _by_number(session: dict[str, Animal]) -> Iterator[tuple[str, str, str]]:
    owners: dict[str, list[str]] = {}
    for animal in session.values():
        if digits := re.sub("[^0-9]", "", animal.number):
            owners.setdefault(digits, []).append(animal.id)
    for digits, keys in owners.items():
        yield from ((keys[0], key, f"both have the number {digits}") for key in keys[1:])
        for other in alike_digits(digits):
            for one in keys:
                yield from ((one, key, f"{digits} and {other} sound alike") for key in owners.get(other, ()))

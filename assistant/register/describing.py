"""Words beside a name that say which of several: "the old Tansy", "brown Tansy", "Tansy of the milkers"."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from types import MappingProxyType

from assistant.values import Animal, Sex

OLDER, YOUNGER = frozenset(("old", "older", "oldest")), frozenset(("young", "younger", "youngest", "little"))

_JOINING = frozenset(("of", "from", "in", "one", "group", "pen"))
_SEX_WORDS: Mapping[str, tuple[Sex, ...]] = MappingProxyType(
    {
        "male": (Sex.MALE, Sex.CASTRATED),
        "female": (Sex.FEMALE,),
        "wether": (Sex.CASTRATED,),
        "castrated": (Sex.CASTRATED,),
    }
)


def described(words: Sequence[str], animals: Sequence[Animal]) -> tuple[Animal, ...]:
    """Those of some animals that every word is true of.

    Args:
        words: in small letters, beside the name; such as "of" say nothing.
        animals: those with the name; "old" and "young" compare them with each other.

    Returns:
        Nobody if no word says anything.
    """
    telling = [word for word in words if word not in _JOINING]
    if not telling:
        return ()
    return tuple(one for one in animals if all(_is_true(word, one, animals) for word in telling))


def _is_true(word: str, one: Animal, animals: Sequence[Animal]) -> bool:
    if word in OLDER:
        return _is_first(one, animals, min)
    if word in YOUNGER:
        return _is_first(one, animals, max)
    if word in _SEX_WORDS:
        return one.sex in _SEX_WORDS[word]
    return word in re.findall(r"[\w'-]+", f"{one.group} {one.markings} {one.breed}".casefold())


def _is_first(one: Animal, animals: Sequence[Animal], extreme: Callable[[list[date]], date]) -> bool:
    """Whether it is the oldest or the youngest; nobody is as long as a birth is not known."""
    days = [animal.born for animal in animals if animal.born]
    return len(days) == len(animals) and len(set(days)) > 1 and one.born == extreme(days)

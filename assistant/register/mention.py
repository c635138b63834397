"""Which animal a mention means: by name or number, by part of a number, by sound or spelling."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from assistant.register.describing import described
from assistant.register.likeness import Pronounce, Sounds
from assistant.register.lookup import NameIndex, NumberIndex
from assistant.register.numeral import ANY, alike_digits, digits_from_words, filled
from assistant.register.register import Register, compact
from assistant.values import Animal

__all__ = ["Candidate", "Context", "Match", "Matched", "Matcher", "digits_from_words"]

EXACT, OTHER_ZEROS, OTHER_READING, PARTIAL, ALIKE = 1.0, 0.95, 0.9, 0.8, 0.7
"""Scores of a whole name or number, one with other zeros in front, one by a rarer way to take the words, part of a
number, and one that is only alike (names: times their likeness). They order kinds of evidence; they are no chances."""

NEAR = 0.02
"""Candidates within this of the best are equal; only between those does the session decide."""

SURE = 0.85
"""A name that was not said exactly is taken without asking only from this likeness on …"""

MARGIN = 0.1
"""… and if the next is less alike by this much."""

MOST_CANDIDATES = 8
"""More are not offered: nobody can choose by ear among so many."""

_FILLERS = frozenset(
    [
        "tag",
        "number",
        "no",
        "ear",
        "animal",
        "goat",
        "sheep",
        "doe",
        "ewe",
        "nanny",
        "buck",
        "ram",
        "the",
        "is",
        "it's",
        "its",
        "called",
        "with",
        "uk",
        "xi",
    ]
)


class Matched(StrEnum):
    """What a mention led to: `ONE` may be taken, `SEVERAL` (even a single candidate) must be asked, `NONE`: nobody."""

    ONE = "one"
    SEVERAL = "several"
    NONE = "none"


@dataclass(frozen=True)
class Context:
    """The session that a mention falls in, as ids.

    Attributes:
        planned: who is to be handled; empty if the session has no plan, so that all are equal.
        done: who is done or skipped.
    """

    planned: Collection[str] = frozenset()
    done: Collection[str] = frozenset()


NO_SESSION = Context()


@dataclass(frozen=True)
class Candidate:
    """An animal that may be meant; `score` from 0 to 1 orders candidates; `why` is for the keeper to read."""

    animal: Animal
    score: float
    why: str


@dataclass(frozen=True)
class Match:
    """Candidates, likeliest first, at most `MOST_CANDIDATES`; exactly one if the decision is `ONE`."""

    candidates: tuple[Candidate, ...]
    decision: Matched


@dataclass(frozen=True)
class _Evidence:
    """Why an animal may be meant; what is not `is_sure` is never taken without asking."""

    key: str
    score: float
    why: str
    is_sure: bool = True


class Matcher:
    """Finds animals of one register by what is said.

    Args:
        register: the animals; a changed register needs a new matcher.
        pronounce: ways to say a word in ARPAbet; raises `UnknownWord` for words that it cannot say.
    """

    def __init__(self, register: Register, pronounce: Pronounce) -> None:
        self._register = register
        self._animals = {animal.id: animal for animal in register}
        self._names = NameIndex(register, Sounds(pronounce))
        self._numbers = NumberIndex(register)

    def match(self, mention: str, session: Context = NO_SESSION) -> Match:
        """Who may be meant by a mention such as "tansy", "tag four one seven", "417", "seventeen", "burdock 503".

        What was said exactly goes before what is alike. Between equals, those planned go before the others, and those
        not done before those done. Where an animal outside the plan is meant exactly but one in the plan is alike, both
        are offered.
        """
        words = [word for word in re.findall(r"[\w'?-]+", mention.casefold()) if word not in _FILLERS]
        text = " ".join(words) or mention
        planned = frozenset(session.planned)
        found = _best(self._said(mention, text, words, planned))
        if not found or (planned and not planned & found.keys()):
            alike = _best([*self._alike_names(text), *self._alike_numbers(words)])
            found = {**{key: one for key, one in alike.items() if not found or key in planned}, **found}
        elif max(one.score for one in found.values()) <= PARTIAL:
            found = {**_best(self._alike_numbers(words)), **found}
        return self._decided(list(found.values()), planned, frozenset(session.done))

    def is_code(self, text: str) -> bool:
        """Whether a whole line is a tag or an electronic code of the register, as a wand reader types it."""
        has_digit = any(ch.isdecimal() for ch in text)
        return has_digit and bool(self._register.tagged(text) or self._register.electronic(text))

    # ------------------------------------------------------------------------------------------------- evidence

    def _said(self, mention: str, text: str, words: Sequence[str], planned: frozenset[str]) -> Iterator[_Evidence]:
        for animal in self._register.tagged(mention):
            yield _Evidence(animal.id, EXACT, f"the tag {mention}", is_sure=compact(animal.tag) == compact(mention))
        for key in {*self._names.same(mention), *self._names.same(text)}:
            yield _Evidence(key, EXACT, "the name")
        readings = digits_from_words(words)
        for nth, pattern in enumerate(readings):
            yield from self._by_digits(pattern, EXACT if nth == 0 else OTHER_READING, planned)
        if not readings:
            yield from self._by_name_and_number(words, planned)
            yield from self._by_name_and_words(words)

    def _by_digits(self, pattern: str, score: float, planned: frozenset[str]) -> Iterator[_Evidence]:
        is_whole = ANY not in pattern
        for digits in filled(pattern):
            for key in self._numbers.same(digits):
                yield _Evidence(key, score if is_whole else PARTIAL, f"the number {pattern}", score == EXACT)
            if is_whole:
                for key in self._numbers.same_but_zeros(digits):
                    yield _Evidence(
                        key, min(score, OTHER_ZEROS), f"the number {digits} but for zeros in front", score == EXACT
                    )
            if score < EXACT:
                continue
            if len(digits) > 1:
                for key in self._numbers.ending(digits):
                    yield _Evidence(key, PARTIAL, f"a number ending in {pattern}")
            else:  # one digit says too little, but in a session it is worth a question
                for key in planned & self._animals.keys():
                    if self._animals[key].number.endswith(digits):
                        yield _Evidence(key, PARTIAL, f"a number ending in {pattern}", is_sure=False)

    def _by_name_and_number(self, words: Sequence[str], planned: frozenset[str]) -> Iterator[_Evidence]:
        """Name and number said together, in either order: sure only where both are those of one animal."""
        for at in range(1, len(words)):
            for name, number in ((words[:at], words[at:]), (words[at:], words[:at])):
                named = set(self._names.same(" ".join(name)))
                readings = digits_from_words(number) if named else ()
                numbered = {one.key for digits in readings for one in self._by_digits(digits, EXACT, planned)}
                both = named & numbered
                for key in both or (named | numbered if readings else ()):
                    why = "name and number" if both else "the name" if key in named else "the number"
                    yield _Evidence(key, EXACT if both else PARTIAL, why, is_sure=bool(both))

    def _by_name_and_words(self, words: Sequence[str]) -> Iterator[_Evidence]:
        """A name and words that are true of the animal meant, in either order."""
        for at in range(1, len(words)):
            for name, beside in ((words[at:], words[:at]), (words[:at], words[at:])):
                animals = [self._animals[key] for key in self._names.same(" ".join(name))]
                for one in described(beside, animals):
                    yield _Evidence(one.id, EXACT, f"the name, and {' '.join(beside)}")

    def _alike_numbers(self, words: Sequence[str]) -> Iterator[_Evidence]:
        for digits in digits_from_words(words)[:1]:
            for other in alike_digits(digits):
                for key in self._numbers.same(other):
                    yield _Evidence(key, ALIKE, f"the number {other} sounds like {digits}", is_sure=False)

    def _alike_names(self, text: str) -> Iterator[_Evidence]:
        for key, closeness in self._names.sounding_like(text):
            yield _Evidence(key, ALIKE * closeness, f"the name sounds like {text}")
        for key, closeness in self._names.spelt_like(text):
            yield _Evidence(key, ALIKE * closeness, f"the name is spelt like {text}")

    # ------------------------------------------------------------------------------------------------- decision

    def _decided(self, found: list[_Evidence], planned: frozenset[str], done: frozenset[str]) -> Match:
        if not found:
            return Match((), Matched.NONE)
        best = max(one.score for one in found)
        equal = [one for one in found if one.score >= best - NEAR]
        in_session = [one for one in equal if one.key in planned] or equal
        left = [one for one in in_session if one.key not in done] or in_session
        if len(left) == 1 and _may_be_taken(left[0], found, planned):
            return Match((self._candidate(left[0]),), Matched.ONE)
        offered = in_session if len(in_session) > 1 and best > ALIKE else found
        offered = sorted(offered, key=lambda one: (-round(one.score, 2), one.key not in planned, one.key in done))
        return Match(tuple(self._candidate(one) for one in offered[:MOST_CANDIDATES]), Matched.SEVERAL)

    def _candidate(self, one: _Evidence) -> Candidate:
        return Candidate(self._animals[one.key], one.score, one.why)


def _may_be_taken(chosen: _Evidence, found: Iterable[_Evidence], planned: frozenset[str]) -> bool:
    """Whether the likeliest animal is meant beyond reasonable doubt."""
    others = [one for one in found if one.key != chosen.key]
    if not chosen.is_sure or (planned and chosen.key not in planned and any(one.key in planned for one in others)):
        return False
    if chosen.score > PARTIAL:
        return True
    if chosen.score == PARTIAL:
        return all(one.is_sure for one in others)  # nobody whose whole number sounds like what was said
    is_close = chosen.score >= ALIKE * SURE and (not planned or chosen.key in planned)
    return is_close and all(one.score <= chosen.score - ALIKE * MARGIN for one in others)


def _best(evidence: Iterable[_Evidence]) -> dict[str, _Evidence]:
    """The strongest evidence for each animal; between equals the first."""
    found: dict[str, _Evidence] = {}
    for one in evidence:
        if one.key not in found or one.score > found[one.key].score:
            found[one.key] = one
    return found

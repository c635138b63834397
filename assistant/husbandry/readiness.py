"""Which females may go to the male, and what speaks against it for the others."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache, lru_cache
from typing import NamedTuple

from assistant.husbandry.choice import DO_NOT_BREED
from assistant.husbandry.gestation import Pregnancy
from assistant.husbandry.head import Head
from assistant.husbandry.practice import Practice
from assistant.session.catching import LAME_FROM

UNTREATED = (
    *("abscess", "scald", "foot rot", "loose horn", "hollow wall", "crack", "swelling", "heat"),
    *("bleeding", "foreign body", "growth"),
)
"""Findings on a foot after which something should have been done to it, or it should have been found sound."""


class Measured(NamedTuple):
    """The last value of a measure, in the scale of the holding, and its day."""

    value: float
    day: date


@dataclass(frozen=True)
class Known:
    """What the store knows of the females, each by animal.

    Attributes:
        condition, lameness: the last score.
        lame: day of the last finding "lame" that no later score of lameness took back.
        open_feet: findings on feet that nothing was done about since.
        traits: lasting judgements.
        withheld: until which day milk or meat is withheld, the later one.
        trimmed: day of the last trim.
        pregnancies: who is in kid or in lamb.
    """

    condition: Mapping[str, Measured] = field(default_factory=dict)
    lameness: Mapping[str, Measured] = field(default_factory=dict)
    lame: Mapping[str, date] = field(default_factory=dict)
    open_feet: Mapping[str, Sequence[str]] = field(default_factory=dict)
    traits: Mapping[str, frozenset[str]] = field(default_factory=dict)
    withheld: Mapping[str, date] = field(default_factory=dict)
    trimmed: Mapping[str, date] = field(default_factory=dict)
    pregnancies: Mapping[str, Pregnancy] = field(default_factory=dict)


class Readiness(NamedTuple):
    """One female.

    Attributes:
        reasons: what speaks against the male now, worst first; none if nothing is known to.
        unknown: what is not known or too old to count.
    """

    animal: str
    reasons: tuple[str, ...]
    unknown: tuple[str, ...] = ()

    @property
    def is_ready(self) -> bool:
        """Whether nothing is known that speaks against it."""
        return not self.reasons


def readiness(females: Iterable[Head], known: Known, practice: Practice, day: date) -> tuple[Readiness, ...]:
    """Which females may go to the male on a day; those with reasons against it first, in the order given.

    Args:
        females: those to be looked at.
        known: what the store knows of them.
        practice: the holding's ranges and intervals.
        day: on which the males go in.

    Source:
        Lameness scores from which an animal counts as lame, see `assistant.session.catching.LAME_FROM`; condition, see
        `assistant.husbandry.practice.CONDITION`; eight weeks, see `READY_DAYS` there. A list to decide by.
    """
    interval = cache(practice.trim_interval)
    oldest = day - timedelta(days=practice.ready_days)
    marked = known.traits.keys() | known.lameness.keys() | known.lame.keys() | known.open_feet.keys()
    marked |= known.withheld.keys()
    against: list[Readiness] = []
    fine: list[Readiness] = []
    for one in females:
        key = one.id
        reasons: list[str] = []
        if (birth := known.pregnancies.get(key)) and birth.latest >= day:
            reasons.append(_carrying(bool(birth.males), birth.first_due))
        if key in marked:
            reasons += _marks(one, known, day)
        thin_or_fat, unknown = _condition(known.condition.get(key), practice.condition[one.species], oldest)
        reasons += thin_or_fat
        trimmed = known.trimmed.get(key)
        if (trimmed is None or trimmed < oldest) and interval(one.species, one.group):
            reasons.append(_not_trimmed(trimmed))
        (against if reasons else fine).append(Readiness(key, tuple(reasons), unknown))
    return (*against, *fine)


def _marks(one: Head, known: Known, day: date) -> Iterator[str]:
    """What speaks against few of a herd: a judgement, lameness, feet left untreated, a medicine."""
    if DO_NOT_BREED in known.traits.get(one.id, ()):
        yield DO_NOT_BREED
    if lame := _lame(one, known):
        yield lame
    for text in known.open_feet.get(one.id, ()):
        yield f"{text}, nothing done since"
    until = known.withheld.get(one.id)
    if until and until > day:
        yield f"medicine, withheld until {until}"


# Many animals of a herd were seen on the same days: their sentences are made once.


@lru_cache
def _carrying(has_male: bool, first_due: date) -> str:
    return f"{'with the male already' if has_male else 'in kid or in lamb'}, due {first_due}"


@lru_cache
def _condition(
    score: Measured | None, bounds: tuple[float, float], oldest: date
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What the condition says against the male, and what is not known of it."""
    if score is None:
        return (), ("condition not known",)
    (value, seen), (low, high) = score, bounds
    if not low <= value <= high:
        # It counts even if it is old: nobody saw it mended.
        return (f"condition {value:g} on {seen}, {f'below {low:g}' if value < low else f'above {high:g}'}",), ()
    return (), (f"condition last on {seen}",) if seen < oldest else ()


@lru_cache
def _not_trimmed(last: date | None) -> str:
    return f"not trimmed since {last}" if last else "no trim on record"


def _lame(one: Head, known: Known) -> str:
    score, found = known.lameness.get(one.id), known.lame.get(one.id)
    if score and score.value >= LAME_FROM[one.species] and (found is None or score.day >= found):
        return f"lame, score {score.value:g} on {score.day}"
    if found and (score is None or score.day <= found):
        return f"lame on {found}"
    return ""

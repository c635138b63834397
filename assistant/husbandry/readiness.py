"""Which females may go to the male, and what speaks against it for the others."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache, partial
from typing import NamedTuple

from assistant.husbandry.choice import DO_NOT_BREED
from assistant.husbandry.gestation import Pregnancy
from assistant.husbandry.medicine import Withheld
from assistant.husbandry.practice import Practice
from assistant.session.catching import LAME_FROM
from assistant.values import Species
from assistant.values.outlook import Head, Measured

UNTREATED = (
    *("abscess", "scald", "foot rot", "loose horn", "hollow wall", "crack", "swelling", "heat"),
    *("bleeding", "foreign body", "growth"),
)
"""Findings on a foot after which something should have been done to it, or it should have been found sound."""


@dataclass(frozen=True)
class Known:
    """What the store knows of the females, each by animal.

    Attributes:
        condition, lameness: the last score.
        lame: day of the last finding "lame" that no later score of lameness took back.
        open_feet: findings on feet that nothing was done about since.
        traits: lasting judgements.
        withheld: milk or meat that must not be used yet.
        trimmed: day of the last trim.
        pregnancies: who is in kid or in lamb.
    """

    condition: Mapping[str, Measured] = field(default_factory=dict)
    lameness: Mapping[str, Measured] = field(default_factory=dict)
    lame: Mapping[str, date] = field(default_factory=dict)
    open_feet: Mapping[str, Sequence[str]] = field(default_factory=dict)
    traits: Mapping[str, frozenset[str]] = field(default_factory=dict)
    withheld: Mapping[str, Withheld] = field(default_factory=dict)
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
    # Once for all that were seen on the same days.
    carrying, seen = cache(_carrying), cache(partial(_seen, practice, day))
    marked = known.traits.keys() | known.lameness.keys() | known.lame.keys() | known.open_feet.keys()
    marked |= known.withheld.keys()
    sheep = Species.SHEEP
    against: list[Readiness] = []
    fine: list[Readiness] = []
    for one in females:
        key = one.id
        reasons, unknown = seen(one.species is sheep, one.group, known.condition.get(key), known.trimmed.get(key))
        if key in marked:
            reasons = (*_marks(one, known, day), *reasons)
        if (birth := known.pregnancies.get(key)) and birth.latest >= day:
            reasons = (carrying(birth), *reasons)
        (against if reasons else fine).append(Readiness(key, reasons, unknown))
    return (*against, *fine)


def _marks(one: Head, known: Known, day: date) -> Iterator[str]:
    """What speaks against few of a herd: a judgement, lameness, feet left untreated, a medicine."""
    if DO_NOT_BREED in known.traits.get(one.id, ()):
        yield DO_NOT_BREED
    if lame := _lame(one, known):
        yield lame
    for text in known.open_feet.get(one.id, ()):
        yield f"{text}, nothing done since"
    if (held := known.withheld.get(one.id)) is None:
        return
    if (free := held.free_from) and free > day:
        yield f"still in withdrawal, free from {free}"
    for name in held.unknown:
        yield f"{name}, withdrawal period not written down"


def _carrying(birth: Pregnancy) -> str:
    return f"{'has been with the male' if birth.males else 'in kid or in lamb'}, due {birth.first_due}"


def _seen(
    practice: Practice, day: date, is_sheep: bool, group: str, score: Measured | None, trimmed: date | None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What condition and feet say against the male, and what is not known of them."""
    species = Species.SHEEP if is_sheep else Species.GOAT
    oldest = day - timedelta(days=practice.ready_days)
    reasons, unknown = [], []
    low, high = practice.condition[species]
    if score is None:
        unknown.append("condition not known")
    elif not low <= score.value <= high:
        # It counts even if it is old: nobody saw it mended.
        bound = f"below {low:g}" if score.value < low else f"above {high:g}"
        reasons.append(f"condition {score.value:g} on {score.day}, {bound}")
    elif score.day < oldest:
        unknown.append(f"condition last on {score.day}")
    if (trimmed is None or trimmed < oldest) and practice.trim_interval(species, group):
        reasons.append(f"not trimmed since {trimmed}" if trimmed else "no trim on record")
    return tuple(reasons), tuple(unknown)


def _lame(one: Head, known: Known) -> str:
    score, found = known.lameness.get(one.id), known.lame.get(one.id)
    if score and score.value >= LAME_FROM[one.species] and (found is None or score.day >= found):
        return f"lame, score {score.value:g} on {score.day}"
    if found and (score is None or score.day <= found):
        return f"lame on {found}"
    return ""

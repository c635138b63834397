"""When feet are due for trimming, and whether there is time enough before a date."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache, partial
from itertools import chain, pairwise
from statistics import median
from typing import NamedTuple

from assistant.husbandry.gestation import Pregnancy
from assistant.husbandry.practice import Practice
from assistant.values import Species
from assistant.values.outlook import Head, here

LONGEST_GAP_MIN = 60.0
"""A longer time between two animals was a break, not work (common practice, no source)."""

NO_INTERVAL = "no interval set"

FEWEST_GAPS = 5
"""With fewer animals in a row the holding's own pace is not known yet (common practice, no source)."""


class Trim(NamedTuple):
    """When an animal is due.

    Attributes:
        last: day of the last trim on record.
        due: None if the calendar asks for none.
        reason: why on that day.
        caution: what to mind on that day; empty if nothing is known.
    """

    animal: str
    last: date | None
    due: date | None
    reason: str
    caution: str = ""


@dataclass(frozen=True)
class Plan:
    """What must be done before a date.

    Attributes:
        before: the date, as that on which the males go in.
        must: who is to be done before, longest waiting first.
        minutes: for all of them.
        days_left: whole days from today up to the day before.
        days_needed: at the minutes a day that the keeper has.
    """

    before: date
    must: tuple[Trim, ...]
    minutes: float
    days_left: int
    days_needed: int

    @property
    def is_enough(self) -> bool:
        """Whether the days left suffice."""
        return self.days_needed <= self.days_left


def trims(
    heads: Iterable[Head],
    practice: Practice,
    last_trims: Mapping[str, date],
    overgrown: Mapping[str, date],
    today: date,
    pregnancies: Mapping[str, Pregnancy] | None = None,
) -> tuple[Trim, ...]:
    """When each animal of the herd is due, earliest first; those that the calendar asks nothing of come last.

    Args:
        heads: the register; who is not in the herd is left out.
        practice: the intervals of the holding.
        last_trims: animal → day of its last trim.
        overgrown: animal → day on which a foot was last found overgrown.
        today: an animal of which neither a trim nor its birth is known is due now.
        pregnancies: animal → when it may give birth.

    Source:
        Intervals are the holding's own; where they start from, see `assistant.settings.TRIM_DAYS`.
    """
    carrying = pregnancies or {}
    # Once for all that were seen on the same days.
    by_calendar, sooner = cache(partial(_by_calendar, practice, today)), cache(partial(_sooner, practice))
    caution = cache(Pregnancy.caution)
    sheep = Species.SHEEP
    by_day: dict[date | None, list[Trim]] = {}
    for one in here(heads):
        key = one.id
        last, long_since, birth = last_trims.get(key), overgrown.get(key), carrying.get(key)
        due, reason = by_calendar(one.species is sheep, one.group, last, None if last else one.born)
        if long_since and (last is None or long_since > last):
            due, reason = sooner(long_since, due, reason)
        told = caution(birth, max(due, today)) if birth and due else ""
        by_day.setdefault(due, []).append(Trim(key, last, due, reason, told))
    undated = by_day.pop(None, [])
    return (*chain.from_iterable(of_day for _, of_day in sorted(by_day.items())), *undated)


def _by_calendar(
    practice: Practice, today: date, is_sheep: bool, group: str, last: date | None, born: date | None
) -> tuple[date | None, str]:
    """The day on which an animal is due by the calendar, and why."""
    days = practice.trim_interval(Species.SHEEP if is_sheep else Species.GOAT, group)
    if not days:
        return None, NO_INTERVAL
    if last:
        return last + timedelta(days), f"every {days} days"
    return max(born + timedelta(days), today) if born else today, "no trim on record"


def _sooner(practice: Practice, long_since: date, due: date | None, reason: str) -> tuple[date | None, str]:
    """The same for one with a foot that was found overgrown and not trimmed since."""
    soon = long_since + timedelta(practice.overgrown_days)
    is_sooner = practice.overgrown_days and (due is None or soon < due)
    return (soon, f"overgrown on {long_since}") if is_sooner else (due, reason)


def plan(trims_due: Iterable[Trim], before: date, today: date, minutes: float, minutes_a_day: float) -> Plan:
    """What must be done before a date, and whether there is time enough.

    Args:
        trims_due: of the animals that it is about.
        before: the date.
        today: the day that counts.
        minutes: for one animal.
        minutes_a_day: how long the keeper has on a day, more than 0.
    """
    must = tuple(one for one in trims_due if one.due is not None and one.due <= before)
    in_all = len(must) * minutes
    return Plan(before, must, in_all, max(0, (before - today).days), math.ceil(in_all / minutes_a_day))


def own_minutes(sessions: Iterable[Sequence[datetime]]) -> float | None:
    """Minutes that the holding takes for one animal: the median time from one animal to the next.

    Args:
        sessions: for each session, when each of its animals was first spoken of, in order.

    Returns:
        None if too few animals followed each other to say.
    """
    gaps = [(after - before).total_seconds() / 60 for times in sessions for before, after in pairwise(times)]
    work = [gap for gap in gaps if 0 < gap <= LONGEST_GAP_MIN]
    return median(work) if len(work) >= FEWEST_GAPS else None

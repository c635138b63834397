"""The health of feet in counts: how many of those looked at were affected, where, in whom, and what changed.

A share always names its number looked at: a foot of which nothing was said in a session is not counted as sound.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from operator import attrgetter
from typing import Protocol

from assistant.session.catching import LAME_FROM
from assistant.values import FEET, Species
from assistant.values.outlook import Head

SOUND = "sound"

SMALL_FAMILY = 3
"""Families with fewer members looked at are not shown (common practice, no source)."""

FEW = 20
"""With fewer animals looked at that is said beside the shares (common practice, no source)."""

SMALL = "Few animals: a share of so few says little."
FAMILIES = (
    "Families are small and often share a group: a high share is a hint to look, no proof that the fault is inherited."
)
SEASONS = "Weather and housing are not on record; a month with few animals looked at says little."


class Noted(Protocol):
    """One finding or action on one foot in one session, and all the animals that it was recorded of."""

    @property
    def day(self) -> str:
        """When, in ISO form."""

    @property
    def kind(self) -> str:
        """Either "finding" or "action"."""

    @property
    def what(self) -> str:
        """As recorded."""

    @property
    def place(self) -> str:
        """The foot."""

    @property
    def animals(self) -> Collection[str]:
        """Ids of the animals."""


class Scored(Protocol):
    """How many animals of a species got a score of lameness on a day."""

    @property
    def day(self) -> date:
        """When."""

    @property
    def species(self) -> Species:
        """Of which the scale is."""

    @property
    def value(self) -> float:
        """The score."""

    @property
    def n(self) -> int:
        """How many."""


@dataclass(frozen=True)
class Share:
    """So many of so many; `what` says of what."""

    what: str
    n_affected: int
    n_examined: int

    @property
    def share(self) -> float:
        """From 0 to 1; 0 if nobody was looked at."""
        return self.n_affected / self.n_examined if self.n_examined else 0.0


@dataclass(frozen=True)
class Change:
    """The animals of the last day against their visit before.

    Attributes:
        day: the last day on which feet were looked at.
        before: share of these animals that was affected at the visit before.
        after: share of the same animals that is affected now.
        n_new: affected now and not before.
        n_gone: affected before and not now.
    """

    day: date
    before: Share
    after: Share
    n_new: int
    n_gone: int


@dataclass(frozen=True)
class Again:
    """A foot that was affected on several days."""

    animal: str
    place: str
    n_days: int
    last: date


@dataclass(frozen=True, eq=False)
class Tally:
    """What was recorded of feet in a period.

    Attributes:
        animals: finding → animals that had it on any foot.
        feet: (finding, foot) → animals that had it there.
        looked_at: foot → animals of which something was recorded there.
        visits: animal → (day in ISO form, whether it was affected) of each day on which its feet were looked at.
        affected_days: (animal, foot) → days on which it was affected.
    """

    animals: Mapping[str, set[str]]
    feet: Mapping[tuple[str, str], set[str]]
    looked_at: Mapping[str, set[str]]
    visits: Mapping[str, list[tuple[str, bool]]]
    affected_days: Mapping[tuple[str, str], list[str]]


def tally(entries: Iterable[Noted], finding: str | None = None) -> Tally:
    """Counts the entries of a period once, for all that follows.

    Args:
        entries: findings and actions on feet, in the order of days.
        finding: what counts as affected; None for any finding but "sound".
    """
    animals: dict[str, set[str]] = defaultdict(set)
    feet: dict[tuple[str, str], set[str]] = defaultdict(set)
    looked_at: dict[str, set[str]] = defaultdict(set)
    visits: dict[str, list[tuple[str, bool]]] = defaultdict(list)
    affected_days: dict[tuple[str, str], list[str]] = defaultdict(list)
    for day, of_day in groupby(entries, key=attrgetter("day")):
        seen: set[str] = set()
        affected: dict[str, set[str]] = defaultdict(set)
        for one in of_day:
            looked_at[one.place].update(one.animals)
            seen.update(one.animals)
            if one.kind == "finding" and one.what != SOUND:
                animals[one.what].update(one.animals)
                feet[one.what, one.place].update(one.animals)
                if finding in (None, one.what):
                    affected[one.place].update(one.animals)
        for place, whose in affected.items():
            for animal in whose:
                affected_days[animal, place].append(day)
        any_foot = set().union(*affected.values())
        for animal in seen:
            visits[animal].append((day, animal in any_foot))
    return Tally(animals, feet, looked_at, visits, affected_days)


def by_finding(of: Tally) -> tuple[Share, ...]:
    """For each finding the animals that had it on any foot, of those looked at; most frequent first."""
    found = (Share(what, len(who), len(of.visits)) for what, who in of.animals.items())
    return tuple(sorted(found, key=lambda one: (-one.n_affected, one.what)))


def by_foot(of: Tally, finding: str | None = None) -> tuple[Share, ...]:
    """For each foot, then for fore and hind feet together: feet with the finding, or any, of feet looked at."""
    found = []
    for foot in FEET:
        whos = [who for (what, place), who in of.feet.items() if place == foot and finding in (None, what)]
        found.append(Share(foot, len(set().union(*whos)), len(of.looked_at.get(foot, ()))))
    for pair in ("fore", "hind"):
        both = [one for one in found if one.what.endswith(f" {pair}")]
        found.append(Share(f"{pair} feet", sum(s.n_affected for s in both), sum(s.n_examined for s in both)))
    return tuple(found)


def by_kind(of: Tally, kind: Callable[[str], str], *, fewest: int = 1) -> tuple[Share, ...]:
    """For each kind of animal those affected at least once, of those looked at; highest share first.

    Args:
        of: the period.
        kind: gives the group, age or family of an animal by id; empty to leave it out.
        fewest: kinds with fewer animals looked at are left out.
    """
    examined = Counter(map(kind, of.visits))
    ill = Counter(map(kind, {animal for animal, _ in of.affected_days}))
    found = [Share(name, ill[name], n) for name, n in examined.items() if name and n >= fewest]
    return tuple(sorted(found, key=lambda one: (-one.share, -one.n_examined, one.what)))


def by_month(of: Tally) -> tuple[Share, ...]:
    """For each calendar month, all years together: visits with the finding, of visits."""
    visits = Counter(visit for whose in of.visits.values() for visit in whose)
    examined, ill = Counter[str](), Counter[str]()
    for (day, is_affected), n in visits.items():
        examined[day[5:7]] += n
        ill[day[5:7]] += n * is_affected
    return tuple(Share(f"{date(2000, int(month), 1):%B}", ill[month], examined[month]) for month in sorted(examined))


def again(of: Tally, fewest: int = 2) -> tuple[Again, ...]:
    """Feet that were affected on several days, most often first."""
    found = [
        Again(animal, place, len(days), date.fromisoformat(days[-1]))
        for (animal, place), days in of.affected_days.items()
        if len(days) >= fewest
    ]
    return tuple(sorted(found, key=lambda one: (-one.n_days, -one.last.toordinal(), one.animal, one.place)))


def change(of: Tally) -> Change | None:
    """The animals of the last day against their visit before; None if none of them was looked at before."""
    last = max((visits[-1][0] for visits in of.visits.values()), default="")
    pairs = [(v[-2][1], v[-1][1]) for v in of.visits.values() if len(v) > 1 and v[-1][0] == last]
    if not pairs:
        return None
    return Change(
        date.fromisoformat(last),
        Share("visit before", sum(before for before, _ in pairs), len(pairs)),
        Share(last, sum(now for _, now in pairs), len(pairs)),
        sum(now and not before for before, now in pairs),
        sum(before and not now for before, now in pairs),
    )


def age_class(one: Head, day: date) -> str:
    """Whole years of age on a day; empty if the birth is not known."""
    if one.born is None:
        return ""
    years = day.year - one.born.year - ((day.month, day.day) < (one.born.month, one.born.day))
    return "under 1 year" if years < 1 else f"{years} years" if years != 1 else "1 year"


def lameness_course(scores: Iterable[Scored]) -> tuple[Share, ...]:
    """For each day on which lameness was scored: animals that count as lame, of those scored.

    Source: scores from which an animal counts as lame, see `assistant.session.catching.LAME_FROM`.
    """
    examined, lame = Counter[date](), Counter[date]()
    for one in scores:
        examined[one.day] += one.n
        lame[one.day] += one.n * (one.value >= LAME_FROM[one.species])
    return tuple(Share(day.isoformat(), lame[day], examined[day]) for day in sorted(examined))


def worst(shares: Sequence[Share]) -> Share | None:
    """The highest share among feet, None if nothing was found."""
    feet = [one for one in shares if one.what in FEET and one.n_affected]
    return max(feet, key=lambda one: one.share, default=None)

"""From mating to birth: expected days, returns to the male, and the weeks before birth in which nobody is tipped.

Day 0 is the day of mating. All arithmetic is that of the calendar, with leap years.

Sources: gestation 150 days (goats) and 147 (sheep), the conventional figures of teaching notes; ranges, goats 145-155,
Ozarks Farm & Neighbor quoting University of Missouri, 2009; sheep 142-152, University of Missouri Extension, sheep and
goat breeding (Brown), 144-152, lower limit common practice; heat cycles 18-22 days (goats) and 14-20 (sheep), the same
and Alabama Extension ANR-2457.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import NamedTuple

from assistant.values import Species
from assistant.values.book import Mating
from assistant.values.outlook import Head


@dataclass(frozen=True)
class Span:
    """Days: the usual one, the shortest and the longest."""

    usual: int
    low: int
    high: int


GESTATION: Mapping[Species, Span] = MappingProxyType(
    {Species.GOAT: Span(150, 145, 155), Species.SHEEP: Span(147, 142, 152)}
)
CYCLE: Mapping[Species, Span] = MappingProxyType({Species.GOAT: Span(21, 18, 22), Species.SHEEP: Span(17, 14, 20)})

TWO_CYCLES_DAYS: Mapping[Species, int] = MappingProxyType({Species.GOAT: 42, Species.SHEEP: 34})
"""How long males run with females if no end is known: two cycles (common practice, no source)."""

NO_TIP_DAYS = 42
"""Nobody is tipped or turned over in the last six weeks.

Source: late pregnancy without a number of weeks, Chappell, University of Kentucky ASC-129, 1991; six weeks, common
practice, no source.
"""

NO_TIP = "heavily pregnant then: do not tip; trim standing, or wait, unless lame"


class Pregnancy(NamedTuple):
    """When a female may give birth; the females of one mating share it.

    Attributes:
        first_due, last_due: usual birth if she took on the first and on the last day.
        earliest, latest: outer limits.
        no_tip_from: from this day on she is not to be tipped, up to `latest`.
        males: ids of the males that may be the sire; none if only a day of birth is known.
    """

    first_due: date
    last_due: date
    earliest: date
    latest: date
    no_tip_from: date
    males: tuple[str, ...] = ()

    def caution(self, day: date) -> str:
        """What to mind on a day; empty if she is not heavily pregnant then."""
        return NO_TIP if self.no_tip_from <= day <= self.latest else ""


def pregnancy(mating: Mating, species: Species) -> Pregnancy:
    """When a female may give birth after a mating; two cycles are taken for an end that is not known."""
    gestation, last = GESTATION[species], last_day(mating, species)
    earliest = mating.began + timedelta(days=gestation.low)
    return Pregnancy(
        mating.began + timedelta(days=gestation.usual),
        last + timedelta(days=gestation.usual),
        earliest,
        last + timedelta(days=gestation.high),
        earliest - timedelta(days=NO_TIP_DAYS),
        mating.males,
    )


def last_day(mating: Mating, species: Species) -> date:
    """The last day on which a female can have been mated."""
    if mating.is_seen:
        return mating.began
    return mating.ended or mating.began + timedelta(days=TWO_CYCLES_DAYS[species])


def expected(due: date, species: Species) -> Pregnancy:
    """When a female may give birth whose day is known from elsewhere, as from the register or a scan."""
    gestation = GESTATION[species]
    earliest = due - timedelta(days=gestation.usual - gestation.low)
    latest = due + timedelta(days=gestation.high - gestation.usual)
    return Pregnancy(due, due, earliest, latest, earliest - timedelta(days=NO_TIP_DAYS))


def returns(mating: Mating, species: Species) -> tuple[date, date]:
    """First and last day on which a female that did not take comes back on heat after a mating that was seen."""
    cycle = CYCLE[species]
    return mating.began + timedelta(days=cycle.low), mating.began + timedelta(days=cycle.high)


def pregnancies(
    heads: Mapping[str, Head], matings: Iterable[Mating], today: date, last_births: Mapping[str, date] | None = None
) -> dict[str, Pregnancy]:
    """Animal → when it may give birth, as far as that lies ahead, by the matings or the day of the register.

    Of a female that ran with males twice nobody knows when she took: she may give birth in either time, and is not
    tipped from the first on. A mating that was seen says that she had not taken before.

    Args:
        heads: the register, by id.
        matings: in any order.
        today: births whose latest day is past are left out.
        last_births: animal → day on which it last gave birth, which ends what would have been due about then.
    """
    born = {animal: day for animal, day in (last_births or {}).items() if day <= today}
    found: dict[str, Pregnancy] = {}
    for mating in sorted((one for one in matings if one.began <= today), key=lambda one: one.began):
        for species, of in [(species, pregnancy(mating, species)) for species in Species]:
            if of.latest < today:
                continue
            for female in mating.females:
                one = heads.get(female)
                if one is None or not one.is_here or one.species is not species:
                    continue
                if female in born and of.no_tip_from <= born[female]:
                    continue
                before = None if mating.is_seen else found.get(female)
                found[female] = _either(before, of) if before else of
    for key, due, species in [(one.id, one.due, one.species) for one in heads.values() if one.due and one.is_here]:
        of_register = expected(due, species)
        # A day long past, which nobody took out of the register, says nothing against a later mating.
        if of_register.latest >= today and not (key in born and of_register.no_tip_from <= born[key]):
            found[key] = of_register
    return found


def _either(first: Pregnancy, second: Pregnancy) -> Pregnancy:
    """From the earliest day of the first mating to the latest of the second."""
    males = tuple(dict.fromkeys((*first.males, *second.males)))
    return Pregnancy(
        first.first_due,
        max(first.last_due, second.last_due),
        first.earliest,
        max(first.latest, second.latest),
        first.no_tip_from,
        males,
    )

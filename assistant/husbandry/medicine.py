"""Until when meat and milk are withheld after a medicine: sums of days, never a choice of medicine, dose or period.

The clock starts at the last dose, which is day 0; a repeated dose starts it again; of two medicines the later day
counts. Periods come from the label or the vet; where nobody wrote one down, nothing is released.

Source: Veterinary Medicines Regulations 2013 (SI 2013/2033, Great Britain), regulations 17-19 and Schedule 4 as amended
by SI 2024/567; Regulation (EU) 2019/6, articles 108 and 115; NOAH, guide to withdrawal tables. Releasing on the first
whole day after the period where the hour is not known is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Protocol

from assistant.husbandry.practice import Medicine, Practice
from assistant.values.book import Given

UNKNOWN_DAYS = 180
"""So long a medicine without a period is asked about (common practice, no source)."""

ASK = "withdrawal period not written down: ask your vet, and use neither meat nor milk meanwhile"

KEEP_YEARS = "Keep the record for five years (Regulation (EU) 2019/6, article 108; Great Britain alike)."


class Entered(Protocol):
    """A medicine that a session recorded."""

    @property
    def entry(self) -> str:
        """Id of the entry."""

    @property
    def animal(self) -> str:
        """Id of the animal."""

    @property
    def time(self) -> datetime:
        """When it was said."""

    @property
    def medicine(self) -> str:
        """Name as recorded."""

    @property
    def by(self) -> str:
        """Who said it."""


@dataclass(frozen=True)
class Treatment:
    """A medicine given, with the end of its withdrawal periods.

    Attributes:
        given: what was given, completed by the keeper where he did.
        medicine: as on the holding's list.
        meat_days, milk_hours: the periods that count here; None if nobody wrote them down.
        meat_end, milk_end: the moment at which a period ends; at midnight after the day if the hour is not known.
    """

    given: Given
    medicine: Medicine
    meat_days: int | None
    milk_hours: int | None
    meat_end: datetime | None
    milk_end: datetime | None

    @property
    def meat_clear(self) -> date | None:
        """The day on which the period for meat ends: the day of the last dose and so many days."""
        return None if self.meat_days is None else self.given.time.date() + timedelta(days=self.meat_days)

    @property
    def is_known(self) -> bool:
        """Whether both periods are written down."""
        return self.meat_days is not None and self.milk_hours is not None


@dataclass(frozen=True)
class Withheld:
    """What must not be used of an animal yet.

    Attributes:
        meat_from, milk_from: first whole day of use, None if nothing is withheld.
        milk_end: the moment at which the milk is free, where the hour of the dose is known.
        unknown: medicines without a period.
    """

    animal: str
    meat_from: date | None = None
    milk_from: date | None = None
    milk_end: datetime | None = None
    unknown: tuple[str, ...] = ()

    @property
    def free_from(self) -> date | None:
        """First whole day on which neither milk nor meat is withheld by a period that is written down."""
        return max((day for day in (self.meat_from, self.milk_from) if day), default=None)


def treatments(entered: Iterable[Entered], given: Iterable[Given], practice: Practice) -> tuple[Treatment, ...]:
    """Everything that was given, in the order of time.

    Args:
        entered: medicines that sessions recorded.
        given: what the keeper wrote down besides; with an entry named, it completes that entry.
        practice: holds the list of medicines.
    """
    details, alone = {}, []
    for one in given:
        if one.entry:
            details[one.entry] = one
        else:
            alone.append(one)
    of_sessions = [
        _completed(same[0], next((details[one.entry] for one in same if one.entry in details), None))
        for same in _doses(entered)
    ]
    found = [treatment(one, practice.medicine(one.medicine)) for one in (*of_sessions, *alone)]
    return tuple(sorted(found, key=lambda one: one.given.time.timestamp()))


def _doses(entered: Iterable[Entered]) -> Iterable[Sequence[Entered]]:
    """Entries that are one dose: said of several places of an animal in one breath."""
    found: dict[tuple[str, str, datetime], list[Entered]] = {}
    for one in entered:
        found.setdefault((one.animal, one.medicine.casefold(), one.time), []).append(one)
    return found.values()


def _completed(entered: Entered, detail: Given | None) -> Given:
    """The keeper's details of an entry; when and to whom it was given stays as the session recorded it."""
    held = Given(entered.entry, entered.animal, entered.medicine, entered.time, is_hour_known=True, entry=entered.entry)
    if detail is None:
        return replace(held, by=entered.by)
    return replace(detail, animal=held.animal, time=held.time, is_hour_known=True, by=detail.by or entered.by)


def treatment(given: Given, medicine: Medicine) -> Treatment:
    """A medicine given, with the end of its withdrawal periods: the vet's for this case before those of the list."""
    meat = medicine.meat_days if given.meat_days is None else given.meat_days
    milk = medicine.milk_hours if given.milk_hours is None else given.milk_hours
    start = given.time if given.is_hour_known else _midnight_after(given.time)
    return Treatment(
        given,
        medicine,
        meat,
        milk,
        None if meat is None else _end(start, timedelta(days=meat), given),
        None if milk is None else _end(start, timedelta(hours=milk), given),
    )


def _end(start: datetime, period: timedelta, given: Given) -> datetime:
    """A period of nothing ends with the dose itself, whatever the hour."""
    return start + period if period else given.time


def _midnight_after(moment: datetime) -> datetime:
    return datetime.combine(moment.date() + timedelta(days=1), time(), moment.tzinfo)


def first_whole_day(moment: datetime) -> date:
    """The first day that lies wholly after a moment."""
    return moment.date() if moment.time() == time() else moment.date() + timedelta(days=1)


def withheld(found: Iterable[Treatment], now: datetime) -> dict[str, Withheld]:
    """Animal → what must not be used of it at this moment; animals of which all may be used are left out.

    What was given on a later day than that of the moment does not count yet.
    """
    meat: dict[str, datetime] = {}
    milk: dict[str, tuple[datetime, bool]] = {}
    unknown: dict[str, dict[str, None]] = {}
    for one in found:
        if one.given.time.astimezone(now.tzinfo).date() > now.date():
            continue
        key = one.given.animal
        if one.meat_end and one.meat_end > now:
            meat[key] = max(one.meat_end, meat.get(key, one.meat_end))
        if one.milk_end and one.milk_end > now:
            milk[key] = max((one.milk_end, one.given.is_hour_known), milk.get(key, (one.milk_end, True)))
        if not one.is_known and (now - one.given.time).days <= UNKNOWN_DAYS:
            unknown.setdefault(key, {})[one.medicine.name] = None
    keys = dict.fromkeys((*meat, *milk, *unknown))
    return {
        key: Withheld(
            key,
            first_whole_day(meat[key]) if key in meat else None,
            first_whole_day(milk[key][0]) if key in milk else None,
            milk[key][0] if key in milk and milk[key][1] else None,
            tuple(unknown.get(key, ())),
        )
        for key in keys
    }


# ------------------------------------------------------------------------------------------------------- reminders


def off_label_days(label_days: int) -> int:
    """The label's longest period times one and a half, part days rounded up: the least that a vet sets off label."""
    return math.ceil(label_days * 3 / 2)


def off_label_milk_days(label_hours: int) -> int:
    """The same for milk, in whole days; one day where the label has none."""
    return max(1, math.ceil(label_hours * 3 / 2 / 24))


def reminders(medicine: Medicine) -> tuple[str, ...]:
    """What the law says of the periods of a medicine, to be checked with the vet; never a period to go by."""
    source = "SI 2013/2033 Schedule 4 as amended 2024; Regulation (EU) 2019/6 article 115"
    found = []
    if not medicine.is_label_for_food:
        found.append(
            f"{medicine.name}: not labelled for animals that give food; the vet sets the periods, at least 28 days for "
            f"meat and 7 days for milk ({source})."
        )
        if (medicine.meat_days or 0) < 28 or (medicine.milk_hours or 0) < 7 * 24:
            found.append(f"{medicine.name}: a period on the list is missing or below that minimum. Ask your vet.")
    elif medicine.from_whom == "label":
        least = []
        if medicine.meat_days:
            days = off_label_days(medicine.meat_days)
            least.append(f"{days} days for meat, one and a half times the label's {medicine.meat_days}")
        if medicine.milk_hours is not None:
            days = off_label_milk_days(medicine.milk_hours)
            hours = medicine.milk_hours
            of = f"one and a half times the label's {hours} hours" if hours else "the label has none"
            least.append(f"{days} day{'s' * (days > 1)} for milk, {of}")
        if least:
            found.append(
                f"{medicine.name}: given otherwise than the label says, the vet sets the periods, at least "
                f"{'; at least '.join(least)} ({source})."
            )
    return tuple(found)


def missing(one: Treatment) -> tuple[str, ...]:
    """Fields that a treatment record asks for and that this one lacks.

    Source: SI 2013/2033 regulations 17-19: name, date, quantity, withdrawal period, animals; if a vet gives it also the
    vet's name, batch and amount. A period that is not that of the list is one that a vet set, so that vet is named.
    """
    needed = {
        "quantity": one.given.dose,
        "meat period": one.meat_days is not None,
        "milk period": one.milk_hours is not None,
    }
    if one.given.vet:
        needed["batch"] = one.given.batch
    elif one.given.meat_days is not None or one.given.milk_hours is not None:
        needed["vet who set the period"] = False
    return tuple(name for name, held in needed.items() if not held)

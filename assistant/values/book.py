"""What the keeper writes down outside sessions: matings, births, treatments and purchases, settled follow-ups."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any, Protocol

from assistant.values.plain import made, plain

FIRST_DAY, LAST_DAY = date(1950, 1, 1), date(2149, 12, 31)
"""What lies outside is a slip of the hand; between them no sum of days leaves the calendar."""


def is_likely(day: date) -> bool:
    """Whether a day can be one of a herd of today."""
    return FIRST_DAY <= day <= LAST_DAY


class Record(Protocol):
    """A record of one of the books; saved again under its id, it takes the place of what it said before."""

    @property
    def id(self) -> str:
        """Unique for all time and machines (UUID as text)."""

    @property
    def is_withdrawn(self) -> bool:
        """Whether the keeper took it back."""


@dataclass(frozen=True)
class Mating:
    """Males that ran with females, or one mating that was seen.

    Attributes:
        males, females: ids of animals.
        began: day on which the males went in, or of the mating.
        ended: day on which they came out; None while they are in or if it is not known.
        is_seen: one mating was seen on the day `began`.
    """

    id: str
    males: tuple[str, ...]
    females: tuple[str, ...]
    began: date
    ended: date | None = None
    is_seen: bool = False
    is_withdrawn: bool = False


@dataclass(frozen=True)
class Given:
    """A medicine given to one animal, or what completes an entry of a session that names one.

    Attributes:
        time: when it was given, the last time if it was given over several days.
        is_hour_known: whether the hour of `time` counts.
        began: first day, if it was given over several days.
        entry: id of the session's entry that this completes; empty for a treatment that no session recorded.
        dose: as the keeper said it; never worked out or judged.
        by: who gave it.
        vet: name of the vet who gave or ordered it, if one did.
        meat_days, milk_hours: withdrawal periods that a vet set for this case; None for those of the medicine list.
    """

    id: str
    animal: str
    medicine: str
    time: datetime
    is_hour_known: bool = False
    began: date | None = None
    entry: str = ""
    batch: str = ""
    dose: str = ""
    by: str = ""
    vet: str = ""
    meat_days: int | None = None
    milk_hours: int | None = None
    is_withdrawn: bool = False


@dataclass(frozen=True)
class Bought:
    """A medicine that came to the holding; `supplier` with address, `quantity` as on the paper."""

    id: str
    medicine: str
    day: date
    batch: str = ""
    quantity: str = ""
    supplier: str = ""
    is_withdrawn: bool = False


@dataclass(frozen=True)
class Birth:
    """A birth that no session recorded.

    Attributes:
        animal: id of the mother.
        young: how many were born, dead or alive.
    """

    id: str
    animal: str
    day: date
    young: int
    is_withdrawn: bool = False


class Settlement(StrEnum):
    """What became of a follow-up by the keeper's word."""

    DONE = "done"
    PUT_OFF = "put off"


@dataclass(frozen=True)
class Settled:
    """The keeper's word on a follow-up.

    Attributes:
        id: made from `entry`, so that a later word takes the place of an earlier one.
        entry: id of the entry that the follow-up comes from.
        day: when it was said.
        until: to which day it is put off.
    """

    id: str
    entry: str
    settlement: Settlement
    day: date
    until: date | None = None
    is_withdrawn: bool = False


BOOKS: Mapping[str, type[Any]] = {
    "mating": Mating,
    "birth": Birth,
    "given": Given,
    "bought": Bought,
    "settled": Settled,
}
"""Name of a book in the store → what it holds."""


def book_of(kind: type[Any]) -> str:
    """The name under which records of a type are kept."""
    return next(name for name, held in BOOKS.items() if held is kind)


def record_to_flat(record: Record) -> dict[str, Any]:
    """A record as a plain object that JSON can hold."""
    flat: dict[str, Any] = plain(record)
    return flat


def record_from_flat(book: str, flat: Mapping[str, Any]) -> Any:
    """The record that `record_to_flat` made plain.

    Raises:
        ValueError: there is no such book, a key is missing or unknown, or a value is none of its kind.
    """
    if book not in BOOKS:
        raise ValueError(f"there is no book {book!r}")
    return made(BOOKS[book], flat)

"""Days to come as iCalendar (RFC 5545): whole days, each with an identity that stays, so that importing updates."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from icalendar import Calendar, Event, Todo

_NAMESPACE = uuid.UUID("0d1f6d1e-2f0a-4d0b-9c55-5f9f0a6f7b52")
_EPOCH = datetime(2020, 1, 1, tzinfo=UTC)
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True)
class Due:
    """Something that belongs into a calendar.

    Attributes:
        kind: such as "follow-up"; with `key` the identity that stays when day or words change.
        key: unique within its kind.
        day: None if no day was set: it becomes a task without a date.
        title: what the calendar shows.
        about: more words, may be empty.
        is_off: it was withdrawn or is done; a calendar that holds it takes it out.
    """

    kind: str
    key: str
    day: date | None
    title: str
    about: str = ""
    is_off: bool = False

    @property
    def uid(self) -> str:
        """The identity in calendars, the same on every machine and at every time (RFC 7986 asks for a UUID)."""
        return str(uuid.uuid5(_NAMESPACE, f"{self.kind}/{self.key}"))


def calendar(items: Iterable[Due], now: datetime, name: str = "") -> bytes:
    """The items as one calendar file.

    Args:
        items: in the order in which they are written.
        now: when it is made; a later file takes the place of what an earlier one said, as its SEQUENCE is higher.
        name: of the holding, may be empty.
    """
    made = Calendar()
    made.add("prodid", "-//handling-assistant//records out//EN")
    made.add("version", "2.0")
    made.add("name", _clean(name) or "Handling")
    for item in items:
        made.add_component(_component(item, now))
    return bytes(made.to_ical())


def _component(item: Due, now: datetime) -> Event | Todo:
    component = Event() if item.day else Todo()
    component.add("uid", item.uid)
    component.add("dtstamp", now.astimezone(UTC))
    component.add("sequence", max(0, int((now - _EPOCH).total_seconds()) // 60))
    component.add("summary", _clean(item.title))
    if item.about:
        component.add("description", _clean(item.about))
    component.add("categories", [item.kind])
    if item.day:
        component.add("dtstart", item.day)
        component.add("dtend", item.day + timedelta(days=1))
        component.add("transp", "TRANSPARENT")
        component.add("status", "CANCELLED" if item.is_off else "CONFIRMED")
    else:
        component.add("status", "CANCELLED" if item.is_off else "NEEDS-ACTION")
    return component


def _clean(text: str) -> str:
    """Without the control characters that a calendar may not hold."""
    return _CONTROL.sub(" ", text)

"""What the commands about coming days share: their day, the store, animals by name, and moments."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from assistant.errors import BadStore
from assistant.values.book import FIRST_DAY, LAST_DAY, is_likely

if TYPE_CHECKING:
    from assistant.records.look_ahead import LookAhead
    from assistant.store.store import Store

F = TypeVar("F", bound=Callable[..., Any])


class Day(click.DateTime):
    """A day of the calendar, as 2026-10-01.

    Args:
        with_hour: an hour may follow, as in 2026-10-01 18:00.
    """

    name = "day"

    def __init__(self, *, with_hour: bool = False) -> None:
        super().__init__()
        self._with_hour = with_hour

    def get_metavar(self, *_: Any, **__: Any) -> str:
        """What stands for it in the help."""
        return "DAY"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        """The day as a moment; the usage error says what is wrong with it."""
        told = f"{value} is no day of the calendar. Write it as 2026-10-01"
        try:
            day = datetime.fromisoformat(value)
        except ValueError:
            self.fail(f"{told}, or with its hour as '2026-10-01 18:00'." if self._with_hour else f"{told}.", param, ctx)
        if (day.time() != time() or day.tzinfo) and not self._with_hour:
            self.fail(f"{told}.", param, ctx)
        if not is_likely(day.date()):
            self.fail(f"{value} is too far away. Days go from {FIRST_DAY} to {LAST_DAY}.", param, ctx)
        return day.replace(tzinfo=None)


json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
on_option = click.option("--on", type=Day(), help="The day that counts; today if left out.")
group_option = click.option("--group", help="Only the animals of this group.")


def day_option(*names: str, text: str, required: bool = False) -> Callable[[F], F]:
    """An option that takes a day, as 2026-10-01."""
    return click.option(*names, type=Day(), required=required, help=text)


def not_after_today(day: date, what: str) -> None:
    """What is written down as done lies in the past.

    Raises:
        BadStore: the day has not come yet.
    """
    if day > date.today():
        raise BadStore(f"{day} has not come yet: {what} is written down when it has happened. Give the day again.")


def in_order(first: date, last: date) -> None:
    """A period ends on or after the day on which it begins.

    Raises:
        BadStore: it does not.
    """
    if last < first:
        raise BadStore(f"The period ends on {last}, before it begins on {first}. Give the days again.")


def not_past(day: date, today: date, what: str) -> None:
    """What is looked ahead to lies on or after the day that counts.

    Raises:
        BadStore: it does not.
    """
    if day < today:
        raise BadStore(f"{what} {day}, before {today}, the day that counts. Give a later day.")


@contextmanager
def looking(store: Path | None, on: datetime | None, *, to_write: bool = False) -> Iterator[tuple[LookAhead, Store]]:
    """What follows from the records on a day, with the store that they are in.

    Args:
        store: what --store says.
        on: the day; None for this moment.
        to_write: the store is opened for writing.

    Raises:
        BadStore: there is no store yet.
        BadSetting: the settings file has a mistake.
    """
    from assistant import settings
    from assistant.records.look_ahead import LookAhead
    from assistant.store.store import Store

    places = settings.places(store)
    if not places.store.exists():
        raise BadStore(
            f"There is no store at {places.store}. Bring animals in (assistant register import FILE), or name it "
            "with --store."
        )
    practice = settings.settings(places.settings).practice
    gc.disable()  # a list is read once and shown: there is nothing to collect, and looking for it takes half the time
    moment = datetime.combine(on.date(), time(12)) if on else datetime.now()
    try:
        with Store.open(places.store, read_only=not to_write) as held:
            yield LookAhead(held, practice, moment.astimezone()), held
    finally:
        gc.enable()


def day_text(day: date | None) -> str:
    """A day for a table."""
    return day.isoformat() if day else ""

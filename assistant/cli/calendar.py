"""`assistant calendar`: what is to come, for the calendar that the keeper already has."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from assistant.cli.facing import held_store

KINDS = ("follow-up", "trim", "birth", "no tipping", "meat", "milk")


@click.command("calendar")
@click.option("--out", "file", type=click.Path(path_type=Path), default=Path("handling.ics"), help="The calendar file.")
@click.option("--only", "kinds", type=click.Choice(KINDS), multiple=True, help="Only these; may be said again.")
@click.pass_obj
def calendar_command(store: Path | None, file: Path, kinds: tuple[str, ...]) -> None:
    """Write a calendar file (iCalendar) of follow-ups, births expected, trims due and withdrawal periods.

    Importing it again updates what is there instead of doubling it; what was taken back is taken out.
    """
    from assistant import settings
    from assistant.records.calendar_out import coming
    from assistant.records.look_ahead import LookAhead
    from assistant.report.calendar import calendar
    from assistant.report.writing import write_bytes

    now = datetime.now().astimezone()
    with held_store(store, read_only=True) as (held, places):
        chosen = settings.settings(places.settings)
        items = coming(held, LookAhead(held, chosen.practice, now))
    items = tuple(item for item in items if not kinds or item.kind in kinds)
    path = write_bytes(file, calendar(items, now, chosen.holding))
    click.echo(f"{path}: {sum(not item.is_off for item in items)} to come, {sum(item.is_off for item in items)} off")

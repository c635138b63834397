"""`assistant calendar`: what is to come, for the calendar that the keeper already has."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from assistant.cli.facing import held_store


@click.command("calendar")
@click.option("--out", "file", type=click.Path(path_type=Path), default=Path("handling.ics"), help="The calendar file.")
@click.pass_obj
def calendar_command(store: Path | None, file: Path) -> None:
    """Write a calendar file (iCalendar) of follow-ups, births expected, trims due and withdrawal periods.

    Importing it again updates what is there instead of doubling it; what was taken back is taken out.
    """
    from assistant import settings
    from assistant.calendar_out import coming
    from assistant.report.calendar import calendar
    from assistant.report.writing import write_bytes

    with held_store(store, read_only=True) as (held, places):
        items = coming(held)
    name = settings.settings(places.settings).holding
    path = write_bytes(file, calendar(items, datetime.now().astimezone(), name))
    click.echo(f"{path}: {sum(not item.is_off for item in items)} to come, {sum(item.is_off for item in items)} off")

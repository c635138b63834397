"""`assistant retain`: how long the sounds of remarks are kept, and a person's voice taken away."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import click

from assistant.cli.facing import held_store

MOST_DAYS = 36_525
"""A hundred years, as for keep_sound_days in the settings; before some 2,000 years the calendar ends."""


@click.command("retain")
@click.option(
    "--days", type=click.IntRange(0, MOST_DAYS), help="Keep sounds so many days; keep_sound_days of the settings else."
)
@click.option("--by", metavar="NAME", help="Take away every sound of this person, however old or needed.")
@click.option("--remove", is_flag=True, help="Do it; without this you are only told what would go.")
@click.pass_obj
def retain_command(store: Path | None, days: int | None, by: str | None, remove: bool) -> None:
    """Take away sounds of remarks that are older than you keep them, or all of one person.

    What was understood stays on record. Sounds that are not understood yet, or wait for a decision, are kept however
    old they are. Backups and other machines' stores still hold the sounds; a merge takes them away there.
    """
    from assistant import settings
    from assistant.records.records_out import removable_sounds

    with held_store(store, read_only=not remove) as (held, places):
        if days is None and by is None:
            days = settings.settings(places.settings).keep_sound_days
            if days is None:
                click.echo("Sounds are kept for ever. Set keep_sound_days in the settings, or use --days or --by.")
                return
        now = datetime.now().astimezone()
        before = None if by is not None else now - timedelta(days=days or 0)
        found = removable_sounds(held, before, by)
        size = sum(one.size for one in found) / 1e6
        span = f", from {found[0].time:%Y-%m-%d} to {found[-1].time:%Y-%m-%d}" if found else ""
        what = "Sounds removed" if remove else "Sounds that would be removed"
        click.echo(f"{what}: {len(found)} ({size:.1f} MB{span}).")
        if by is not None and (needed := sum(one.is_needed for one in found)):
            click.echo(f"Of these never understood, or waiting for a decision: {needed}. Their words are nowhere else.")
        if remove:
            reason = f"at the wish of {by}" if by is not None else f"older than {days} days"
            held.remove_sounds(found, reason, now)
        elif found:
            click.echo("Nothing was changed. Say --remove to do it.")

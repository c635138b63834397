"""`assistant backup` and `assistant restore`: everything of a holding in one file, and back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import click

from assistant.cli.facing import held_store


@click.command("backup")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.pass_obj
def backup_command(store: Path | None, file: Path | None) -> int:
    """Write store, sounds, settings and grammars into FILE, and check it; a name with the day if left out.

    Other programs may go on recording. Keep the file on another disk, and where only you can read it: it holds voices.
    """
    target = file or Path(f"handling-{datetime.now().astimezone():%Y-%m-%d}.backup")
    with held_store(store, read_only=True) as (held, places):
        extras = {"settings.toml": places.settings}
        extras |= {f"grammars/{path.name}": path for path in sorted(places.grammars.glob("*")) if path.is_file()}
        made = held.back_up(target, extras)
    click.echo(f"{made.path}: {made.size / 1e6:.1f} MB, checked; sounds: {made.sounds}.")
    return _status(made.troubles)


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@click.pass_obj
def restore_command(store: Path | None, file: Path) -> int:
    """Take everything out of the backup FILE, to where there is no store yet (see --store).

    To bring a backup together with a store that goes on, restore it elsewhere and merge the two.
    """
    from assistant import settings
    from assistant.store.backup import restore

    made = restore(file, settings.places(store).store)
    click.echo(f"{made.path}: restored; sounds: {made.sounds}.")
    return _status(made.troubles)


def _status(troubles: Sequence[str]) -> int:
    from assistant.cli.main import ExitStatus

    for line in troubles:
        click.echo(f"assistant: {line}", err=True)
    return ExitStatus.PARTLY if troubles else ExitStatus.OK

"""`assistant check`: whether everything that a session needs is there and well."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import click

MARKS = {"good": "✓", "less": "!", "fault": "✗"}


PARTS = ("settings", "disk", "store", "clock", "register", "microphone", "voice", "listeners")


@click.command("check")
@click.argument("parts", nargs=-1, type=click.Choice(PARTS), metavar="[PART]…")
@click.option("--listeners", help="Try only these; names with commas between.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a part.")
@click.pass_obj
def check_command(store: Path | None, parts: tuple[str, ...], listeners: str | None, as_json: bool) -> int:
    """Look at settings, disk, store, clock, register, microphone, voice and listeners, and say what to do.

    A line begins with ✓ if all is well, with ! if a session goes with less, with ✗ if it would fail; then the exit
    status is 1. Each listener hears a short remark that it should know. Nothing is changed. Name parts to look at no
    more than those.
    """
    from assistant import settings
    from assistant.checking.checked_part import Health
    from assistant.checking.self_check import SelfCheck
    from assistant.cli.main import ExitStatus

    worst = ExitStatus.OK
    checked = SelfCheck(settings.places(store), listeners=listeners.split(",") if listeners else None)
    for one in checked.parts(parts):
        if as_json:
            click.echo(json.dumps(asdict(one)))
        else:
            told = f"{one.text.rstrip('.')}. {one.to_do}" if one.to_do else one.text
            click.echo(f"{MARKS[one.health]} {one.part:12} {told}")
        if one.health is Health.FAULT:
            worst = ExitStatus.FAILED
    return worst

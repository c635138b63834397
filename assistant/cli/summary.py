"""`assistant summary`: what a session came to."""

from __future__ import annotations

import json
from pathlib import Path

import click

from assistant.errors import BadStore


@click.command("summary")
@click.argument("session", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.pass_obj
def summary_command(store: Path | None, session: str | None, as_json: bool) -> None:
    """Show what SESSION came to: its id or the beginning of it; the last session if left out."""
    from assistant import settings
    from assistant.look_back import session_summary
    from assistant.report.summary import text
    from assistant.store.store import Store

    places = settings.places(store)
    if not places.store.exists():
        raise BadStore(f"There is no store at {places.store}. Record a session first, or name it with --store.")
    with Store.open(places.store, read_only=True) as held:
        result = session_summary(held, session)
    click.echo(json.dumps(result.flat()) if as_json else text(result))

"""`assistant summary`: what a session came to."""

from __future__ import annotations

import json
from pathlib import Path

import click

from assistant.cli.show import colours_option


@click.command("summary")
@click.argument("session", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option("--text", "as_text", is_flag=True, help="Plain lines, also at a terminal.")
@colours_option
@click.pass_obj
def summary_command(store: Path | None, session: str | None, as_json: bool, as_text: bool, colours: str) -> int | None:
    """Show what SESSION came to: its id or the beginning of it; the last session if left out.

    At a terminal it is a screen, with each animal's feet over time, what is due, charts, and the replay of a session;
    with --text, --json or in a pipe it is written out.
    """
    from assistant.cli import facing

    if facing.is_terminal() and not (as_json or as_text):
        from assistant.cli.look_back_face import show_look_back

        return show_look_back(store, session, colours)
    from assistant import settings
    from assistant.records.look_back import session_summary
    from assistant.report.summary import text

    with facing.held_store(store, read_only=True) as (held, places):
        result = session_summary(held, session, settings.settings(places.settings).practice)
    click.echo(json.dumps(result.flat()) if as_json else text(result))
    return None

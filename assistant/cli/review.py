"""`assistant review`: a session is put right at the screen, or line by line."""

from __future__ import annotations

from pathlib import Path

import click

from assistant.cli.show import colours_option


@click.command("review")
@click.argument("session", required=False)
@click.option("--by", default="", help="Who puts the record right; the name of the user if left out.")
@click.option("--text", "as_text", is_flag=True, help="Plain lines and typed words instead of a screen.")
@colours_option
@click.pass_obj
def review_command(store: Path | None, session: str | None, by: str, as_text: bool, colours: str) -> int:
    """Put SESSION right: its id or the beginning of it; the last session if left out.

    Remarks that need a decision come first. Every change is kept beside what it replaces, and can be undone, also on
    another day. F1 lists the keys, [ and ] go to other sessions; nothing needs a mouse. With --text the same is done in
    typed lines, as a screen reader or a script likes it: `help` lists them.
    """
    if not as_text:
        from assistant.cli.review_face import show_review

        return show_review(store, session, by, colours)
    from assistant.cli import facing
    from assistant.cli.review_lines import review_by_lines
    from assistant.records.look_back import session_info

    with facing.held_store(store) as (held, places):
        return review_by_lines(facing.reviewing(held, places, session_info(held, session), by))

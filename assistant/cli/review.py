"""`assistant review`: a session is put right at the screen, or line by line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli.show import colours_option

if TYPE_CHECKING:
    from textual.screen import Screen

    from assistant.reviewing import Reviewing
    from assistant.settings import Places


@click.command("review")
@click.argument("session", required=False)
@click.option("--by", default="", help="Who puts the record right; the name of the user if left out.")
@click.option("--text", "as_text", is_flag=True, help="Plain lines and typed words instead of a screen.")
@colours_option
@click.pass_obj
def review_command(store: Path | None, session: str | None, by: str, as_text: bool, colours: str) -> int:
    """Put SESSION right: its id or the beginning of it; the last session if left out.

    Remarks that need a decision come first. Every change is kept beside what it replaces, and can be undone. F1 lists
    the keys; nothing needs a mouse. With --text the same is done in typed lines, as a screen reader or a script likes
    it: `help` lists them.
    """
    from contextlib import ExitStack

    from assistant.cli import facing

    with ExitStack() as stack:

        def desk() -> tuple[Reviewing, Places]:
            from assistant.look_back import session_info

            held, places = stack.enter_context(facing.held_store(store))
            return facing.reviewing(held, places, session_info(held, session), by), places

        def make() -> Screen[None]:
            from assistant.screens.review_screen import ReviewScreen
            from assistant.spoken import grammar_sources
            from assistant.wording import wording

            reviewing, places = desk()
            return ReviewScreen(reviewing, wording(grammar_sources(places.grammars)), facing.player())

        if as_text:
            from assistant.cli.review_lines import review_by_lines

            return review_by_lines(desk()[0])
        return facing.faced(make, colours)

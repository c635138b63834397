"""The review screen on the store of a holding."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.cli import facing

if TYPE_CHECKING:
    from assistant.records.reviewing import Reviewing
    from assistant.screens.review_screen import ReviewScreen
    from assistant.settings import Places
    from assistant.store.store import Store
    from assistant.values import SessionInfo


def show_review(store: Path | None, session: str | None, by: str, colours: str) -> int:
    """Shows a session that is put right until it is left; gives the exit status."""
    with ExitStack() as stack:

        def make() -> ReviewScreen:
            return review_screen(*stack.enter_context(facing.held_store(store)), session, by)

        return facing.faced(make, colours)


def review_screen(held: Store, places: Places, session: str | None, by: str) -> ReviewScreen:
    """The screen for a store that is open.

    Args:
        held: the store.
        places: where the holding's files are.
        session: the beginning of a session's id; None for the last that has anything to look at.
        by: who puts it right.
    """
    from assistant.listening.spoken import grammar_sources
    from assistant.meaning.wording import wording
    from assistant.records.look_back import session_info
    from assistant.records.reviewing import Reviewing
    from assistant.screens.review_screen import ReviewScreen

    known = facing.holding(held, places, by)

    def beside(info: SessionInfo, way: int) -> Reviewing | None:
        """The next session in a direction that has anything to look at."""
        sessions = list(held.sessions())[::way]
        at = next(n for n, one in enumerate(sessions) if one.id == info.id)
        found = (Reviewing(held, one, known) for one in sessions[at + 1 :])
        return next((one for one in found if one.review.lines or one.review.known), None)

    reviewing = Reviewing(held, session_info(held, session), known)
    if session is None and not (reviewing.review.lines or reviewing.review.known):
        reviewing = beside(reviewing.info, -1) or reviewing
    return ReviewScreen(reviewing, wording(grammar_sources(places.grammars)), facing.player(), beside)

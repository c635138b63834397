"""The look-back screen on the store of a holding."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.cli import facing

if TYPE_CHECKING:
    from assistant.screens.look_back_screen import LookBackScreen
    from assistant.settings import Places
    from assistant.store.store import Store
    from assistant.values import SessionInfo


def show_look_back(store: Path | None, session: str | None, colours: str) -> int:
    """Shows the past until it is left; gives the exit status.

    Raises:
        BadStore: there is no store, or no such session.
    """
    with ExitStack() as stack:

        def make() -> LookBackScreen:
            from assistant.look_back import session_info

            held, places = stack.enter_context(facing.held_store(store, read_only=True))
            return look_back_screen(held, places, session_info(held, session))

        return facing.faced(make, colours)


def look_back_screen(held: Store, places: Places, info: SessionInfo) -> LookBackScreen:
    """The screen for a store that is open, beginning with one session."""
    from assistant import wiring
    from assistant.herd import Herd
    from assistant.look_back import session_summary
    from assistant.looking_back import LookingBack, Replay
    from assistant.screens.look_back_screen import LookBackScreen
    from assistant.screens.replay_screen import ReplayScreen

    farm = wiring.farm(held, places)
    animals = {animal.id: animal for animal in farm.register}

    def replay(of: SessionInfo) -> ReplayScreen:
        world = Herd(animals, held, of.id, farm.lameness)
        return ReplayScreen(Replay(held.events(of.id), world), held.sound, facing.player())

    past = LookingBack(held, animals, facing.now().date())
    return LookBackScreen(past, lambda of: session_summary(held, of.id), replay, info.id)

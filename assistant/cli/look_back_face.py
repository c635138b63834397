"""The look-back screen on the store of a holding."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.cli import facing

if TYPE_CHECKING:
    from assistant.records.looking_back import ToDo
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
            from assistant.records.look_back import session_info

            held, places = stack.enter_context(facing.held_store(store, read_only=True))
            return look_back_screen(held, places, session_info(held, session))

        return facing.faced(make, colours)


def look_back_screen(held: Store, places: Places, info: SessionInfo) -> LookBackScreen:
    """The screen for a store that is open, beginning with one session."""
    from assistant.husbandry.follow_up import is_open
    from assistant.live.farm import Farm
    from assistant.live.herd import Herd
    from assistant.records.holding_lists import TRIM_DAYS_AHEAD
    from assistant.records.look_ahead import LookAhead
    from assistant.records.look_back import session_summary
    from assistant.records.looking_back import LookingBack, Replay, ToDo
    from assistant.screens.look_back_screen import LookBackScreen
    from assistant.screens.replay_screen import ReplayScreen

    farm = Farm.of(held, places)
    animals = {animal.id: animal for animal in farm.register}

    def replay(of: SessionInfo) -> ReplayScreen:
        world = Herd(animals, held, of.id, farm.lameness, partial(LookAhead.on, held, farm.practice))
        return ReplayScreen(Replay(held.events(of.id), world), held.sound, facing.player())

    def to_do(day: date) -> Iterator[ToDo]:
        ahead = LookAhead.on(held, farm.practice, day)
        for asked in ahead.follow_ups():
            if is_open(asked):
                yield ToDo(asked.asked.animal, asked.asked.what, asked.due)
        for trim in ahead.trims():
            if trim.due and trim.due <= day + timedelta(days=TRIM_DAYS_AHEAD):
                yield ToDo(trim.animal, "trim", trim.due)

    past = LookingBack(held, animals, facing.now().date(), to_do)
    return LookBackScreen(past, lambda of: session_summary(held, of.id), replay, info.id)

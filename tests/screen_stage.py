"""A small herd with two sessions for the screens: one of spring, one of today with remarks that need a decision."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from textual.pilot import Pilot
from textual.screen import ModalScreen

from assistant.listening.spoken import grammar_sources
from assistant.meaning.wording import Wording, wording
from assistant.records.reviewing import Holding, Reviewing
from assistant.screens.page import Page
from assistant.store.store import Store
from assistant.values import Animal, Sex, Species
from tests.live_stage import Stage, farm

NOW = datetime(2026, 5, 26, 18, 40, tzinfo=UTC)


def words() -> Wording:
    """What can be chosen from."""
    return wording(grammar_sources())


def filled(folder: Path) -> Stage:
    """A stage whose last session has facts on two animals, and two remarks that wait for a decision."""
    stage = Stage(folder)
    stage.type("tansy")
    stage.hear("left hind hollow wall cut out", second=["left hind hollow wall cut out"])
    stage.type("both fores overgrown, trimmed")
    stage.type("right hind fine, between the claws clean")
    stage.type("condition two and a half")
    stage.type("check her in two weeks")
    stage.type("done")
    stage.type("sorrel")
    stage.hear("left hind crack", second=["left fore crack"])
    stage.hear("right fore foot rot", second=["right fore foot rot"], wait_s=30)
    stage.hear(wait_s=30)
    stage.type("done", wait_s=30)
    stage.type("done")
    stage.handling.end(stage.now + timedelta(seconds=5))
    return stage


def reviewing(store: Store, key: str = "s1") -> Reviewing:
    """The review of a session on the stage, with the clock standing still."""
    animals = {animal.id: animal for animal in store.animals()}
    holding = Holding(animals, lambda: farm().interpreter, farm().lameness, "Hazel", lambda: NOW)
    info = next(info for info in store.sessions() if info.id == key)
    return Reviewing(store, info, holding)


def reads(pilot: Pilot[int], where: str) -> str:
    """What a part of the screen says: a text beside a list, or a line."""
    part = pilot.app.screen.query_one(where)
    return part.content.plain if isinstance(part, Page) else str(part.render())


async def sheet_up(pilot: Pilot[int]) -> None:
    """Waits until a sheet has come up that asks for something."""
    for _ in range(200):
        if isinstance(pilot.app.screen, ModalScreen):
            await pilot.pause()
            return
        await pilot.pause(0.01)
    raise AssertionError(f"no sheet came up over {pilot.app.screen}")


LONG = Animal(
    "a9", number="10471", name="Hedge-Woundwort of the Long Meadow Side", species=Species.GOAT, sex=Sex.FEMALE
)

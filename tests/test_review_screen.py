"""The review screen by its keys: each is one decision that is in the store when the line changes."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static

from assistant.cli.review_face import review_screen
from assistant.records.reviewing import Reviewing
from assistant.screens.face import Face
from assistant.screens.keys import KeyList
from assistant.screens.lines import Lines
from assistant.screens.review_list import ReviewList
from assistant.screens.review_screen import ReviewScreen
from assistant.session.review import Fact
from assistant.settings import places
from assistant.values import Entry, FindingPart, State
from tests.live_stage import Stage
from tests.screen_stage import NOW, filled, reads, reviewing, sheet_up, words

pytestmark = pytest.mark.asyncio


class Seen:
    """A review at a terminal that is not there, and the store behind it."""

    def __init__(self, stage: Stage, pilot: Pilot[int], played: list[int]) -> None:
        self.stage, self.pilot, self.played = stage, pilot, played

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)
        await self.pilot.pause()

    async def write(self, text: str) -> None:
        """Types into the sheet that comes up, in place of what stands there, and presses Enter."""
        await sheet_up(self.pilot)
        self.pilot.app.screen.query_one(Input).value = text
        await self.press("enter")
        await self.pilot.pause()

    async def to(self, text: str) -> None:
        """Moves to the first line with this text."""
        lines = self.pilot.app.screen.query_one(Lines)
        for _ in range(40):
            if text in lines.line.text:
                return
            await self.press("down")
        raise LookupError(text)

    @property
    def happened(self) -> str:
        return reads(self.pilot, ".happened")

    @property
    def detail(self) -> str:
        return reads(self.pilot, "#detail")

    def facts(self, animal: str) -> list[str]:
        return [_words(entry) for entry in self.stage.store.entries("s1", animal)]

    def states(self, animal: str) -> list[State]:
        return [entry.state for entry in self.stage.store.entries("s1", animal)]


def _words(entry: Entry) -> str:
    return " ".join(str(value) for value in entry.part.flat().values())


@asynccontextmanager
async def review(folder: Path) -> AsyncIterator[Seen]:
    stage = filled(folder)
    played: list[int] = []
    screen = ReviewScreen(reviewing(stage.store), words(), lambda sound: played.append(len(sound.samples)) or "")
    app = Face(lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        yield Seen(stage, pilot, played)
    stage.store.close()


async def test_what_needs_a_decision_comes_first(tmp_path) -> None:
    async with review(tmp_path) as seen:
        assert "To decide" in seen.detail
        assert "Left hind or left fore?" in seen.detail
        assert "listener 1: left fore crack" in seen.detail


async def test_accepting_a_remark_records_its_first_reading(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.press("a")
        assert "left hind crack" in seen.facts("a2")
        assert len(seen.pilot.app.screen.reviewing.review.open) == 1
        await seen.press("u")
        assert "left hind crack" not in seen.facts("a2")
        assert len(seen.pilot.app.screen.reviewing.review.open) == 2


async def test_another_reading_is_chosen(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.press("r", "down", "enter")
        assert "left fore crack" in seen.facts("a2")


async def test_the_animal_of_a_remark_is_chosen_by_number(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.press("n")
        await seen.write("417")
        assert "left hind crack" in seen.facts("a1")


async def test_what_was_not_understood_is_typed(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.press("down", "a")
        assert "t types what is right" in seen.happened
        await seen.press("t")
        await seen.write("right hind abscess, drained")
        assert {"right hind abscess", "right hind drained"} <= set(seen.facts("a2"))


async def test_a_remark_with_nothing_in_it_is_closed(tmp_path) -> None:
    async with review(tmp_path) as seen:
        before = seen.stage.store.entries()
        await seen.press("x")
        assert len(seen.pilot.app.screen.reviewing.review.open) == 1
        assert seen.stage.store.entries() == before


CHANGES = [
    ("left hind: hollow wall", ["p"], "right fore", "right fore hollow wall"),
    ("left hind: hollow wall", ["p"], "left hind between", "left hind hollow wall between the claws"),
    ("left hind: hollow wall", ["f"], "crac", "left hind crack"),
    ("left hind: hollow wall", ["d"], "drained", "left hind drained"),
    ("left hind: hollow wall", ["v"], "severe", "left hind hollow wall severe"),
    ("left hind: cut out", ["d"], "spray", "left hind sprayed"),
    ("condition 2.5", ["v"], "3.5", "condition 3.5"),
    ("re-check in 14 days", ["v"], "21", "re-check 21"),
    ("left hind: hollow wall", ["t"], "right hind crack", "right hind crack"),
]


@pytest.mark.parametrize(("line", "keys", "typed", "expected"), CHANGES)
async def test_a_fact_is_changed_and_changed_back(tmp_path, line, keys, typed, expected) -> None:
    async with review(tmp_path) as seen:
        before = sorted(seen.facts("a1"))
        await seen.to(line)
        await seen.press(*keys)
        await seen.write(typed)
        assert expected in seen.facts("a1")
        assert State.CORRECTED in seen.states("a1")
        assert "changed: Tansy" in seen.detail
        assert "by Hazel" in seen.detail
        await seen.press("u")
        assert sorted(seen.facts("a1")) == before
        await seen.press("U")
        assert expected in seen.facts("a1")


async def test_a_fact_goes_to_another_animal(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.to("hollow wall")
        await seen.press("n")
        await seen.write("yarr")
        assert "left hind hollow wall" in seen.facts("a3")
        assert "left hind hollow wall" not in seen.facts("a1")


async def test_a_fact_is_split(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.to("hollow wall")
        await seen.press("s")
        await seen.write("hollow wall, crack")
        assert {"left hind hollow wall", "left hind crack"} <= set(seen.facts("a1"))


async def test_facts_are_accepted_withdrawn_and_added(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.to("hollow wall")
        await seen.press("a")
        assert seen.states("a1").count(State.CONFIRMED) == 1
        await seen.press("A")
        assert set(seen.states("a1")) == {State.CONFIRMED}
        await seen.press("x")
        assert "left hind hollow wall" not in seen.facts("a1")
        await seen.press("h")
        await seen.to("left hind: hollow wall")
        assert "withdrawn" in seen.detail
        await seen.press("i")
        await seen.write("right teat lump")
        assert "right teat lump" in seen.facts("a1")
        await seen.press("o")
        await seen.write("yarrow")
        await seen.write("lame score two")
        assert seen.facts("a3") == ["lameness 2"]


async def test_what_cannot_be_recorded_is_said_and_not_recorded(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.to("condition")
        await seen.press("v")
        await seen.write("9")
        assert "Condition goes from one to five" in str(seen.pilot.app.screen.query_one(".problem", Static).render())
        await seen.press("escape")
        await seen.press("i")
        await seen.write("hollow wall")
        assert "Which place?" in str(seen.pilot.app.screen.query_one(".problem", Static).render())
        await seen.press("escape")
        await seen.press("p")
        assert "no place" in seen.happened
        assert "condition 2.5" in seen.facts("a1")


async def test_the_sound_is_played(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.press("space")
        assert seen.played == [32000]
        await seen.to("overgrown")
        await seen.press("space")
        assert "There is no sound of remark" in seen.happened


async def test_another_program_that_writes_is_noticed(tmp_path) -> None:
    async with review(tmp_path) as seen:
        store = seen.stage.store
        store.append(
            "s1",
            store.version("s1"),
            [{"type": "Replied", "time": "2026-05-26T10:00:00+00:00", "kind": "told", "text": "x"}],
        )
        await seen.to("hollow wall")
        await seen.press("x")
        assert "another program is recording it too" in seen.happened
        assert "left hind hollow wall" in seen.facts("a1")


async def test_keys_are_listed_by_one_key_and_the_looks_change(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.press("f1")
        sheet = seen.pilot.app.screen
        assert isinstance(sheet, KeyList)
        assert {"Redo", "Change the place", "Leave", "Dark, light, no colour"} <= set(sheet.found)
        await seen.press("f1")
        assert isinstance(seen.pilot.app.screen, ReviewScreen)
        for name in ("light", "plain", "dark"):
            await seen.press("f4")
            assert seen.pilot.app.look.colours == name


async def test_the_mouse_works_too(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.pilot.click(Lines, offset=(5, 4))
        await seen.pilot.pause()
        assert "left hind: hollow wall" in seen.detail


async def test_it_shrinks_and_grows(tmp_path) -> None:
    async with review(tmp_path) as seen:
        for size in ((40, 12), (200, 60), (80, 24)):
            await seen.pilot.resize_terminal(*size)
            await seen.pilot.pause()
            assert seen.pilot.app.screen.query_one(Lines).key.startswith("case:")


async def test_leaving(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.press("q")
        assert seen.pilot.app.return_value == 0


async def test_what_was_decided_on_another_day_is_undone_too(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.to("hollow wall")
        await seen.press("f")
        await seen.write("abscess")
        assert "left hind abscess" in seen.facts("a1")
        again = reviewing(seen.stage.store)
        assert again.undo() == "Undone: changed."
        assert "left hind hollow wall" in seen.facts("a1")
        assert again.redo() == "Done again: changed."
        tomorrow = replace(again.holding, now=lambda: NOW + timedelta(days=1), by="Rowan")
        assert Reviewing(seen.stage.store, again.info, tomorrow).undo() == "Undone: changed, 26 May 18:40, by Hazel."
        assert "left hind hollow wall" in seen.facts("a1")


async def test_the_cursor_goes_to_what_was_undone(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.to("condition")
        await seen.press("x", "home", "u")
        assert "condition 2.5" in seen.detail


async def test_what_is_sure_of_an_animal_is_accepted_at_once(tmp_path) -> None:
    async with review(tmp_path) as seen:
        await seen.to("condition")
        await seen.press("v")
        await seen.write("3")
        await seen.press("A")
        assert seen.happened == "9 accepted."
        assert seen.states("a1").count(State.CORRECTED) == 1, "what was put right stays as it was put"
        await seen.press("A")
        assert seen.happened == "Nothing sure is left to accept of Tansy."


async def test_what_was_doubted_is_not_accepted_with_the_rest(tmp_path) -> None:
    stage = Stage(tmp_path)
    stage.type("sorrel")
    stage.hear("left hind crack", second=["left fore crack"])
    stage.type("left fore")
    stage.type("right hind fine")
    desk = reviewing(stage.store)
    assert desk.accept_sure("a2") == "1 accepted; 1 was doubted, look at it."
    states = {_words(entry): entry.state for entry in stage.store.entries("s1", "a2")}
    assert states == {"left fore crack": State.HEARD, "right hind sound": State.CONFIRMED}
    stage.store.close()


async def test_other_sessions_are_gone_to_and_come_back_from(tmp_path) -> None:
    stage = filled(tmp_path)
    stage.now += timedelta(days=14)
    stage.session("s2")
    stage.type("yarrow")
    stage.type("left hind crack")
    stage.handling.end(stage.now)
    stage.session("left at once")
    stage.handling.end(stage.now)
    app = Face(lambda: review_screen(stage.store, places(stage.store.path), None, "Hazel"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.pause()
        seen = Seen(stage, pilot, [])
        assert "Yarrow" in seen.detail
        await seen.press("left_square_bracket")
        assert "To decide" in seen.detail
        await seen.to("hollow wall")
        await seen.press("x", "left_square_bracket")
        assert seen.happened == "There is no session before."
        await seen.press("right_square_bracket", "right_square_bracket")
        assert "Yarrow" in seen.detail
        assert seen.happened == "There is no session after."
        await seen.press("left_square_bracket", "u")
        assert "hollow wall" in seen.detail, "what was decided before can be undone after coming back"
    assert "left hind hollow wall" in seen.facts("a1")
    stage.store.close()


async def test_the_list_is_as_if_it_were_made_anew_after_each_decision(tmp_path) -> None:
    stage = filled(tmp_path)
    desk = reviewing(stage.store)
    shown = ReviewList(desk)
    first, second, *_ = desk.review.live()["a1"]
    crack = Fact("a1", FindingPart("right hind", "crack"))
    deeds = [
        lambda: desk.accept(first),
        lambda: desk.change(first, crack),
        lambda: desk.change(first, replace(crack, animal="a2")),
        lambda: desk.withdraw(second),
        desk.undo,
        lambda: desk.dismiss(next(iter(desk.review.open))),
        lambda: desk.split(first, [crack.part, FindingPart("left hind", "crack")]),
        lambda: desk.add("a3", "left fore crack", [crack.part]),
        desk.undo,
        desk.redo,
    ]
    for deed in deeds:
        shown.keys()
        deed()
        assert shown.keys() == ReviewList(desk).keys()
    stage.store.close()

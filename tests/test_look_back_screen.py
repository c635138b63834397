"""Looking back by its keys: sessions, animals over time, what is due, charts; and the replay of a session."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import date, timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from assistant.cli.look_back_face import look_back_screen
from assistant.live.herd import Herd
from assistant.records.looking_back import CHARTED, LookingBack, Replay
from assistant.screens.card import chart, sparkline
from assistant.screens.face import Face
from assistant.screens.lines import Lines
from assistant.screens.look_back_screen import LookBackScreen
from assistant.screens.replay_screen import ReplayScreen
from assistant.settings import places
from tests.live_stage import ANIMALS, Stage, farm
from tests.screen_stage import filled, reads, sheet_up


class Seen:
    """The past at a terminal that is not there."""

    def __init__(self, pilot: Pilot[int]) -> None:
        self.pilot = pilot

    async def press(self, *keys: str) -> None:
        for key in keys:
            await self.pilot.press(key)
            await self.pilot.pause()
            await self.pilot.pause()

    def text(self, where: str = "#detail") -> str:
        return reads(self.pilot, where)


def two_sessions(folder: Path) -> Stage:
    """The stage with a second session two weeks later."""
    stage = filled(folder)
    stage.now += timedelta(days=14)
    stage.session("s2")
    for line in ("tansy", "left hind hollow wall, trimmed", "condition three", "done", "done"):
        stage.type(line)
    stage.handling.end(stage.now)
    return stage


@asynccontextmanager
async def past(folder: Path) -> AsyncIterator[Seen]:
    stage = two_sessions(folder)
    app = Face(lambda: look_back_screen(stage.store, places(stage.store.path), stage.store.sessions()[-1]))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.pause()
        yield Seen(pilot)
    stage.store.close()


@pytest.mark.asyncio
async def test_sessions_are_gone_through(tmp_path) -> None:
    async with past(tmp_path) as seen:
        assert "2 of 2" in seen.text("#head")
        assert "hollow wall" in seen.text()
        await seen.press("left")
        assert "1 of 2" in seen.text("#head")
        assert "foot rot" in seen.text()
        assert "2 to decide" in seen.text()
        await seen.press("left")
        assert "no session before" in seen.text(".happened")
        await seen.press("right", "down")
        assert "Tansy  done" in seen.text()


@pytest.mark.asyncio
async def test_an_animal_is_found_with_its_feet_over_time(tmp_path) -> None:
    async with past(tmp_path) as seen:
        await seen.press("slash")
        await sheet_up(seen.pilot)
        seen.pilot.app.screen.query_one(Input).value = "417"
        await seen.press("enter")
        left_hind = seen.text().split("LEFT HIND")[1].split("RIGHT HIND")[0]
        assert left_hind.index("2026-06-09") < left_hind.index("2026-05-26"), "the newest first"
        assert left_hind.count("hollow wall") == 2
        assert "condition ▁█ 2.5, 3" in seen.text()
        assert "» trim 2026-08-04" in seen.text()
        assert "» re-check 2026-06-09" not in seen.text(), "she was seen on that day"


@pytest.mark.asyncio
async def test_what_is_due_and_how_often_something_was_found(tmp_path) -> None:
    async with past(tmp_path) as seen:
        seen.pilot.app.screen.past.today = date(2026, 7, 20)
        await seen.press("d")
        lines = seen.pilot.app.screen.query_one(Lines)
        rows = [lines.row(n, 40).text for n in range(lines.n_rows())]
        assert any("04 Aug  Tansy, trim" in row for row in rows)
        assert not any("re-check" in row for row in rows)
        await seen.press("enter")
        assert "Sorrel" in seen.text()
        await seen.press("c")
        assert "2026-05-26" in seen.text()
        assert "on 2 animals" in seen.text()
        await seen.press("s")
        assert "2 of 2" in seen.text("#head")


@pytest.mark.asyncio
async def test_a_session_is_replayed(tmp_path) -> None:
    async with past(tmp_path) as seen:
        await seen.press("left", "r")
        assert isinstance(seen.pilot.app.screen, ReplayScreen)
        assert "Remark 1" in seen.text(".happened")
        assert "hollow wall" not in seen.text("#plan")
        await seen.press("right")
        assert "hollow wall" in seen.text("#plan")
        await seen.press("pagedown")
        assert "Remark 12" in seen.text(".happened")
        await seen.press("pagedown", "right")
        assert "last remark" in seen.text(".happened")
        await seen.press("home")
        assert "Remark 1," in seen.text(".happened")
        await seen.press("left")
        assert "first remark" in seen.text(".happened")
        await seen.press("escape")
        assert isinstance(seen.pilot.app.screen, LookBackScreen)


@pytest.mark.asyncio
async def test_a_replay_plays_the_sound_and_goes_on_by_itself(tmp_path) -> None:
    stage = two_sessions(tmp_path)
    played: list[int] = []
    world = Herd({animal.id: animal for animal in ANIMALS}, stage.store, "s1", farm().lameness)
    replay = Replay(stage.store.events("s1"), world)
    screen = ReplayScreen(replay, stage.store.sound, lambda sound: played.append(len(sound.samples)) or "")
    app = Face(lambda: screen)
    async with app.run_test(size=(80, 24)) as pilot:
        for _ in range(5):
            await pilot.pause(0.02)
        await pilot.press("right", "space")
        await pilot.pause()
        assert played == [32000]
        await pilot.press("left", "p")
        for _ in range(300):
            await pilot.pause(0.02)
            if len(played) > 1:
                break
        assert played == [32000, 32000], "a typed remark has no sound, the next one has"
        await pilot.press("p")
    stage.store.close()


def test_the_replay_ends_where_the_session_does(tmp_path) -> None:
    stage = two_sessions(tmp_path)
    world = Herd({animal.id: animal for animal in ANIMALS}, stage.store, "s1", farm().lameness)
    replay = Replay(stage.store.events("s1"), world)
    n = next(n for n in range(100) if replay.moment(n) is None)
    last = replay.moment(n - 1)
    assert n == len(stage.store.remarks("s1"))
    assert last is not None
    assert last.state.info is not None
    assert last.state.info.ended is not None
    held = {entry.id for entries in last.state.entries.values() for entry in entries}
    assert held == {entry.id for entry in stage.store.entries("s1")}
    stage.store.close()


SPARKS = [([1, 2, 3], "▁▅█"), ([2, 2], "▄▄"), ([0, 7], "▁█")]


@pytest.mark.parametrize(("values", "expected"), SPARKS)
def test_a_sparkline_goes_from_the_lowest_to_the_highest(values, expected) -> None:
    assert sparkline(values) == expected


def test_sessions_without_a_record_stand_in_no_chart(tmp_path) -> None:
    stage = two_sessions(tmp_path)
    for n in range(CHARTED + 3):
        stage.session(f"e{n}")
        stage.handling.end(stage.now)
    back = LookingBack(stage.store, {animal.id: animal for animal in ANIMALS}, stage.now.date())
    hollow = next(bars for bars in back.charts if bars.finding == "hollow wall")
    assert [(n, handled) for _, n, handled in hollow.bars] == [(1, 2), (1, 1)]
    assert "1 on 1 animal" in chart(hollow).plain
    stage.store.close()


@pytest.mark.asyncio
async def test_what_was_told_is_gone_with_the_next_view(tmp_path) -> None:
    async with past(tmp_path) as seen:
        await seen.press("right")
        assert seen.text(".happened") == "There is no session after."
        await seen.press("c")
        assert seen.text(".happened") == ""

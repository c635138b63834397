"""Lists and texts of the screens: what is seen of many rows, by keys and by the mouse, and in how many paints."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from textual.app import App, ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Key
from textual.geometry import Region
from textual.pilot import Pilot
from textual.widgets import Static

from assistant.screens.choosing import Choice, Choosing
from assistant.screens.face import Face, PenScreen
from assistant.screens.lines import Line, Lines, column, short
from assistant.screens.page import JOINT, Page
from assistant.screens.review_screen import ReviewScreen
from tests.screen_stage import filled, reviewing, sheet_up, words

N = 20_000
SHOWN = 24


class Plain(PenScreen):
    """A list of numbers, and beside it a text about the one under the cursor."""

    def compose(self) -> ComposeResult:
        with Horizontal():
            yield Lines(self._moved, id="left")
            yield Page(id="detail")

    def on_mount(self) -> None:
        keys = [f"#{n}" if n % 10 == 0 else str(n) for n in range(N)]
        self.query_one(Lines).show(keys, lambda key: Line(key, ((f"row {key}", "plain"),)), 0)
        self.query_one(Lines).focus()

    def _moved(self, key: str) -> None:
        self.query_one(Page).show(Content("\n".join(f"{key}, word {n}" for n in range(100))))


@asynccontextmanager
async def plain() -> AsyncIterator[Pilot[int]]:
    async with Face(Plain).run_test(size=(80, SHOWN)) as pilot:
        await pilot.pause()
        await pilot.pause()
        yield pilot


def seen(pilot: Pilot[int], kind: type[Lines | Page]) -> list[str]:
    part = pilot.app.screen.query_one(kind)
    return [part.render_line(y).text for y in range(part.size.height)]


WALKS = [
    (["down"], "2"),
    (["down", "up"], "1"),
    (["down"] * 9, "11"),
    (["pagedown"], "24"),
    (["pagedown", "pageup"], "1"),
    (["end"], "19999"),
    (["end", "home"], "1"),
    (["end", "down", "up"], "19998"),
]


@pytest.mark.asyncio
@pytest.mark.parametrize(("keys", "key"), WALKS)
async def test_the_cursor_walks_over_lines_and_not_over_headings(keys, key) -> None:
    async with plain() as pilot:
        await pilot.press(*keys)
        lines = pilot.app.screen.query_one(Lines)
        assert lines.key == key
        assert any(row.startswith("▸") and f"row {key} " in row for row in seen(pilot, Lines))
        assert f"{key}, word 0 " in seen(pilot, Page)[0], "the text is about the line under the cursor"


@pytest.mark.asyncio
async def test_a_text_is_scrolled_without_a_mouse() -> None:
    async with plain() as pilot:
        await pilot.press("tab", "pagedown", "down")
        assert "word 24 " in seen(pilot, Page)[0]
        await pilot.press("end")
        assert "word 99 " in seen(pilot, Page)[-1]
        await pilot.press("tab", "down")
        assert pilot.app.screen.query_one(Lines).key == "2"
        assert "word 0 " in seen(pilot, Page)[0]


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Tansy", "Tansy           |"),
        ("漢字", "漢字            |"),
        ("Hedge-Woundwort of the Long Meadow", "Hedge-Woundwort of th…|"),
        ("漢" * 20, "漢" * 10 + "…|"),
    ],
)
def test_a_name_takes_the_room_that_it_has_in_a_list(name, shown) -> None:
    assert f"{column(short(name), 16)}|" == shown


@pytest.mark.asyncio
async def test_a_line_is_not_broken_at_a_joint() -> None:
    async with plain() as pilot:
        page = pilot.app.screen.query_one(Page)
        page.show(Content.assemble("in ", *[run for _ in range(60) for run in ((f"»{JOINT}", "bold"), "sound ")]))
        await pilot.pause()
        rows = [row.rstrip() for row in seen(pilot, Page)]
        assert "» sound" in rows[1]
        assert not [row for row in rows if row.endswith("»")]


@pytest.mark.asyncio
async def test_what_does_not_fit_in_a_line_that_stands_in_stands_further_in() -> None:
    async with plain() as pilot:
        page = pilot.app.screen.query_one(Page)
        page.show(Content("HEAD\n  short\n  " + "word " * 20 + "\n\nend"))
        await pilot.pause()
        rows = [row.rstrip() for row in seen(pilot, Page)]
        n = rows.index("")
        assert rows[:2] == ["HEAD", "  short"]
        assert rows[2].startswith("  word")
        assert n > 3
        assert all(row.startswith("    word") for row in rows[3:n])
        assert rows[n + 1] == "end"
        assert " ".join(rows[2:n]).split() == ["word"] * 20
        assert {strip.cell_length for strip in page._rows()} == {page.size.width}


@pytest.mark.asyncio
async def test_the_wheel_and_the_bar_scroll_and_leave_the_cursor() -> None:
    async with plain() as pilot:
        lines = pilot.app.screen.query_one(Lines)
        bar = lines.size.width - 1
        await pilot.mouse_down(Lines, offset=(bar, SHOWN // 2))
        await pilot.pause()
        assert abs(lines.top - N / 2) < N / 20
        await pilot.hover(Lines, offset=(bar, SHOWN - 1))
        await pilot.mouse_up(Lines, offset=(bar, SHOWN - 1))
        await pilot.pause()
        assert "row 19999" in seen(pilot, Lines)[-1]
        assert seen(pilot, Lines)[-1].endswith("┃")
        assert seen(pilot, Lines)[0].endswith("│")
        assert lines.key == "1"
        await pilot.press("down")
        assert any(row.startswith("▸") for row in seen(pilot, Lines)), "a key brings the cursor back into sight"


@pytest.mark.asyncio
async def test_a_click_takes_the_line_and_a_heading_takes_none() -> None:
    async with plain() as pilot:
        await pilot.click(Lines, offset=(5, 6))
        lines = pilot.app.screen.query_one(Lines)
        assert lines.key == "6"
        await pilot.click(Lines, offset=(5, 0))
        assert lines.key == "6"


@pytest.mark.asyncio
async def test_the_cursor_stays_in_sight_when_the_terminal_shrinks() -> None:
    async with plain() as pilot:
        await pilot.press(*["down"] * 15)
        await pilot.resize_terminal(40, 8)
        await pilot.pause()
        assert any(row.startswith("▸") for row in seen(pilot, Lines))


@pytest.mark.asyncio
@pytest.mark.parametrize("height", [40, 24, 12, 8])
async def test_the_cursor_of_a_sheet_is_seen_wherever_it_goes(height) -> None:
    async with Face(Plain).run_test(size=(80, height)) as pilot:
        while not pilot.app.is_up:
            await pilot.pause(0.01)
        sheet = pilot.app.choosing
        choices = [Choice(str(n), f"choice {n}") for n in range(30)]
        pilot.app.screen.run_worker(sheet.ask("Which?", choices[:1]))
        await sheet_up(pilot)
        await pilot.press("escape")
        pilot.app.screen.run_worker(sheet.ask("Which?", choices, "2"))
        await sheet_up(pilot)
        for _ in range(4):
            await pilot.pause()
        lines = sheet.query_one(Lines)
        assert lines.render_line(min(2, lines.size.height - 1)).text.startswith("▸choice 2")
        for key in ("pagedown", "pagedown", "pagedown", "down", "pageup"):
            await pilot.press(key)
            assert lines.region.bottom < height, "all of it is seen"
            rows = [lines.render_line(y).text for y in range(lines.size.height)]
            assert [row for row in rows if row.startswith("▸")], (key, rows)


@pytest.mark.asyncio
async def test_a_sheet_stays_where_the_terminal_is_resized() -> None:
    """It is laid out before what is behind it, and is painted with what there is of that."""
    async with plain() as pilot:
        await pilot.press("f1")
        sheet = pilot.app.screen
        for width, height in ((120, 40), (30, 8), (200, 60)):
            rows = sheet.render_lines(Region(0, 0, width, height))
            assert [row.cell_length for row in rows] == [width] * height
            await pilot.resize_terminal(width, height)
            await pilot.pause()
        assert pilot.app.screen is sheet
        await pilot.press("escape")
        assert pilot.app.screen is not sheet


@pytest.mark.asyncio
@pytest.mark.parametrize("key", ["down", "a", "x", "h"])
async def test_a_key_of_the_review_is_one_paint(tmp_path, monkeypatch, key) -> None:
    """Each paint after the first waits for the next beat of the library's clock: three of them cost 40 ms."""
    stage = filled(tmp_path)
    screen = ReviewScreen(reviewing(stage.store), words(), lambda _: "")
    async with Face(lambda: screen).run_test(size=(80, 24)) as pilot:
        await pilot.press("down", "down", "down")
        await pilot.pause(0.2)
        painted = []
        whole = App._display
        monkeypatch.setattr(App, "_display", lambda app, *rest: (painted.append(rest), whole(app, *rest))[1])
        await pilot.press(key)
        await pilot.pause(0.2)
        assert len(painted) == 1
    stage.store.close()


@pytest.mark.asyncio
async def test_keys_typed_ahead_of_a_sheet_decide_nothing(tmp_path) -> None:
    """A list is opened and a word of it typed in one burst: its "a" must not accept the fact under the cursor."""
    stage = filled(tmp_path)
    screen = ReviewScreen(reviewing(stage.store), words(), lambda _: "")
    async with Face(lambda: screen).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("down", "down")
        before = stage.store.entries(live_only=False)
        for key in "faxs":
            pilot.app.post_message(Key(key, key))
        await pilot.pause(0.5)
        assert isinstance(pilot.app.screen, Choosing)
        assert stage.store.entries(live_only=False) == before
        await pilot.press("escape")
        assert pilot.app.screen is screen
    stage.store.close()


@pytest.mark.asyncio
async def test_names_out_of_a_store_do_not_steer_the_terminal() -> None:
    class Hostile(PenScreen):
        def compose(self) -> ComposeResult:
            yield Lines(id="left")
            yield Page(id="detail")
            yield Static(Content("\x1b]52;c;eA\x07 Tansy"))

        def on_mount(self) -> None:
            self.query_one(Lines).show(["a"], lambda key: Line(key, (("\x1b[2JTansy\nSorrel", "plain"),)), 0)
            self.query_one(Page).show(Content("\x1b[2JTansy \u202e"))

    async with Face(Hostile).run_test(size=(80, SHOWN)) as pilot:
        await pilot.pause()
        await pilot.pause()
        for part in (Lines, Page, Static):
            widget = pilot.app.screen.query_one(part)
            drawn = "".join(strip.text for strip in widget.render_lines(widget.size.region))
            assert "Tansy" in drawn
            assert drawn.isprintable()


def test_the_first_paint_waits_for_nothing_that_it_does_not_show() -> None:
    """The frame is painted before the numbers, the store and the grammar are loaded: that halves the time to it."""
    probe = "import sys, assistant.screens.face; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert not {"numpy", "scipy", "onnxruntime", "sqlite3", "lark", "kaldifst"} & set(run.stdout.split())

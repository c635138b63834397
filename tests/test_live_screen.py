"""The live screen: views as they are drawn, keys, and a session that goes on in its own thread."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from textual.events import Key
from textual.pilot import Pilot
from textual.widgets import Input

from assistant.cli.screened import planned, typed
from assistant.errors import BadStore
from assistant.live.handling import Outcome
from assistant.live.herd import Herd
from assistant.screens.board import fitting, folded, meter
from assistant.screens.face import Face, Look
from assistant.screens.keys import key_name
from assistant.screens.letters import large
from assistant.screens.live_screen import LiveScreen, meant
from assistant.screens.live_view import Listening, LiveView, Spoken, live_view, said_in_words, spoken
from assistant.screens.palette import KEPT, SOUND
from assistant.screens.plan import drawn, in_words, plan
from assistant.screens.review_screen import ReviewScreen
from assistant.screens.session_link import Going, Link
from assistant.store.store import Store
from assistant.values import ActionPart, AnimalPart, FindingPart, FollowUpPart, Grade, MeasurePart, Part, Scope
from tests import screen_stage, session_stage
from tests.live_stage import ANIMALS, START, Stage, farm
from tests.screen_stage import filled, reads, reviewing

PARTS: tuple[Part, ...] = (
    FindingPart("left hind", "hollow wall", grade=Grade.SEVERE),
    ActionPart("left hind", "cut out"),
    FindingPart("left fore", "overgrown"),
    FindingPart("right hind", "sound"),
    FindingPart("right hind", "sound", "between the claws"),
    MeasurePart("condition", 2.5),
    FollowUpPart("re-check", 14),
    FindingPart("left teat", "split teat"),
)
VIEW = LiveView(
    who="Tansy",
    number="417",
    about="female goat · dairy",
    before=("Last trimmed twelve weeks ago.", "Left hind had a hollow wall."),
    plan=plan(PARTS, Scope(("left hind",))),
    spoken=(
        Spoken("✓", "tansy", "Tansy."),
        Spoken("!", "(no words)", "Not understood. Kept for later."),
        Spoken("?", "left hind crack", "Left hind or left fore?"),
    ),
    question="Left hind or left fore?",
    choices=("left hind crack", "left fore crack"),
    told="Left hind or left fore?",
    left=("Yarrow", "Campion", "Teasel", "Bryony"),
    n_left=5,
    n_done=3,
    hearing=Listening(("pocketsphinx", "phonemes"), -22.0),
)


class Said:
    """A session that only remembers what was typed."""

    def __init__(self, view: LiveView = VIEW) -> None:
        self.view, self.typed, self.is_ended = view, list[str](), False

    def begin(self, screen: LiveScreen) -> None:
        screen.post_message(LiveScreen.Changed(self.view))

    def type(self, text: str) -> None:
        self.typed.append(text)

    def end(self) -> None:
        self.is_ended = True


@asynccontextmanager
async def live(
    loop: Said | Link, look: Look | None = None, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Pilot[int]]:
    app = Face(lambda: LiveScreen(loop, ["hollow wall", "overgrown"]), look)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await pilot.pause()
        yield pilot


@pytest.mark.asyncio
async def test_what_is_typed_before_the_screen_is_up_is_taken_in_order() -> None:
    loop = Said()
    app = Face(lambda: LiveScreen(loop))
    for key in (*"tansy", "enter", *"417", "enter", "c"):
        app.post_message(Key(key, key if len(key) == 1 else None))
    async with app.run_test() as pilot:
        for _ in range(10):
            await pilot.pause()
        assert loop.typed == ["tansy", "417"]
        assert pilot.app.screen.query_one(Input).value == "c"


@pytest.mark.asyncio
async def test_keys_decide_nothing_before_what_they_decide_on_is_seen(tmp_path) -> None:
    stage = filled(tmp_path)
    app = Face(lambda: ReviewScreen(reviewing(stage.store), screen_stage.words(), lambda _: ""))
    for key in "ax":
        app.post_message(Key(key, key))
    before = stage.store.version("s1")
    async with app.run_test() as pilot:
        for _ in range(10):
            await pilot.pause()
        assert stage.store.version("s1") == before
        await pilot.press("x")
        assert stage.store.version("s1") > before
    stage.store.close()


def shown(pilot: Pilot[int], where: str) -> str:
    return reads(pilot, where)


# ------------------------------------------------------------------------------------------------------------ drawing


@pytest.mark.parametrize("size", [(76, 10), (76, 12), (80, 12), (120, 20), (200, 50)])
def test_the_plan_fills_its_room_and_no_more(size) -> None:
    lines = drawn(plan(PARTS, Scope(("left hind",))), *size).plain.split("\n")
    assert [len(line) for line in lines] == [size[0]] * size[1]
    text = "\n".join(lines)
    assert all(foot in text for foot in ("LEFT FORE", "RIGHT FORE", "LEFT HIND", "RIGHT HIND"))
    assert "hollow wall" in text
    assert "┏" in text, "the open foot has heavy lines, so that no colour is needed to see it"


def test_what_does_not_fit_is_counted() -> None:
    many = [FindingPart("left fore", finding) for finding in ("crack", "heat", "bleeding", "abscess", "swelling")]
    assert "and 4 more" in drawn(plan(many), 80, 10).plain


def test_the_plan_in_words_says_all_of_it() -> None:
    text = " ".join(in_words(plan(PARTS, Scope(("left hind",)))))
    for words in ("left hind (open): severe hollow wall, cut out.", "right fore: not mentioned.", "condition 2.5."):
        assert words in text


LETTERS = [
    ("417", 80, 3, 3),
    ("Tansy", 60, 3, 3),
    ("Tansy", 60, 8, 8),
    ("Séraphine", 120, 3, 3),
    ("Hedge-Woundwort of the Long Meadow", 80, 3, 0),
    ("山羊", 80, 3, 0),
    ("", 80, 3, 0),
    ("Tansy", 80, 2, 0),
]


@pytest.mark.parametrize(("text", "width", "height", "rows"), LETTERS)
def test_large_letters_fit_or_are_left_out(text, width, height, rows) -> None:
    lines = large(text, width, height)
    assert len(lines) == rows
    assert all(len(line) == len(lines[0]) <= width for line in lines)


@pytest.mark.parametrize(("level_db", "full"), [(-90, 0), (-60, 0), (-30, 5), (0, 10), (6, 10)])
def test_the_meter_fills(level_db, full) -> None:
    assert meter(level_db) == "▮" * full + "▯" * (10 - full)


def test_names_that_do_not_fit_are_left_out() -> None:
    assert fitting(("Yarrow", "Campion"), 15) == "Yarrow, Campion"
    assert fitting(("Yarrow", "Campion", "Teasel"), 18) == "Yarrow, Campion, …"
    assert fitting(("Yarrow",), 3) == ""


MEANT = [("1", "first"), ("2", "second"), ("3", "3"), ("y", "yes"), ("n", "no"), ("left fore", "left fore")]
MEANT += [("0", "0"), ("9" * 5000, "9" * 5000)]


@pytest.mark.parametrize(("typed", "expected"), MEANT)
def test_short_answers_to_an_open_question(typed, expected) -> None:
    assert meant(typed, VIEW) == expected
    assert meant(typed, replace(VIEW, question="")) == typed


# --------------------------------------------------------------------------------------------------------------- keys


@pytest.mark.asyncio
async def test_the_screen_shows_who_what_is_asked_and_who_is_left() -> None:
    async with live(Said()) as pilot:
        assert "█" in shown(pilot, "#name")
        assert "417 · female goat" in shown(pilot, "#about")
        assert "1 left hind crack   2 left fore crack" in shown(pilot, "#asked")
        assert "3 done, 5 left" in shown(pilot, "#standing")
        assert "pocketsphinx, phonemes" in shown(pilot, "#standing")
        assert "▮▮▮▮▮▮▯▯▯▯" in shown(pilot, "#standing")


@pytest.mark.asyncio
async def test_typing_answering_and_leaving() -> None:
    loop = Said()
    async with live(loop) as pilot:
        await pilot.press("2", "enter")
        await pilot.press(*"done", "enter")
        assert loop.typed == ["second", "done"]
        await pilot.press("up")
        assert pilot.app.screen.query_one(Input).value == "done"
        await pilot.press("escape")
        assert pilot.app.screen.query_one(Input).value == ""
        await pilot.press(*"hollow w", "right", "enter")
        assert loop.typed[-1] == "hollow wall"
        await pilot.press("ctrl+q")
        assert loop.is_ended


@pytest.mark.asyncio
async def test_the_level_moves_without_the_rest() -> None:
    async with live(Said()) as pilot:
        pilot.app.screen.post_message(LiveScreen.Levelled(-60.0))
        await pilot.pause()
        assert "▯" * 10 in shown(pilot, "#standing")


@pytest.mark.asyncio
async def test_far_reading_and_words() -> None:
    async with live(Said()) as pilot:
        await pilot.press("f2")
        await pilot.pause()
        assert shown(pilot, "#plan").count("█") > 80
        await pilot.press("f2", "f3")
        await pilot.pause()
        text = shown(pilot, "#plan")
        assert text.startswith("Tansy, 417, female goat · dairy.\nQuestion: Left hind or left fore?")
        assert "█" not in text


@pytest.mark.asyncio
@pytest.mark.parametrize("size", [(40, 12), (66, 20), (80, 24), (120, 40), (250, 70)])
async def test_every_size_shows_the_animal_and_the_question(size) -> None:
    long = replace(VIEW, who="Hedge-Woundwort of the Long Meadow Side")
    async with live(Said(long), size=size) as pilot:
        assert "Left hind or left fore?" in shown(pilot, "#asked")
        assert "Hedge-Woundwort" in shown(pilot, "#name")
        assert not pilot.app.screen.query_one("#plan").region.overlaps(pilot.app.screen.query_one("#asked").region)


@pytest.mark.parametrize(("planned", "n_left"), [(("a1", "a2"), 2), (("a2", "a3"), 2), (("a1",), 1)])
def test_the_animal_on_the_table_is_counted_as_left_only_if_it_is_planned(planned, n_left) -> None:
    stage = session_stage.Stage(planned=planned)
    stage.say(AnimalPart("Tansy"))
    view = live_view(stage.state, stage.herd, (), Listening(), stage.now)
    assert (view.who, view.n_left) == ("Tansy", n_left)
    assert any(line.startswith(f"0 done. {n_left} left") for line in said_in_words(view))


# ---------------------------------------------------------------------------------------------------- a whole session


def test_what_is_said_while_paused_is_kept_and_not_on_record(tmp_path: Path) -> None:
    stage = Stage(tmp_path)
    lines = ("tansy", "left hind crack", "pause", "right hind crack", "carry on", "right hind crack")
    marks = [spoken(stage.hear(line, second=[line])).mark for line in lines]
    assert marks == [SOUND, SOUND, SOUND, KEPT, SOUND, SOUND]
    assert len(stage.recorded("a1")) == 2


def going(stage: Stage, sounds: list[tuple[str, ...]]) -> Going:
    """The stage's session, in which these sentences are said one after the other: one reading a listener."""

    def outcomes() -> Iterator[Outcome]:
        for said in sounds:
            yield stage.hear(said[0], second=[said[-1]])

    world = Herd({animal.id: animal for animal in ANIMALS}, stage.store, "s1", farm().lameness)
    return Going(stage.handling, world, lambda: stage.now, ("listener 0", "listener 1"), outcomes())


async def until(pilot: Pilot[int], where: str, text: str) -> None:
    """Waits until something is shown."""
    for _ in range(200):
        if text in shown(pilot, where):
            return
        await pilot.pause(0.02)
    raise AssertionError(f"{text!r} is not in {shown(pilot, where)!r}")


@pytest.mark.asyncio
async def test_a_session_is_heard_asked_answered_and_kept(tmp_path: Path) -> None:
    farm().interpreter.typed("left hind crack")

    @contextmanager
    def opened() -> Iterator[Going]:
        stage = Stage(tmp_path)
        yield going(stage, [("tansy",), ("left hind crack", "left fore crack"), ("right hind fine",)])
        stage.store.close()

    link = Link(opened)
    async with live(link) as pilot:
        await until(pilot, "#asked", "Left hind or left fore?")
        await pilot.press("2", "enter")
        await until(pilot, "#plan", "crack")
        await until(pilot, "#plan", "sound")
        await pilot.press(*"condition three", "enter")
        await until(pilot, "#plan", "condition 3")
        await pilot.press("ctrl+q")
    assert link.trouble is None
    with Store.open(tmp_path / "herd.db") as store:
        said = [entry.part for entry in store.entries("s1", "a1")]
        (info,) = store.sessions()
    assert said == [
        FindingPart("left fore", "crack"),
        FindingPart("right hind", "sound"),
        MeasurePart("condition", 3.0),
    ]
    assert info.ended == START + timedelta(seconds=15)


@pytest.mark.asyncio
async def test_a_list_behind_an_answer_is_shown_until_the_next_remark(tmp_path: Path) -> None:
    @contextmanager
    def opened() -> Iterator[Going]:
        stage = Stage(tmp_path)
        yield replace(going(stage, []), opening=("One listener is missing.", "Tansy and Teasel: one sound apart."))
        stage.store.close()

    async with live(Link(opened)) as pilot:
        await until(pilot, "#plan", "One listener is missing.\n Tansy and Teasel: one sound apart.")
        await pilot.press(*"tansy", "enter")
        await until(pilot, "#plan", "LEFT FORE")
        await pilot.press(*"check her today", "enter", *"who is due", "enter")
        await until(pilot, "#plan", "Tansy, re-check")
        await pilot.press("f2")
        await until(pilot, "#plan", "Tansy, re-check")
        await pilot.press("f2", "f3")
        await until(pilot, "#plan", "Told:")
        assert "Tansy, re-check" in shown(pilot, "#plan")
        await pilot.press("f3", "escape")
        await until(pilot, "#plan", "LEFT FORE")
        await pilot.press("ctrl+q")


FOLDED = [
    (["one", "two"], (80, 10), ("one", "two")),
    (["one", "two", "three"], (80, 2), ("one     three", "two")),
    (["one", "two", "three"], (6, 2), ("one", "two", "three")),
    ([str(n) for n in range(7)], (9, 3), ("0   3   6", "1   4", "2   5")),
    ([str(n) for n in range(7)], (5, 3), ("0   4", "1   5", "2   6", "3")),
]


@pytest.mark.parametrize(("lines", "size", "expected"), FOLDED)
def test_a_list_is_folded_into_columns_where_there_is_room(lines, size, expected) -> None:
    assert folded(lines, *size) == expected


@pytest.mark.asyncio
async def test_why_a_session_cannot_go_on_is_said() -> None:
    @contextmanager
    def opened() -> Iterator[Going]:
        raise BadStore("The disk is full.")
        yield

    link = Link(opened)
    async with live(link) as pilot:
        await until(pilot, "#asked", "The disk is full.")
        assert "over" in shown(pilot, "#standing")
    assert str(link.trouble) == "The disk is full."


@pytest.mark.asyncio
async def test_a_fault_of_the_program_does_not_end_in_silence() -> None:
    @contextmanager
    def opened() -> Iterator[Going]:
        raise RuntimeError("something nobody thought of")
        yield

    link = Link(opened)
    async with live(link) as pilot:
        await until(pilot, "#asked", "by a fault of the program")


KEYS = [("f1", "F1"), ("ctrl+q", "Ctrl+Q"), ("u,ctrl+z", "u or Ctrl+Z"), ("question_mark", "?"), ("space", "Space")]


@pytest.mark.parametrize(("key", "name"), KEYS)
def test_keys_are_called_as_they_stand_on_a_keyboard(key, name) -> None:
    assert key_name(key) == name


def test_the_screen_knows_of_coming_days_what_the_session_knows(tmp_path: Path) -> None:
    """Cautions of births and medicines come from there: they must stand on the screen as well as be spoken."""
    with Store.open(tmp_path / "herd.db") as store:
        store.save_animals(ANIMALS, START)
    with typed(planned(tmp_path / "herd.db", None, None, "typed"))() as going:
        assert going.world.answer("births", "", "", START.date()) is not None

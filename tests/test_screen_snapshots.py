"""Each screen as it is drawn at 80×24 and 120×40, compared with the picture kept beside this file.

After a wanted change: `pytest tests/test_screen_snapshots.py --snapshot-update`, and look at the pictures.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from assistant.cli.look_back_face import look_back_screen
from assistant.cli.register_face import register_screen
from assistant.live.herd import Herd
from assistant.records.looking_back import Replay
from assistant.screens.face import Face, Look
from assistant.screens.live_screen import LiveScreen
from assistant.screens.live_view import LiveView
from assistant.screens.look_back_screen import LookBackScreen
from assistant.screens.replay_screen import ReplayScreen
from assistant.screens.review_screen import ReviewScreen
from assistant.settings import places
from assistant.store.store import Store
from tests.live_stage import ANIMALS, farm
from tests.screen_stage import NOW, filled, reviewing, words
from tests.test_live_screen import VIEW, Said

SIZES = [(80, 24), (120, 40)]


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a session, made once."""
    folder = tmp_path_factory.mktemp("kept") / "herd"
    filled(folder).store.close()
    return folder


@pytest.fixture
def store(kept: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(kept, tmp_path / "herd")
    with Store.open(tmp_path / "herd" / "herd.db") as held:
        yield held


def back(store: Store) -> LookBackScreen:
    screen = look_back_screen(store, places(store.path), store.sessions()[0])
    screen.past.today = NOW.date()
    return screen


def replay(store: Store) -> ReplayScreen:
    world = Herd({animal.id: animal for animal in ANIMALS}, store, "s1", farm().lameness)
    return ReplayScreen(Replay(store.events("s1"), world), store.sound, lambda _: "")


def live(view: LiveView = VIEW) -> LiveScreen:
    return LiveScreen(Said(view))


def reviewed(store: Store) -> ReviewScreen:
    return ReviewScreen(reviewing(store), words(), lambda _: "")


LISTED = tuple(f"{name}: re-check, due 9 June" for name in ("Tansy", "Sorrel", "Yarrow", "Campion", "Teasel"))

CASES = {
    "live_asking": (lambda _: live(), (), Look()),
    "live_nobody": (lambda _: live(LiveView(left=("Tansy", "Sorrel"), n_left=2, told="Name an animal.")), (), Look()),
    "live_far": (lambda _: live(), (), Look("dark", is_far=True)),
    "live_in_words": (lambda _: live(), (), Look("plain", in_words=True)),
    "live_light": (lambda _: live(), (), Look("light")),
    "live_list": (lambda _: live(replace(VIEW, listed=LISTED, question="", told="Five are due.")), (), Look()),
    "review_to_decide": (reviewed, (), Look()),
    "review_history": (reviewed, ("down", "down", "x", "u"), Look()),
    "review_place": (reviewed, ("down", "down", "p"), Look()),
    "review_keys": (reviewed, ("f1",), Look()),
    "look_back_session": (back, (), Look()),
    "look_back_card": (back, ("down", "enter"), Look()),
    "look_back_due": (back, ("d",), Look()),
    "look_back_charts": (back, ("c",), Look()),
    "replay": (replay, ("right", "right", "right"), Look()),
    "replay_far": (replay, ("right", "right", "right", "f2"), Look()),
    "register": (register_screen, (), Look()),
    "register_add": (register_screen, ("n",), Look()),
}


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", CASES)
def test_the_screen_is_drawn_as_before(name, size, store, snap_compare) -> None:
    make, keys, look = CASES[name]

    async def pressed(pilot: Pilot[int]) -> None:
        for key in ("", *keys):
            if key:
                await pilot.press(key)
            for _ in range(4):
                await pilot.pause(0.02)
        for field in pilot.app.screen.query(Input):
            field.cursor_blink = False
        await pilot.pause()

    assert snap_compare(Face(lambda: make(store), look), run_before=pressed, terminal_size=size)

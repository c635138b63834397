"""The live loop behind the live screen: what happens comes out as views, what is typed goes in, leaving ends it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from loop_stage import LiveStage

from assistant.errors import BadDevice, BadStore
from assistant.live.herd import Herd
from assistant.screens.live_screen import LiveScreen
from assistant.screens.live_view import LiveView
from assistant.screens.loop_link import Begun, LoopLink
from assistant.screens.palette import SO_FAR
from assistant.sound.level import DEAD
from assistant.values import FindingPart


class Posted:
    """Stands in for the screen: remembers what is sent to it."""

    def __init__(self) -> None:
        self.messages: list[object] = []

    def post_message(self, message: object) -> None:
        self.messages.append(message)

    @property
    def views(self) -> list[LiveView]:
        return [one.view for one in self.messages if isinstance(one, LiveScreen.Changed)]

    def shows(self, wanted: Callable[[LiveView], bool]) -> bool:
        """Whether such a view comes within a few seconds."""
        ends = time.monotonic() + 10
        while time.monotonic() < ends:
            if any(wanted(view) for view in list(self.views)):
                return True
            time.sleep(0.01)
        return False


def link_of(folder: Path, script: Callable[[LiveStage], None]) -> tuple[LoopLink, list]:
    """A link whose session follows a script; its entries are noted when it is over."""
    recorded: list = []

    @contextmanager
    def opened() -> Iterator[Begun]:
        stage = LiveStage(folder)
        script(stage)
        herd = Herd({animal.id: animal for animal in stage.store.animals()}, stage.store, "s1", {})
        yield Begun(stage.session_parts, herd, ("These sound alike; say name and number:",))
        recorded.extend(stage.recorded("a1"))
        stage.store.close()

    return LoopLink(opened), recorded


def endless(stage: LiveStage) -> None:
    """Silence goes on until the session is ended."""
    stage.source.steps += [(10_000.0, 0.0)]


def test_what_is_said_and_typed_is_shown(tmp_path) -> None:
    def script(stage: LiveStage) -> None:
        stage.source.steps += stage.says("tansy")
        endless(stage)

    link, recorded = link_of(tmp_path / "live", script)
    screen = Posted()
    link.begin(screen)
    assert screen.shows(lambda view: view.who == "Tansy" and view.hearing.names == ("one", "two"))
    alike = [view.listed for view in screen.views if view.listed]
    assert alike[0] == ("These sound alike; say name and number:",)
    assert screen.views[-1].listed == (), "the first remark makes room for the plan"
    link.type("left hind crack")
    assert screen.shows(lambda view: any(one.words == "left hind crack" for one in view.spoken))
    link.end()
    assert recorded == [FindingPart("left hind", "crack")]
    assert screen.views[-1].is_over
    assert link.trouble is None


def test_what_is_heard_so_far_is_shown_until_it_is_recorded(tmp_path) -> None:
    def script(stage: LiveStage) -> None:
        stage.source.steps += [*stage.says("tansy"), *stage.says("left hind crack")]
        endless(stage)

    link, _ = link_of(tmp_path / "live", script)
    screen = Posted()
    link.begin(screen)
    assert screen.shows(lambda view: len(view.spoken) == 2 and not view.spoken[-1].came)
    link.end()
    before = next(view for view in screen.views if view.spoken and view.spoken[-1].words == "left hind crack")
    assert (before.spoken[-1].mark, before.spoken[-1].came) == (SO_FAR, "heard so far")
    assert before.told == "… left hind crack"
    assert not any(foot.lines for foot in before.plan.feet), "nothing of it is recorded"
    after = screen.views[-1].spoken
    assert [one.words for one in after if one.mark == SO_FAR] == []


def test_what_is_typed_before_the_session_is_there_is_not_lost(tmp_path) -> None:
    link, recorded = link_of(tmp_path / "live", endless)
    screen = Posted()
    link.type("tansy")
    link.begin(screen)
    assert screen.shows(lambda view: view.who == "Tansy")
    link.end()
    assert recorded == []


def test_the_level_moves_without_a_new_view_and_a_warning_comes_and_goes(tmp_path) -> None:
    def script(stage: LiveStage) -> None:
        stage.source.steps += [(5.0, 0.0), (10_000.0, 0.0004)]

    link, _ = link_of(tmp_path / "live", script)
    screen = Posted()
    link.begin(screen)
    assert screen.shows(lambda view: view.hearing.note == DEAD)
    assert screen.shows(lambda view: view.hearing.level_db and view.hearing.level_db > -70 and not view.hearing.note)
    link.end()
    n_levels = sum(isinstance(one, LiveScreen.Levelled) for one in screen.messages)
    assert n_levels > len(screen.views)


@pytest.mark.parametrize("error", [BadDevice("There is no microphone."), BadStore("The disk is full.")])
def test_a_session_that_cannot_begin_is_told(error) -> None:
    @contextmanager
    def opened() -> Iterator[Begun]:
        raise error
        yield

    link, screen = LoopLink(opened), Posted()
    link.begin(screen)
    link.end()
    assert link.trouble is error
    assert [one.why for one in screen.messages if isinstance(one, LiveScreen.Failed)] == [str(error)]

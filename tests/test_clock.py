"""A clock that is set back or forward, in a session and between two: order, duration and days stay what they were."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from live_stage import START, farm
from loop_stage import LiveStage
from screen_stage import NOW, filled, reviewing
from test_live_loop import silence

from assistant.cli.main import ExitStatus, run
from assistant.cli.review_lines import ReviewLines
from assistant.live import recorded
from assistant.records.reviewing import Reviewing
from assistant.session.finish import progress
from assistant.steady_clock import SteadyClock, steady_s
from assistant.store.claim import Claims
from assistant.store.store import Store
from assistant.values import Entry, FindingPart

ROOT = Path(__file__).parent.parent
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


class WallClock(type):
    """The time of day as the machine shows it; may be set."""

    shown = START

    def __instancecheck__(cls, value: object) -> bool:
        return isinstance(value, datetime)


class SetDatetime(datetime, metaclass=WallClock):
    """`datetime`, of which `now` shows what was set."""

    @classmethod
    def now(cls, tz: timezone | None = None) -> datetime:
        return WallClock.shown


@pytest.fixture
def set_clock(monkeypatch) -> Callable[[timedelta], Callable[[], None]]:
    """All but the core, which has no clock, sees one that the test sets; gives a step that sets it by so much."""
    monkeypatch.setattr(WallClock, "shown", START)
    for name, module in list(sys.modules.items()):
        is_core = name.startswith(("assistant.session", "assistant.values"))
        if name.startswith("assistant.") and not is_core and getattr(module, "datetime", None) is datetime:
            monkeypatch.setattr(module, "datetime", SetDatetime)

    def by(jump: timedelta) -> Callable[[], None]:
        def jumped() -> None:
            WallClock.shown += jump

        return jumped

    return by


def handled(stage: LiveStage, first: Callable[[], None], second: Callable[[], None]) -> dict[str, object]:
    """A session in which the clock is set twice; what it came to, but for ids."""
    stage.run(
        stage.says("tansy"),
        stage.says("left hind crack"),
        first,
        stage.says("check her in two weeks"),
        stage.says("next"),
        stage.says("sorrel"),
        stage.says("right hind overgrown"),
        second,
        stage.says("next"),
        stage.says("yarrow"),
        stage.says("left fore abscess", second=["right fore abscess"]),
        silence(12),
        stage.says("both hinds fine"),
        stage.says("next"),
        stage.says("finish"),
    )
    state, store = stage.handling.state, stage.store
    (info,) = store.sessions()
    return {
        "times": [outcome.remark.time - START for outcome in stage.outcomes],
        "entries": [(entry.animal, entry.part, entry.time) for entry in store.entries("s1")],
        "lasted": info.ended - info.started,
        "minutes for each": progress(state).each_min,
        "due": [(one.animal, one.said, one.due) for one in store.follow_ups()],
        "review": len(state.review),
        "pending": store.pending(),
        "types": [event["type"] for event in store.events("s1")],
    }


@pytest.mark.parametrize(("first", "second"), [(-HOUR, DAY), (DAY, -HOUR), (-30 * DAY, timedelta())])
def test_a_clock_that_is_set_in_a_session_changes_nothing_of_it(tmp_path, set_clock, first, second) -> None:
    left_alone = handled(LiveStage(tmp_path / "one"), lambda: None, lambda: None)
    came = handled(LiveStage(tmp_path / "other"), set_clock(first), set_clock(second))
    assert came == left_alone
    assert came["times"] == sorted(came["times"])
    assert timedelta() < came["lasted"] < timedelta(minutes=1)
    assert 0 < came["minutes for each"] < 1
    assert came["due"] == [("a1", START.date(), START.date() + timedelta(days=14))]
    assert came["review"]
    assert came["pending"] == ()


@pytest.mark.parametrize("jump", [-DAY, DAY])
def test_what_another_session_left_is_finished_in_order_whatever_the_clock_shows(tmp_path, jump) -> None:
    """Neither the order nor whose it is goes by time: only by what was kept first, and by a lock of the system."""
    stage = LiveStage(tmp_path / "live")
    stage.hear("tansy")
    for said in ("left hind crack", "right hind overgrown"):
        stage.now += timedelta(seconds=3)
        stage.handling.keep(stage.sound([said]), stage.now)
    stage.now += jump
    stage.session("s2")
    stage.handling.keep(stage.sound(["sorrel"]), stage.now)
    other = Claims(stage.store.path)
    assert other.claim("s2")
    taken = [item.take(stage.judge(item.sound)) for item in recorded.unfinished(stage.store, farm())]
    assert [outcome.remark.words for outcome in taken] == ["left hind crack", "right hind overgrown"]
    assert [one.session for one in stage.store.pending()] == ["s2"], "the other program has it"
    other.release()
    [item.take(stage.judge(item.sound)) for item in recorded.unfinished(stage.store, farm())]
    assert stage.store.pending() == ()
    assert len(stage.recorded("a1", "s1")) == 2
    assert stage.store.check() == ()


def test_a_review_changes_and_takes_back_in_order_whatever_the_clock_shows(tmp_path) -> None:
    """Facts keep the moment at which they were said, and what was decided last is undone first."""
    stage = filled(tmp_path)
    before = {entry.time for entry in stage.store.entries("s1")}
    for jump, found in ((DAY, "crack"), (-HOUR, "scald"), (timedelta(), "abscess")):
        sitting = reviewing(stage.store)
        sitting = Reviewing(stage.store, sitting.info, replace(sitting.holding, now=lambda by=jump: NOW + by))
        assert ReviewLines(sitting).carry_out(f"right 3 right hind {found}") == "Changed."
    for found in ("abscess", "scald", "crack"):
        assert FindingPart("right hind", found) in stage.recorded("a1")
        assert ReviewLines(sitting).carry_out("undo").startswith("Undone: changed")
    assert {entry.time for entry in stage.store.entries("s1")} == before
    assert stage.store.check() == ()


def test_the_moments_of_a_session_go_by_a_clock_that_nobody_sets() -> None:
    now_s = iter((100.0, 100.4, 161.9, 86500.0))
    clock = SteadyClock(START, lambda: next(now_s))
    assert [clock() - START for _ in range(3)] == [timedelta(), timedelta(seconds=61), timedelta(days=1)]
    before_s = steady_s()
    assert before_s <= steady_s() < before_s + 60


# ---------------------------------------------------------------------------------- a process whose clock is set


def faketime() -> str:
    """The library that gives a process another clock (package faketime of Debian); empty where it is missing."""
    found = [*Path("/usr/lib").glob("*/faketime/libfaketime.so.1"), *Path("/usr/lib/faketime").glob("libfaketime.so.1")]
    return str(found[0]) if found else ""


class Typing:
    """A program in which a session is typed, and whose clock can be set meanwhile.

    Args:
        store: of the holding.
        clock: a file for what the clock shows, in offsets that libfaketime reads.
        offset: from the true time, as "-1d".
    """

    def __init__(self, store: Path, clock: Path, offset: str) -> None:
        self._clock = clock
        self.set_clock(offset)
        its = {"TIMESTAMP_FILE": str(clock), "NO_CACHE": "1", "DONT_FAKE_MONOTONIC": "1"}
        self._program = subprocess.Popen(
            [sys.executable, "-u", "-m", "assistant", "--store", str(store), "type", "--text"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env={
                **os.environ,
                "LD_PRELOAD": faketime(),
                "TZ": "UTC",
                **{f"FAKETIME_{key}": value for key, value in its.items()},
            },
        )

    def set_clock(self, offset: str) -> None:
        """Another offset from the true time, at once."""
        self._clock.write_text(offset, encoding="ascii")

    def type(self, line: str) -> str:
        """Types a line; gives the first line of the answer."""
        self._program.stdin.write(f"{line}\n")
        self._program.stdin.flush()
        return self._program.stdout.readline()

    def ended(self) -> str:
        """Ends the session; gives what was said aside."""
        _, aside = self._program.communicate(timeout=60)
        assert self._program.returncode == 0, aside
        return aside


@pytest.mark.skipif(not faketime(), reason="needs libfaketime, in Debian's package faketime")
def test_a_process_whose_clock_is_set_in_a_session_and_between_two(tmp_path: Path) -> None:
    store, clock = tmp_path / "herd.db", tmp_path / "clock"
    register = ROOT / "demo_audio" / "register.csv"
    assert run(["--store", str(store), "register", "import", str(register)]) == ExitStatus.OK
    first = Typing(store, clock, "+0d")
    first.type("tansy")
    first.type("left hind crack")
    first.set_clock("-1h")
    first.type("check her in two weeks")
    first.set_clock("+1d")
    first.type("right hind overgrown")
    first.type("finish")
    assert "The clock shows" not in first.ended()
    second = Typing(store, clock, "-1h")
    assert "Sorrel." in second.type("sorrel")
    second.type("left hind crack")
    assert "The clock shows" in second.ended(), "a session that begins before the last one is told so"
    third = Typing(store, clock, "+1d")
    third.type("tansy")
    assert "The clock shows" not in third.ended()
    with Store.open(store) as held:
        infos = held.sessions()
        entries: list[Entry] = list(held.entries(infos[0].id))
        assert [entry.time for entry in entries] == sorted(entry.time for entry in entries)
        assert all(timedelta() <= info.ended - info.started < timedelta(minutes=2) for info in infos)
        today: date = infos[0].started.date()
        assert [(one.said, one.due) for one in held.follow_ups()] == [(today, today + timedelta(days=14))]
        begun = [info.started for info in infos]
        assert begun[1] < begun[0] < begun[2], "the clock was set as was meant"
        assert held.check() == ()

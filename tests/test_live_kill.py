"""A live session that is killed at any moment loses nothing that was said: the next start finishes it.

The whole path is real but for the device and the recognisers: endpointing, the sound on the disk, the loop, the
dialogue, the store, and taking up what was left. The kill is SIGKILL.
"""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from live_stage import ANIMALS, START, ScriptedListener, farm
from loop_stage import ScriptedPool, ScriptedSource, detector
from test_store_kill import Deed, Tell, in_other_process, killed_after

from assistant.listening.ears import Ears
from assistant.live.happening import Came, Happening, Kept
from assistant.live.loop import LiveLoop
from assistant.live.parts import LiveSession
from assistant.live.recorded import unfinished
from assistant.sound.endpoint import Endpoint
from assistant.store.claim import claims
from assistant.store.store import Store
from assistant.values import FindingPart, SessionInfo

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")

LONGEST_RUN_S = 0.25
FEET = ("left fore", "right fore", "left hind", "right hind")
FACTS = [(foot, finding) for finding in ("crack", "overgrown", "abscess", "hollow wall", "scald") for foot in FEET]
LINES = ["tansy", *(f"{foot} {finding}" for foot, finding in FACTS)]


def judge() -> Callable:
    """Two listeners that tell the lines apart by their loudness."""
    script = {101 + n: [line] for n, line in enumerate(LINES)}
    ears = Ears([ScriptedListener(name, script) for name in ("one", "two")])
    return lambda sound: ears.judge(sound, farm().interpreter.key)


def loop(store: Store, key: str, lines: range, tell: Callable[[Happening], None]) -> LiveLoop:
    """A session in which these lines are said one after the other, after what was left is finished."""
    source = ScriptedSource(is_live=False)
    for n in lines:
        source.steps += [(0.5, (101 + n) / 1000), (0.9, 0.0)]
    handling = farm().handling(store, key, None)
    handling.begin(SessionInfo(key, START, planned=("a1",), source="test"))
    pool = ScriptedPool(judge())
    parts = LiveSession(
        handling,
        START,
        source,
        pool,
        unfinished=unfinished(store, farm()),
        endpoint=Endpoint(detector=detector),
    )
    return LiveLoop(parts, tell)


def session_in_other_process(path: Path, key: str) -> Deed:
    """Says what was kept, and what was understood, once each has happened."""

    def deed(tell: Tell) -> None:
        def happened(what: Happening) -> None:
            if isinstance(what, Kept):
                tell("kept")
            elif isinstance(what, Came) and not what.is_old:
                tell(f"came {what.outcome.remark.id}")

        with Store.open(path) as store, claims(path) as own:
            own.claim(key)
            session = loop(store, key, range(len(LINES)), happened)
            tell("begun")
            session.run()

    return deed


@pytest.mark.parametrize(("n_kills", "seed"), [(12, 3), pytest.param(1000, 4, marks=pytest.mark.slow)])
def test_no_remark_is_lost_or_doubled_over_kills_at_random_moments(tmp_path: Path, n_kills: int, seed: int) -> None:
    """After each kill another session starts, finishes what was left, and every fact stands once and in order."""
    path = tmp_path / "herd.db"
    farm().interpreter  # noqa: B018 - made once, before processes are made from this one
    with Store.open(path) as store:
        store.save_animals(ANIMALS, START)
    moments = random.Random(seed)
    n_left = n_understood = 0
    for kill in range(n_kills):
        key = f"s{kill}"
        told = killed_after(moments.uniform(0, LONGEST_RUN_S), session_in_other_process(path, key))
        assert not [line for line in told if line[0] == "failed"], told
        n_kept = sum(line[0] == "kept" for line in told)
        came = [line[1] for line in told if line[0] == "came"]
        with Store.open(path) as store:
            n_left += len(store.pending())
            loop(store, f"after {kill}", range(0), lambda _: None).run()
            assert store.pending() == ()
            remarks = [remark.id for remark in store.remarks(key)]
            facts = [(entry.part.place, entry.part.finding) for entry in store.entries(key, live_only=False)]
        assert len(remarks) == len(set(remarks))
        assert n_kept <= len(remarks) <= n_kept + 1, "all that was kept is there, and the one at hand at most"
        assert set(came) <= set(remarks)
        assert facts == FACTS[: max(0, len(remarks) - 1)], "every fact once, in the order in which it was said"
        n_understood += len(came)
    assert n_understood + n_left > 0, "the kills hit a session at work"
    # Between keeping and understanding there are a few milliseconds; twelve kills may all miss them.
    assert n_left > 0 or n_kills < 100, "and some hit it between keeping and understanding"
    with Store.open(path) as store:
        assert store.check() == ()


def test_two_live_sessions_on_one_store_record_all(tmp_path: Path) -> None:
    """As when two keepers trim in two pens; neither finishes what the other is just understanding."""
    path = tmp_path / "herd.db"
    farm().interpreter  # noqa: B018 - made once, before processes are made from this one
    with Store.open(path) as store:
        store.save_animals(ANIMALS, START)
    started = [in_other_process(session_in_other_process(path, key)) for key in ("s1", "s2")]
    told = ""
    for child, reading in started:
        with os.fdopen(reading) as pipe:
            told += pipe.read()
        os.waitpid(child, 0)
    assert "failed" not in told, told
    with Store.open(path) as store:
        assert store.pending() == ()
        for key in ("s1", "s2"):
            assert [entry.part for entry in store.entries(key)] == [FindingPart(foot, what) for foot, what in FACTS]

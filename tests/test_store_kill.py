"""Nothing that was acknowledged is lost: the recording program is killed at random moments, and two may run at once.

The kill is SIGKILL: the process ends between two instructions and the system keeps running. That a power cut loses
nothing either rests on the sync of every file, folder and commit, which a test on a running system cannot show.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from store_stage import HOLLOW, START, entry, made, session_info, tone

from assistant.errors import BadStore
from assistant.store.store import Store
from assistant.values import Entry, Remark, State

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")

LONGEST_RUN_S = 0.12

Tell = Callable[[str], None]
Deed = Callable[[Tell], None]


def in_other_process(deed: Deed) -> tuple[int, int]:
    """Runs `deed` in a process of its own; gives its id and the pipe on which it tells lines, each in one piece."""
    reading, writing = os.pipe()

    def tell(line: str) -> None:
        os.write(writing, f"{line}\n".encode())

    child = os.fork()
    if child == 0:  # pragma: no cover - the other process
        os.close(reading)
        try:
            deed(tell)
        except Exception as error:  # noqa: BLE001 - told to the test
            os.write(writing, f"failed {error}\n".encode())
        finally:
            os._exit(0)
    os.close(writing)
    return child, reading


def record_for_ever(path: Path, session: str) -> Deed:
    """Keeps sounds and settles them; says so only after each call has returned. Every third stays pending."""

    def deed(tell: Tell) -> None:
        with Store.open(path) as store:
            version = store.begin(session_info(session))
            tell("begun")
            for n in range(10_000):
                remark = store.keep_sound(session, tone(0.1, seed=n), START)
                tell(f"kept {remark} {n}")
                if n % 3:
                    fact = Entry(f"e-{remark}", "a1", HOLLOW, State.HEARD, remark, session, START)
                    said = Remark(remark, session, START, "left hind hollow wall")
                    version = store.settle(said, [made(fact)], version)
                    tell(f"settled {remark} {version}")

    return deed


def killed_after(delay_s: float, deed: Deed) -> list[list[str]]:
    """Runs `deed`, kills it `delay_s` after its first line, and gives what it had told."""
    child, reading = in_other_process(deed)
    told = os.read(reading, 65536)
    time.sleep(delay_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while more := os.read(reading, 65536):
        told += more
    os.close(reading)
    return [line.split() for line in told.decode().splitlines()]


def prove_nothing_lost(store: Store, session: str, told: list[list[str]]) -> None:
    kept = {line[1]: int(line[2]) for line in told if line[0] == "kept"}
    settled = {line[1]: int(line[2]) for line in told if line[0] == "settled"}
    assert not [line for line in told if line[0] == "failed"]
    remarks = [remark.id for remark in store.remarks(session)]
    pending = [sound.remark for sound in store.pending() if sound.session == session]
    entries = [fact.remark for fact in store.entries(session, live_only=False)]
    assert len(remarks) == len(set(remarks)), "no remark is doubled"
    assert len(entries) == len(set(entries)), "no entry is doubled"
    assert set(kept) <= set(remarks), "every acknowledged sound is a remark"
    assert set(settled) <= set(remarks) - set(pending), "every acknowledged understanding ended the wait"
    assert set(entries) == set(remarks) - set(pending), "a remark is settled with its entry or not at all"
    assert len(remarks) <= len(kept) + 1, "at most the one at hand was not acknowledged yet"
    assert store.version(session) == len(list(store.events(session))) >= max(settled.values(), default=1)
    for remark, n in kept.items():
        assert np.abs(store.sound(remark).samples - tone(0.1, seed=n).samples).max() < 1 / 32768 + 1e-6


@pytest.mark.parametrize(("n_kills", "seed"), [(20, 1), pytest.param(1000, 2, marks=pytest.mark.slow)])
def test_no_acknowledged_remark_is_lost_or_doubled_over_kills_at_random_moments(
    tmp_path: Path, n_kills: int, seed: int
) -> None:
    """One store lives through all kills; each time it opens, what was acknowledged is there, and recovery goes on."""
    path = tmp_path / "herd.db"
    moments = random.Random(seed)
    n_kept = 0
    for kill in range(n_kills):
        session = f"s{kill}"
        told = killed_after(moments.uniform(0, LONGEST_RUN_S), record_for_ever(path, session))
        n_kept += sum(line[0] == "kept" for line in told)
        with Store.open(path) as store:
            prove_nothing_lost(store, session, told)
            for sound in store.pending():
                fact = entry(f"late-{sound.remark}", session=session)
                store.settle(Remark(sound.remark, session, sound.time, "understood later"), [made(fact)])
            assert store.pending() == ()
    assert n_kept > n_kills, "the kills hit a program at work"
    with Store.open(path) as store:
        assert store.check() == ()


def test_a_kill_between_sound_and_record_costs_nothing(tmp_path: Path) -> None:
    """The narrowest place: the file has its name, the record is not made. The next opening makes it."""

    def deed(tell: Tell) -> None:
        from assistant.store import keeping

        keeping._record = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
        with Store.open(tmp_path / "herd.db") as store:
            tell("open")
            store.keep_sound("s1", tone(0.1, seed=7, start_s=2.5), START, "Rowan")

    child, reading = in_other_process(deed)
    _, status = os.waitpid(child, 0)
    os.close(reading)
    assert os.WIFSIGNALED(status)
    for _ in range(2):
        with Store.open(tmp_path / "herd.db") as store:
            (sound,) = store.pending()
            assert (sound.session, sound.time, sound.by, sound.start_s) == ("s1", START, "Rowan", 2.5)
            assert len(store.sound(sound.remark).samples) == 1600
            assert store.check() == ()


def test_two_programs_on_one_store(tmp_path: Path) -> None:
    """Sessions of their own: both record all. The same session: one of them is told, nothing is mixed up."""
    path = tmp_path / "herd.db"
    n_events = 40

    def record(session: str, begins: bool) -> Deed:
        def deed(tell: Tell) -> None:
            with Store.open(path) as store:
                at = store.begin(session_info(session)) if begins else 1
                try:
                    for n in range(n_events):
                        at = store.append(session, at, [made(entry(f"{os.getpid()}-{n}", session=session))])
                except BadStore as error:
                    tell(f"refused {error}")
                tell(f"reached {at}")

        return deed

    def told_by(*deeds: Deed) -> str:
        started = [in_other_process(deed) for deed in deeds]
        told = ""
        for child, reading in started:
            os.waitpid(child, 0)
            with os.fdopen(reading) as pipe:
                told += pipe.read()
        return told

    told = told_by(record("s1", True), record("s2", True))
    assert told.count(f"reached {n_events + 1}") == 2, told
    assert "refused" not in told
    with Store.open(path) as store:
        store.begin(session_info("s3"))
    told = told_by(record("s3", False), record("s3", False))
    assert told.count("another program is recording it too") == 1, told
    assert told.count(f"reached {n_events + 1}") == 1, told
    with Store.open(path) as store:
        assert [len(store.entries(session)) for session in ("s1", "s2", "s3")] == [n_events] * 3
        assert store.check() == ()


def test_several_programs_make_the_same_store_at_once(tmp_path: Path) -> None:
    """Whoever comes first makes it, the others find it; each keeps its sound and its session."""

    def record(path: Path, session: str) -> Deed:
        def deed(tell: Tell) -> None:
            with Store.open(path) as store:
                store.begin(session_info(session))
                tell(store.keep_sound(session, tone(0.05), START))

        return deed

    for n in range(3):
        path = tmp_path / f"new{n}" / "herd.db"
        started = [in_other_process(record(path, f"s{k}")) for k in range(5)]
        told = []
        for child, reading in started:
            os.waitpid(child, 0)
            with os.fdopen(reading) as pipe:
                told.append(pipe.read().strip())
        with Store.open(path) as store:
            assert {sound.remark for sound in store.pending()} == set(told)
            assert len(store.sessions()) == 5
            assert store.check() == ()

"""Kept sounds heard again by the commands: nothing new where nothing is new, and the holding's own test set."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest
from heard_stage import HOW, demonstration_store

from assistant.cli.main import ExitStatus, run
from assistant.session import deciding
from assistant.session.events import flat_event
from assistant.session.review import Review, Stamp
from assistant.store.store import Store


@pytest.fixture(scope="module")
def store(tmp_path_factory) -> Path:
    """A store with half a minute of the demonstration."""
    return demonstration_store(tmp_path_factory.mktemp("again"), 30)


def test_the_same_listeners_propose_nothing_and_change_nothing(store, capsys) -> None:
    before = store.read_bytes()
    assert run(["--store", str(store), "rehear", "--json", *HOW]) == ExitStatus.OK
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "Nothing was changed" in printed.err
    assert store.read_bytes() == before


def test_what_was_heard_is_not_heard_twice(store, tmp_path, capsys) -> None:
    resume = ["--resume", str(tmp_path / "heard.txt")]
    assert run(["--store", str(store), "rehear", *HOW, *resume]) == ExitStatus.OK
    capsys.readouterr()
    assert run(["--store", str(store), "rehear", *HOW, *resume]) == ExitStatus.OK
    assert "0 remarks" in capsys.readouterr().err


@pytest.mark.parametrize("file", ["", "sound.bin", "none/heard.txt"])
def test_a_file_that_cannot_hold_what_was_heard_is_named(store, tmp_path, capsys, file) -> None:
    (tmp_path / "sound.bin").write_bytes(b"\xff\xfe")
    assert run(["--store", str(store), "rehear", *HOW, "--resume", str(tmp_path / file)]) == ExitStatus.FAILED
    assert "cannot hold what was heard" in capsys.readouterr().err


def test_a_session_that_is_not_there_is_said(store, capsys) -> None:
    assert run(["--store", str(store), "rehear", "zzz", *HOW]) == ExitStatus.FAILED
    assert "begins with 'zzz'" in capsys.readouterr().err


def test_confirmed_remarks_are_the_own_test_set(store, capsys) -> None:
    own = ["--store", str(store), "evaluate", "--own", "--json", *HOW[:2]]
    with Store.open(store) as held:
        (info,) = held.sessions()
        entries = held.entries(info.id, live_only=False)
        review = Review.of(info.id, entries, [])
        lines = [line for lines in review.live().values() for line in lines]
        assert len(lines) >= 3
    assert run(own) == ExitStatus.FAILED
    assert "assistant review" in capsys.readouterr().err
    with Store.open(store) as held:
        step = review.step(deciding.accepted(review, lines), Stamp("seed", datetime.now().astimezone()))
        flats = [flat_event(event) for event in step.events]
        held.append(info.id, held.version(info.id), flats)
    assert run(own) == ExitStatus.OK
    told = json.loads(capsys.readouterr().out)
    assert told["n"] >= 3
    assert told["right"] == told["n"]


def test_what_is_taken_for_what_is_told_with_what_to_do(store, capsys, monkeypatch) -> None:
    crack, scald = ({"place": "left hind", "finding": what} for what in ("crack", "scald"))
    failures = [
        {"audio": "r1", "expected": [crack], "heard": [scald], "decision": "accepted"},
        {"audio": "r2", "expected": [crack], "heard": [scald], "decision": "ask"},
        {"audio": "r3", "expected": [crack], "heard": None, "decision": "unheard"},
    ]
    score = {"n": 3, "failures": failures, "reliability": []}
    monkeypatch.setattr("assistant.cli.evaluate._own_score", lambda *_: score)
    assert run(["--store", str(store), "evaluate", "--own"]) == ExitStatus.OK
    told = capsys.readouterr().out
    rows = [" ".join(line.split()) for line in told.splitlines()]
    assert rows[-3:-1] == ["crack scald 2", "crack, left hind nothing 1"]
    assert "assistant learn" in rows[-1]

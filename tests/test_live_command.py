"""`assistant session` at a microphone and with a recording at its pace, and `assistant devices`, as users run them."""

from __future__ import annotations

import contextlib
import io
import json
import multiprocessing
import shutil
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np
import pytest
import soundfile
from store_stage import as_ordinary_user

from assistant.cli.main import ExitStatus, run
from assistant.session.replies import LISTENERS_AGAIN
from assistant.sound.device import Device
from assistant.sound.recording import blocks
from assistant.store.store import Store

DEMO = Path(__file__).parent.parent / "demo_audio"
LENGTH_S = 22


@pytest.fixture
def store(tmp_path: Path) -> Path:
    path = tmp_path / "herd.db"
    assert run(["--store", str(path), "register", "import", str(DEMO / "register.csv")]) == ExitStatus.OK
    return path


@pytest.fixture(scope="session")
def beginning(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first remarks of the demonstration: two animals, a correction, a number."""
    path = tmp_path_factory.mktemp("sound") / "beginning.flac"
    pieces = []
    for block in blocks(DEMO / "session.flac"):
        if block.start_s >= LENGTH_S:
            break
        pieces.append(block.samples)
    soundfile.write(path, np.concatenate(pieces), 16000)
    return path


def records(store: Path) -> list[tuple]:
    """What the last session put on record, and what of its remarks waits for review."""
    with Store.open(store) as held:
        session = held.sessions()[-1].id
        entries = [(entry.animal, entry.part, entry.state, entry.time) for entry in held.entries(session)]
        remarks = [
            (remark.words, remark.verdict.decision, remark.start_s, remark.end_s) for remark in held.remarks(session)
        ]
        assert held.pending() == ()
        return [entries, remarks]


def test_the_live_path_records_the_same_as_the_file_path(store, beginning, tmp_path, capsys) -> None:
    """The same listeners, the same cuts, the same verdicts, each with a store of its own."""
    session = ["session", "--from", str(beginning), "--started", "2026-05-26", "--json"]
    session += ["--listeners", "pocketsphinx,phonemes"]
    other = tmp_path / "other.db"
    other.write_bytes(store.read_bytes())
    got = []
    for path, pace in ((store, ["--workers", "1"]), (other, ["--pace", "fast"])):
        assert run(["--store", str(path), *session, *pace]) == ExitStatus.OK
        lines = [json.loads(line) for line in capsys.readouterr().out.splitlines() if line.startswith("{")]
        got.append((lines, records(path)))
    assert got[0] == got[1]
    assert len(got[0][0]) >= 5
    assert len(got[0][1][0]) >= 5


def test_a_longer_pause_joins_what_is_said(store, beginning, tmp_path, capsys) -> None:
    """All of it is said within two seconds of what came before, so that it is one remark, cut only at its longest."""
    session = ["session", "--from", str(beginning), "--pace", "fast", "--json", "--listeners", "phonemes"]
    counts = []
    for n, pause in enumerate(([], ["--pause", "2"])):
        own = tmp_path / f"{n}.db"
        own.write_bytes(store.read_bytes())
        assert run(["--store", str(own), *session, *pause]) == ExitStatus.OK
        counts.append(capsys.readouterr().out.count('"decision"'))
    assert counts[0] >= 5
    assert counts[1] <= 3


@pytest.mark.skipif(sys.platform == "win32", reason="kills as the system does when memory runs out")
def test_a_listening_process_that_is_killed_loses_nothing(store, beginning, tmp_path, capsys) -> None:
    """Killed while it has a remark: the remark is heard again, the keeper is told, the records are the same."""
    session = ["session", "--from", str(beginning), "--started", "2026-05-26", "--json", "--pace", "fast"]
    session += ["--listeners", "pocketsphinx,phonemes"]
    other = tmp_path / "other.db"
    other.write_bytes(store.read_bytes())
    assert run(["--store", str(store), *session]) == ExitStatus.OK
    assert LISTENERS_AGAIN not in capsys.readouterr().err
    killer = threading.Thread(target=kill_listeners_at_work, args=(other,))
    killer.start()
    assert run(["--store", str(other), *session]) == ExitStatus.OK
    killer.join()
    assert LISTENERS_AGAIN in capsys.readouterr().err
    assert records(other) == records(store)


def kill_listeners_at_work(store: Path) -> None:
    n_pending = 0
    while not n_pending:
        time.sleep(0.02)
        with Store.open(store, read_only=True) as held:
            n_pending = len(held.pending())
    for process in multiprocessing.active_children():
        process.kill()


@pytest.mark.parametrize("pace", [[], ["--pace", "fast"]], ids=["heard as a file", "live"])
def test_a_session_in_a_folder_that_may_not_be_written_to_is_refused(store, beginning, pace) -> None:
    """Before anything is said, not with the first remark."""
    folder = Path(tempfile.mkdtemp())  # pytest's own folders are closed to the other user
    try:
        shutil.copy(store, folder / "herd.db")
        sound = shutil.copy(beginning, folder / "said.flac")
        words = ["--store", str(folder / "herd.db"), "session", "--from", str(sound), *pace]

        def deed() -> str:
            said = io.StringIO()
            with contextlib.redirect_stderr(said):
                status = run(words)
            return f"{status:d} {said.getvalue()}"

        for file in [*folder.iterdir(), folder]:
            file.chmod(0o555 if file.is_dir() else 0o444)
        answer = as_ordinary_user(deed)
        assert answer.startswith(f"{ExitStatus.FAILED:d} ")
        assert "herd.db cannot be used" in answer
        assert "who may write" in answer
        assert "Traceback" not in answer
    finally:
        folder.chmod(0o700)
        shutil.rmtree(folder)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["session", "--pace", "fast"], "--from"),
        (["session", "--started", "2026-05-26"], "begins now"),
        (["session", "--policy", "loud"], "careful"),
        (["session", "--volume", "2"], "volume"),
        (["session", "--rate", "9"], "rate"),
        (["session", "--say", "much"], "tones"),
    ],
)
def test_options_that_do_not_fit_are_a_usage_error(store, words, said, capsys) -> None:
    assert run(["--store", str(store), *words]) == ExitStatus.USAGE
    assert said in capsys.readouterr().err


def test_a_session_without_a_microphone_is_told(store, monkeypatch, capsys) -> None:
    monkeypatch.setattr("assistant.sound.microphone.microphones", lambda _: ())
    assert run(["--store", str(store), "session", "--text"]) == ExitStatus.FAILED
    assert "no microphone" in capsys.readouterr().err
    assert not Store.open(store).sessions(), "no session has begun"


def test_a_bad_recording_is_told_before_anything_starts(store, tmp_path, capsys) -> None:
    (tmp_path / "song.wav").write_text("la la la")
    assert run(["--store", str(store), "session", "--from", str(tmp_path / "song.wav"), "--pace", "real"]) == (
        ExitStatus.FAILED
    )
    assert "not a sound file" in capsys.readouterr().err


@pytest.mark.parametrize(("policy", "reply"), [("careful", "Left hind crack."), ("quick", "✓")])
def test_the_policy_is_chosen_with_an_option(store, policy, reply, monkeypatch, capsys) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("tansy\nleft hind crack\n"))
    assert run(["--store", str(store), "type", "--policy", policy]) == ExitStatus.OK
    assert reply in capsys.readouterr().out


def test_the_policy_of_the_settings_holds_without_an_option(store, monkeypatch, capsys) -> None:
    (store.parent / "settings.toml").write_text('policy = "careful"\n')
    monkeypatch.setattr("sys.stdin", io.StringIO("tansy\nleft hind crack\n"))
    assert run(["--store", str(store), "type"]) == ExitStatus.OK
    assert "Left hind crack." in capsys.readouterr().out


def test_devices_are_listed(monkeypatch, capsys) -> None:
    monkeypatch.setattr("assistant.sound.device.microphones", lambda: (Device("Lapel", 44100), Device("Desk")))
    monkeypatch.setattr("assistant.sound.device.loudspeakers", lambda: ())
    assert run(["devices"]) == ExitStatus.OK
    out = capsys.readouterr().out
    assert "Lapel" in out
    assert "44100 Hz" in out
    assert "loudspeakers: none" in out
    assert run(["devices", "--json"]) == ExitStatus.OK
    told = json.loads(capsys.readouterr().out)
    assert told == {
        "microphones": [{"name": "Lapel", "rate_hz": 44100}, {"name": "Desk", "rate_hz": 48000}],
        "loudspeakers": [],
    }


def test_devices_are_listed_on_any_machine(capsys) -> None:
    assert run(["devices"]) == ExitStatus.OK
    assert "microphones" in capsys.readouterr().out

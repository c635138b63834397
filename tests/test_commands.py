"""The commands as their users run them: real files, a real store, real sound; and what bad input gets."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.cli.main import COMMANDS, ExitStatus, run
from assistant.store.store import Store

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "demo_audio"

TYPED = """tansy
left hind, hollow wall, cut out
both fores overgrown, trimmed
right hind fine
check her in two weeks
scratch that
condition two and a half
done
between the claws clean, done
who is left
finish
"""


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """A store with the demonstration herd."""
    path = tmp_path / "herd.db"
    assert run(["--store", str(path), "register", "import", str(DEMO / "register.csv")]) == ExitStatus.OK
    return path


def type_lines(store: Path, text: str, monkeypatch: pytest.MonkeyPatch) -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO(text))
    return run(["--store", str(store), "type"])


def last_summary(store: Path, capsys: pytest.CaptureFixture[str]) -> dict:
    capsys.readouterr()
    assert run(["--store", str(store), "summary", "--json"]) == ExitStatus.OK
    return json.loads(capsys.readouterr().out)


def test_a_typed_session_ends_in_the_summary(store, monkeypatch, capsys) -> None:
    assert type_lines(store, TYPED, monkeypatch) == ExitStatus.OK
    assert "Thirteen left." in capsys.readouterr().out
    told = last_summary(store, capsys)
    (card,) = told["animals"]
    recorded = {entry["place"]: entry["entry"] for entry in card["entries"]}
    assert (card["animal"], card["outcome"]) == ("Tansy", "done")
    assert recorded["left hind"].startswith("hollow wall, cut out")
    assert recorded[""] == "condition 2.5"
    assert told["to_do"] == []
    assert len(told["left"]) == 13


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "2026-02-30", "2026-05-26 25:00", "yesterday"])
def test_a_session_of_a_day_that_cannot_be_is_refused(store, monkeypatch, capsys, day) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("tansy\ncheck her in two weeks\n"))
    assert run(["--store", str(store), "type", "--started", day]) == ExitStatus.USAGE
    told = capsys.readouterr().err
    assert day in told
    assert "Traceback" not in told


def test_the_demo_puts_no_invented_animals_among_others(tmp_path, capsys) -> None:
    own = tmp_path / "own.csv"
    own.write_text("number,name\n7,Willowherb\n", encoding="utf-8")
    store = ["--store", str(tmp_path / "herd.db")]
    assert run([*store, "register", "import", str(own)]) == ExitStatus.OK
    assert run([*store, "demo", "--json"]) == ExitStatus.FAILED
    assert "has animals of its own" in capsys.readouterr().err
    with Store.open(tmp_path / "herd.db") as held:
        assert [animal.name for animal in held.animals()] == ["Willowherb"]


def test_a_recording_ends_in_the_same_kind_of_record(store, tmp_path, capsys) -> None:
    """The first 35 seconds of the demonstration: one animal, heard by the listeners that come in wheels."""
    samples, rate = soundfile.read(DEMO / "session.flac", frames=35 * 16000)
    stereo = np.stack([samples, samples], axis=1)
    soundfile.write(tmp_path / "session.wav", stereo, rate)
    assert run(["--store", str(store), "session", "--from", str(tmp_path / "session.wav")]) == ExitStatus.OK
    told = last_summary(store, capsys)
    tansy = next(card for card in told["animals"] if card["animal"] == "Tansy")
    places = {entry["place"]: entry["entry"] for entry in tansy["entries"]}
    assert "hollow wall" in places["left hind"]
    assert "overgrown" in places["left fore"]
    assert len(list((tmp_path / "herd_sound").glob("*.flac"))) >= 9


def test_hear_says_what_a_recording_means_and_keeps_nothing(tmp_path, capsys) -> None:
    samples, rate = soundfile.read(DEMO / "session.flac", start=6 * 16000, frames=2 * 16000)
    soundfile.write(tmp_path / "a.flac", samples, rate)
    words = ["--store", str(tmp_path / "none.db"), "hear", "--register", str(DEMO / "register.csv"), "--json"]
    assert run([*words, str(tmp_path / "a.flac")]) == ExitStatus.OK
    heard = json.loads(capsys.readouterr().out)
    assert heard["meaning"] == [{"animal": "417"}]
    assert not (tmp_path / "none.db").exists()


def write_nan(path: Path) -> None:
    soundfile.write(path, np.full(16000, np.nan, np.float32), 16000, subtype="FLOAT")


def write_broken(path: Path) -> None:
    whole = (DEMO / "session.flac").read_bytes()
    path.write_bytes(whole[: len(whole) // 40])


BAD_AUDIO = {
    "text.wav": lambda path: path.write_text("not sound"),
    "empty.wav": lambda path: path.write_bytes(b""),
    "none.wav": lambda path: soundfile.write(path, np.zeros(0, np.float32), 16000),
    "nan.wav": write_nan,
    "broken.flac": write_broken,
    "absent.wav": lambda path: None,
    "folder.wav": lambda path: path.mkdir(),
}


@pytest.mark.parametrize("name", BAD_AUDIO)
def test_a_bad_recording_is_named_with_a_status_that_is_not_zero(store, tmp_path, capsys, name) -> None:
    BAD_AUDIO[name](tmp_path / name)
    assert run(["--store", str(store), "session", "--from", str(tmp_path / name)]) == ExitStatus.FAILED
    said = capsys.readouterr().err
    assert name in said
    assert "Traceback" not in said
    assert run(["--store", str(store), "register", "list"]) == ExitStatus.OK


def test_what_came_before_the_break_of_a_recording_is_kept(store, tmp_path, capsys) -> None:
    whole = (DEMO / "session.flac").read_bytes()
    (tmp_path / "broken.flac").write_bytes(whole[: len(whole) // 20])
    assert run(["--store", str(store), "session", "--from", str(tmp_path / "broken.flac")]) == ExitStatus.FAILED
    assert any(card["animal"] == "Tansy" for card in last_summary(store, capsys)["animals"])


@pytest.mark.parametrize(
    ("rate", "channels", "subtype"), [(96000, 1, "PCM_24"), (16000, 7, "PCM_16"), (8000, 1, "PCM_U8")]
)
def test_unusual_recordings_simply_work(store, tmp_path, capsys, rate, channels, subtype) -> None:
    import soxr

    samples, _ = soundfile.read(DEMO / "session.flac", start=6 * 16000, frames=2 * 16000)
    wide = np.repeat(soxr.resample(samples, 16000, rate)[:, None], channels, axis=1)
    soundfile.write(tmp_path / "a.wav", wide, rate, subtype=subtype)
    capsys.readouterr()
    words = ["--store", str(store), "hear", "--json", str(tmp_path / "a.wav")]
    assert run(words) == ExitStatus.OK
    assert len(capsys.readouterr().out.splitlines()) == 1


BAD_REGISTERS = [
    ("tag,name\nHB 1,Tansy\nHB 1,Sorrel\n", ExitStatus.PARTLY, ":3"),
    ("name,born\nTansy,2024-02-30\nSorrel,2024-02-28\n", ExitStatus.PARTLY, ":2"),
    ("", ExitStatus.FAILED, "bad.csv"),
    ("\x00\x01\x02", ExitStatus.FAILED, "bad.csv"),
]


@pytest.mark.parametrize(("text", "status", "says"), BAD_REGISTERS)
def test_a_bad_register_is_reported_with_its_lines_and_good_rows_are_kept(tmp_path, capsys, text, status, says) -> None:
    (tmp_path / "bad.csv").write_text(text)
    assert run(["--store", str(tmp_path / "h.db"), "register", "import", str(tmp_path / "bad.csv")]) == status
    assert says in capsys.readouterr().err
    run(["--store", str(tmp_path / "h.db"), "register", "list", "--json"])
    assert len(capsys.readouterr().out.splitlines()) == (1 if status == ExitStatus.PARTLY else 0)


def test_a_mistake_in_the_keepers_grammar_is_named_with_file_and_line(store, monkeypatch, capsys) -> None:
    (store.parent / "grammars").mkdir()
    (store.parent / "grammars" / "mine.jsgf").write_text("#JSGF V1.0;\ngrammar feet;\n<crack> = (broken ;\n")
    assert type_lines(store, "tansy\n", monkeypatch) == ExitStatus.FAILED
    assert "mine.jsgf:3" in capsys.readouterr().err


def test_an_empty_register_says_how_to_fill_it(tmp_path, monkeypatch, capsys) -> None:
    assert type_lines(tmp_path / "new.db", "tansy\n", monkeypatch) == ExitStatus.FAILED
    assert "register import" in capsys.readouterr().err


def test_a_damaged_store_is_refused(store, capsys) -> None:
    store.write_bytes(b"SQLite format 3\x00" + b"\x55" * 9000)
    assert run(["--store", str(store), "summary"]) == ExitStatus.FAILED
    assert "herd.db" in capsys.readouterr().err


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_says_what_it_does(command, capsys) -> None:
    assert run([command, "--help"]) == ExitStatus.OK
    assert len(capsys.readouterr().out.splitlines()) > 4


@pytest.mark.parametrize("words", [["nothing"], ["session", "--pace", "slowly"], ["evaluate"], ["--nothing"]])
def test_wrong_words_are_a_usage_error(words, capsys) -> None:
    assert run(words) == ExitStatus.USAGE
    assert "Usage" in capsys.readouterr().err

"""`assistant evaluate` as its user runs it: real recordings, and files that are not what they should be."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assistant.cli.main import ExitStatus, run

DEMO = Path(__file__).parent.parent / "demo_audio"
GRAMMAR = """#JSGF V1.0;
grammar finish;
public <sentence> = who is left {question=who is left} | done {command=done};
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A grammar, a recording that is no sound, and a manifest that names it."""
    (tmp_path / "g.jsgf").write_text(GRAMMAR)
    (tmp_path / "bad.wav").write_text("this is not sound")
    (tmp_path / "m.jsonl").write_text(json.dumps({"audio": "bad.wav", "slots": {}}) + "\n")
    return tmp_path


def test_a_real_remark_is_heard_and_counted(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A remark cut out of the demonstration recording comes to its slot; one listener alone asks."""
    import soundfile

    lines = [json.loads(line) for line in (DEMO / "script.jsonl").read_text().splitlines()]
    line = next(line for line in lines if line["words"].lower().strip("?.!") in {"who is left", "done"})
    slots = {"command": "done"} if "done" in line["words"].lower() else {"question": "who is left"}
    samples, rate = soundfile.read(DEMO / "session.flac")
    piece = samples[int((line["start_s"] - 0.3) * rate) : int((line["end_s"] + 0.3) * rate)]
    soundfile.write(folder / "remark.wav", piece, rate)
    (folder / "m.jsonl").write_text(json.dumps({"audio": "remark.wav", "slots": slots}))
    status = run(
        [
            "evaluate",
            str(folder / "m.jsonl"),
            "--grammar",
            str(folder / "g.jsgf"),
            "--listeners",
            "pocketsphinx",
            "--json",
        ]
    )
    figures = json.loads(capsys.readouterr().out)
    assert status == ExitStatus.OK
    assert (figures["n"], figures["right"], figures["right_labelled"]) == (1, 1, 1)
    assert (figures["accepted"], figures["asked"]) == (0, 1)


@pytest.mark.parametrize(
    ("manifest", "grammar", "says"),
    [
        ("absent.jsonl", "g.jsgf", "absent.jsonl"),
        ("m.jsonl", "absent.jsgf", "absent.jsgf"),
        ("g.jsgf", "g.jsgf", "g.jsgf:1"),
        ("m.jsonl", "m.jsonl", "m.jsonl:1"),
        ("m.jsonl", "g.jsgf", "bad.wav"),
    ],
)
def test_bad_files_are_named_and_the_status_is_not_zero(folder, manifest, grammar, says, capsys) -> None:
    status = run(["evaluate", str(folder / manifest), "--grammar", str(folder / grammar)])
    err = capsys.readouterr().err
    assert status == ExitStatus.FAILED
    assert says in err
    assert err.startswith("assistant: ")

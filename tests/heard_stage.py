"""A store with the beginning of the demonstration in it, as real listeners heard it."""

from __future__ import annotations

from pathlib import Path

import soundfile

from assistant.cli.main import ExitStatus, run

DEMO = Path(__file__).parent.parent / "demo_audio"
LISTENERS = ("pocketsphinx", "phonemes")
HOW = ["--listeners", ",".join(LISTENERS), "--workers", "1"]


def demonstration_store(folder: Path, length_s: int) -> Path:
    """The store, in a folder that is there; it has one session."""
    samples, rate_hz = soundfile.read(DEMO / "session.flac", frames=length_s * 16000)
    soundfile.write(folder / "part.flac", samples, rate_hz)
    path = folder / "herd.db"
    assert run(["--store", str(path), "register", "import", str(DEMO / "register.csv")]) == ExitStatus.OK
    assert run(["--store", str(path), "session", "--from", str(folder / "part.flac"), *HOW]) == ExitStatus.OK
    return path

"""Hostile files cannot fill memory or disk, others cannot read what is kept, and logs say nothing of what was said."""

from __future__ import annotations

import io
import json
import logging
import os
import stat
import struct
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.cli.main import ExitStatus, run
from assistant.errors import AssistantError, BadAudio
from assistant.sound.recording import HIGHEST_RATE_HZ, blocks, read
from assistant.store import backup, sound_file
from assistant.store.store import Store
from assistant.values import Sound

DEMO = Path(__file__).parent.parent / "demo_audio"
MEMORY = 1_500_000_000
"""Bytes of address space that a process may have beyond what it needs to start."""

posix = pytest.mark.skipif(os.name == "nt", reason="rights and limits are kept otherwise there")


def wav(rate_hz: int, channels: int = 1, claimed: int | None = None, samples: int = 4000) -> bytes:
    """A WAV file of 16 bits whose header may claim anything."""
    data = b"\0\1" * samples * channels
    size = len(data) if claimed is None else claimed
    frame, whole = min(2**16 - 1, 2 * channels), min(2**32 - 1, size + 36)
    form = struct.pack("<HHIIHH", 1, channels, rate_hz, min(2**32 - 1, rate_hz * frame), frame, 16)
    head = b"RIFF" + struct.pack("<I", whole) + b"WAVEfmt " + struct.pack("<I", 16)
    return head + form + b"data" + struct.pack("<I", size) + data


def flac(frames: int, rate_hz: int = 16000) -> bytes:
    """A second of FLAC whose header claims so many frames (36 bits) at so many a second (20 bits)."""
    buffer = io.BytesIO()
    soundfile.write(buffer, np.zeros(16000, np.float32), 16000, format="FLAC", subtype="PCM_16")
    whole = bytearray(buffer.getvalue())
    fields = int.from_bytes(whole[18:26], "big")  # rate 20, channels 3, bits 5, frames 36 (RFC 9639, section 8.2)
    kept = fields & (0xFF << 36)
    whole[18:26] = (rate_hz << 44 | kept | frames).to_bytes(8, "big")
    return bytes(whole)


HOSTILE = {
    "rate of 1": wav(1),
    "rate of 4 GHz": wav(4_000_000_000),
    "just too quick": wav(HIGHEST_RATE_HZ + 1),
    "4 GB that are not there": wav(16000, claimed=2**32 - 1),
    "no channel": wav(16000, channels=0),
    "more channels than there are": wav(16000, channels=65535, samples=4),
    "ten hours that are not there": flac(36_000 * 16000),
    "more than a year that is not there": flac(2**36 - 1),
    "most samples a second": flac(16000, 2**20 - 1),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_recording_is_refused_or_read_for_what_it_is(tmp_path: Path, name: str) -> None:
    file = tmp_path / "a.sound"
    file.write_bytes(HOSTILE[name])
    heard: list[Sound] = []
    told = ""
    try:
        heard.extend(blocks(file))
    except BadAudio as error:
        told = str(error)
    assert told == "" or "a.sound" in told
    assert sum(block.length_s for block in heard) <= 1.0, "no sound is made up"


@posix
@pytest.mark.parametrize("name", ["more than a year that is not there", "rate of 4 GHz"])
def test_it_takes_no_memory_either(tmp_path: Path, name: str) -> None:
    """In a process that may have little more than it starts with; without limits one asks for 256 GB."""
    (tmp_path / "a.sound").write_bytes(HOSTILE[name])
    probe = f"""
import resource, sys
from pathlib import Path
from assistant.errors import BadAudio
from assistant.sound.recording import blocks
from assistant.store import backup, sound_file
size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize() if sys.platform == "linux" else 0
resource.setrlimit(resource.RLIMIT_AS, (size + {MEMORY}, size + {MEMORY}))
file = Path(sys.argv[1])
for use in (lambda: list(blocks(file)), lambda: sound_file.decoded(file.read_bytes())):
    try:
        use()
    except BadAudio:
        print("refused")
"""
    done = subprocess.run(
        [sys.executable, "-c", probe, str(tmp_path / "a.sound")], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "refused" in done.stdout


def test_hours_of_silence_in_a_small_file_are_cut_off_by_what_reads_whole_files(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "long.flac", np.zeros(601 * 4000, np.float32), 4000)
    assert (tmp_path / "long.flac").stat().st_size < 100_000
    with pytest.raises(BadAudio, match="longer than"):
        read(tmp_path / "long.flac")
    with pytest.raises(BadAudio, match="longer than any remark"):
        sound_file.decoded((tmp_path / "long.flac").read_bytes())


def test_a_backup_that_grows_without_end_is_not_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bomb = tmp_path / "herd.backup"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("list.json", json.dumps({"form": 1, "sha256": {"store.db": "0"}}))
        archive.writestr("store.db", b"\0" * 3_000_000)
    monkeypatch.setattr(backup.shutil, "disk_usage", lambda folder: type("Usage", (), {"free": 2_000_000}))
    with pytest.raises(AssistantError, match="free"):
        backup.restore(bomb, tmp_path / "new" / "herd.db")
    assert not (tmp_path / "new" / "herd.db").exists()


# --------------------------------------------------------------------------------------------------------- who may read


@pytest.fixture
def holding(tmp_path: Path) -> Path:
    """A store with a kept sound, its settings and a grammar, made where everybody may read what is made."""
    before = os.umask(0o000)
    try:
        path = tmp_path / "own" / "herd.db"
        assert run(["--store", str(path), "register", "import", str(DEMO / "register.csv")]) == ExitStatus.OK
        with Store.open(path) as held:
            from datetime import datetime

            held.keep_sound("s1", Sound(np.full(1600, 0.1, np.float32), 16000), datetime.now().astimezone())
        assert run(["--store", str(path), "backup", str(tmp_path / "all.backup")]) == ExitStatus.OK
        assert (
            run(["--store", str(tmp_path / "again" / "herd.db"), "restore", str(tmp_path / "all.backup")])
            == ExitStatus.OK
        )
    finally:
        os.umask(before)
    return tmp_path


@posix
def test_nobody_else_may_read_store_sounds_or_backup(holding: Path) -> None:
    kept = [holding / "all.backup", *(holding / "own").rglob("*"), *(holding / "again").rglob("*")]
    assert {"herd.db", "all.backup"} <= {path.name for path in kept}
    assert sum(path.suffix == ".flac" for path in kept) == 2
    shut = {path: stat.S_IMODE(path.stat().st_mode) & 0o077 for path in kept}
    assert not {path.relative_to(holding).as_posix() for path, rights in shut.items() if rights}
    assert stat.S_IMODE((holding / "own").stat().st_mode) == 0o700


# -------------------------------------------------------------------------------------------------------- what logs say


def test_logs_say_nothing_of_what_was_said(tmp_path: Path, monkeypatch, caplog) -> None:
    """All loggers at their most talkative, ours and the libraries', through an import, a typed and a heard session."""
    caplog.set_level(logging.DEBUG)
    store = ["--store", str(tmp_path / "herd.db"), "--debug"]
    samples, rate = soundfile.read(DEMO / "session.flac", frames=14 * 16000)
    soundfile.write(tmp_path / "short.flac", samples, rate)
    assert run([*store, "register", "import", str(DEMO / "register.csv")]) == ExitStatus.OK
    monkeypatch.setattr("sys.stdin", io.StringIO("campion\nleft hind hollow wall\nqzqzqz\ndone\nfinish\n"))
    assert run([*store, "type"]) == ExitStatus.OK
    how = ["--workers", "1", "--listeners", "pocketsphinx"]
    assert run([*store, "session", "--from", str(tmp_path / "short.flac"), *how]) == ExitStatus.OK
    logged = caplog.text.casefold()
    assert not [word for word in ("campion", "hollow", "qzqzqz", "left hind", "cut out") if word in logged]

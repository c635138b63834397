"""Nothing leaves the machine: the main job runs with every way out shut."""

from __future__ import annotations

import io
import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest
import soundfile

from assistant.cli.main import ExitStatus, run

DEMO = Path(__file__).parent.parent / "demo_audio"


class WayOut(BaseException):
    """Not an `Exception`, so that no handler in the program or its libraries can hide it."""


@pytest.fixture
def shut(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise WayOut

    for name in ("connect", "connect_ex", "sendto", "bind"):
        monkeypatch.setattr(socket.socket, name, refuse)
    for name in ("create_connection", "getaddrinfo", "gethostbyname"):
        monkeypatch.setattr(socket, name, refuse)


@pytest.mark.usefixtures("shut")
def test_the_doors_are_shut() -> None:
    with pytest.raises(WayOut):
        socket.create_connection(("localhost", 9), 0.1)


@pytest.mark.usefixtures("shut")
def test_a_session_from_sound_and_from_the_keyboard_needs_no_network(tmp_path, monkeypatch, capsys) -> None:
    store = ["--store", str(tmp_path / "herd.db")]
    samples, rate = soundfile.read(DEMO / "session.flac", frames=12 * 16000)
    soundfile.write(tmp_path / "short.flac", samples, rate)
    assert run([*store, "register", "import", str(DEMO / "register.csv")]) == ExitStatus.OK
    assert run([*store, "session", "--from", str(tmp_path / "short.flac"), "--workers", "1"]) == ExitStatus.OK
    monkeypatch.setattr("sys.stdin", io.StringIO("sorrel\nleft hind crack\ndone\nfinish\n"))
    assert run([*store, "type"]) == ExitStatus.OK
    capsys.readouterr()
    assert run([*store, "summary"]) == ExitStatus.OK
    assert "left hind: crack" in capsys.readouterr().out


def test_the_runtime_of_the_models_writes_no_identifier_to_send(tmp_path) -> None:
    """Its uploader passes the doors of Python by; before it sends anything, it writes a folder into the home folder."""
    pytest.importorskip("onnxruntime")
    pytest.importorskip("moonshine_voice")
    # Without what would keep it quiet by itself: its own variables and those of continuous integration.
    env = {name: os.environ[name] for name in ("PATH", "PYTHONPATH") if name in os.environ}
    program = "from assistant.hearing.moonshine_model import load_model; load_model()"
    home = {"HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path / "cache")}
    subprocess.run([sys.executable, "-c", program], env={**env, **home}, check=True, timeout=60)
    assert list(tmp_path.iterdir()) == []

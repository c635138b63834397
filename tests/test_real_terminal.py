"""The program in a real terminal: a session by file, a question answered, a correction, and what the store holds."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import soundfile

from assistant.cli.main import run
from assistant.store.store import Store
from assistant.values import FindingPart, State

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "demo_audio"

pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")


class Terminal:
    """One terminal of 80 columns and 24 rows, in a server of its own."""

    def __init__(self, folder: Path, words: str) -> None:
        self._tmux = ["tmux", "-L", f"assistant-{os.getpid()}-{id(self)}", "-f", "/dev/null"]
        env = f"PYTHONPATH={ROOT}"
        command = (
            f"env {env} {sys.executable} -m assistant --store {folder / 'herd.db'} {words}; echo left with $?; cat"
        )
        self._run("new-session", "-d", "-x", "80", "-y", "24", command)

    def _run(self, *words: str) -> str:
        return subprocess.run([*self._tmux, *words], capture_output=True, text=True, check=True).stdout

    @property
    def screen(self) -> str:
        return self._run("capture-pane", "-p")

    def until(self, text: str, seconds: float = 90) -> str:
        """Waits until a text stands on the screen."""
        ends = time.monotonic() + seconds
        while text not in (screen := self.screen):
            assert time.monotonic() < ends, f"{text!r} did not come:\n{screen}"
            time.sleep(0.1)
        return screen

    def press(self, *keys: str) -> None:
        self._run("send-keys", *keys)

    def walk_to(self, text: str) -> None:
        """Moves the cursor of the list down to a line; each step is on the screen before the next."""
        while text not in (before := self._cursor()):
            self.press("Down")
            ends = time.monotonic() + 20
            while self._cursor() == before:
                assert time.monotonic() < ends, f"there is no {text!r} below {before!r}"
                time.sleep(0.05)

    def _cursor(self) -> str:
        return next((line for line in self.screen.splitlines() if line.startswith("▸")), "")

    def close(self) -> None:
        subprocess.run([*self._tmux, "kill-server"], check=False, capture_output=True)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    assert run(["--store", str(tmp_path / "herd.db"), "register", "import", str(DEMO / "register.csv")]) == 0
    samples, rate = soundfile.read(DEMO / "session.flac", frames=18 * 16000)
    soundfile.write(tmp_path / "first.flac", samples, rate)
    return tmp_path


@pytest.fixture
def opened(folder: Path) -> Iterator[list[Terminal]]:
    found: list[Terminal] = []
    yield found
    for terminal in found:
        terminal.close()


def entries(folder: Path) -> list[tuple[object, State]]:
    with Store.open(folder / "herd.db", read_only=True) as store:
        return [(entry.part, entry.state) for entry in store.entries()]


def test_a_session_by_file_is_answered_corrected_and_kept(folder, opened) -> None:
    terminal = Terminal(folder, f"session --from {folder / 'first.flac'}")
    opened.append(terminal)
    terminal.until("right hind fine", seconds=180)
    terminal.until("LEFT HIND")
    # A finding without a place, on an animal of which no place is open, is asked.
    terminal.press("-l", "yarrow")
    terminal.press("Enter")
    terminal.until("423 ·", seconds=30)
    terminal.press("-l", "crack")
    terminal.press("Enter")
    terminal.until("? Which foot?", seconds=30)
    terminal.press("-l", "left fore")
    terminal.press("Enter")
    terminal.until("▲ crack", seconds=30)
    terminal.press("C-q")
    terminal.until("left with 0")
    terminal.close()
    assert (FindingPart("left hind", "hollow wall"), State.HEARD) in entries(folder)
    assert (FindingPart("left fore", "crack"), State.HEARD) in entries(folder)

    review = Terminal(folder, "review --by Hazel")
    opened.append(review)
    review.until("facts of")
    review.walk_to("left hind: hollow wall")
    review.press("f")
    review.until("What was found?")
    review.press("-l", "abscess")
    review.press("Enter")
    review.until("changed: Tansy")
    review.press("q")
    review.until("left with 0")
    assert (FindingPart("left hind", "abscess"), State.CORRECTED) in entries(folder)
    assert FindingPart("left hind", "hollow wall") not in [part for part, _ in entries(folder)]

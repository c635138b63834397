"""What nobody foresaw: a sentence and an exit status, whatever goes wrong in the program."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from textual.screen import Screen

import assistant.cli.main
from assistant.__main__ import main
from assistant.cli.main import ExitStatus
from assistant.screens.face import Face


def ended(words: list[str], fault: BaseException, monkeypatch: pytest.MonkeyPatch) -> object:
    """The exit status of the program in which a fault comes up."""

    def run(_: list[str]) -> int:
        raise fault

    monkeypatch.setattr(assistant.cli.main, "run", run)
    monkeypatch.setattr(sys, "argv", ["assistant", *words])
    with pytest.raises(SystemExit) as left:
        main()
    return left.value.code


def test_a_fault_of_the_program_is_told_in_a_sentence(monkeypatch, capsys) -> None:
    assert ended(["plan"], KeyError("pen\x1b[2J"), monkeypatch) == ExitStatus.FAILED
    told = capsys.readouterr().err
    assert told.startswith("assistant: this is a fault in the program itself")
    assert "KeyError" in told
    assert "--debug" in told
    assert "Traceback" not in told
    assert "\x1b" not in told


def test_with_debug_the_fault_is_seen_as_it_is(monkeypatch) -> None:
    with pytest.raises(KeyError):
        ended(["--debug", "plan"], KeyError("pen"), monkeypatch)


def test_control_c_at_any_moment_ends_without_a_word(monkeypatch, capsys) -> None:
    assert ended(["plan"], KeyboardInterrupt(), monkeypatch) == ExitStatus.INTERRUPTED
    assert capsys.readouterr().err == ""


def test_a_package_that_is_missing_is_named() -> None:
    """As it is where somebody runs a clone of the project with nothing installed."""
    program = "import sys; sys.modules['click'] = None; from assistant.__main__ import main; main()"
    root = Path(__file__).parent.parent
    told = subprocess.run([sys.executable, "-c", program], cwd=root, capture_output=True, text=True, check=False)
    assert told.returncode == ExitStatus.FAILED
    assert told.stderr.startswith("assistant: the package 'click' is missing here.")
    assert "Traceback" not in told.stderr


def test_a_fault_in_a_screen_leaves_it_and_prints_no_variables(capsys) -> None:
    class Faulty(Screen[None]):
        def on_mount(self) -> None:
            secret = "Tansy, lame"
            raise KeyError(secret[:5])

    face = Face(Faulty)
    assert face.run(headless=True) == 1
    assert isinstance(face.fault, KeyError)
    told = capsys.readouterr()
    assert "lame" not in told.out + told.err
    assert "Traceback" not in told.out + told.err

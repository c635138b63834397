"""The review in typed lines: the same decisions, for screen readers and scripts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.cli.main import ExitStatus, run
from assistant.cli.review_lines import ReviewLines
from tests.live_stage import Stage
from tests.screen_stage import filled, reviewing


@pytest.fixture
def stage(tmp_path: Path) -> Iterator[Stage]:
    made = filled(tmp_path)
    yield made
    made.store.close()


def recorded(stage: Stage, animal: str) -> list[str]:
    return [" ".join(str(value) for value in part.flat().values()) for part in stage.recorded(animal)]


def test_all_decisions_can_be_typed(stage) -> None:
    lines = ReviewLines(reviewing(stage.store))
    told = lines.carry_out("list")
    assert told.splitlines()[0] == "1. to decide: left hind crack"
    assert "3. left hind: hollow wall, heard" in told
    assert "Left hind or left fore?" in lines.carry_out("show 1")
    assert lines.carry_out("accept 1 2") == "Recorded on Sorrel."
    assert "left fore crack" in recorded(stage, "a2")
    assert lines.carry_out("right 3 right hind crack") == "Changed."
    assert "right hind crack" in recorded(stage, "a1")
    assert lines.carry_out("undo") == "Undone: changed."
    assert "left hind hollow wall" in recorded(stage, "a1")
    assert lines.carry_out("redo") == "Done again: changed."
    assert lines.carry_out("animal 3 yarrow") == "Moved to Yarrow."
    assert recorded(stage, "a3") == ["right hind crack"]
    assert lines.carry_out("withdraw 3") == "Withdrawn."
    assert recorded(stage, "a3") == []
    assert lines.carry_out("withdraw 2") == "Nothing is recorded from it."
    assert lines.carry_out("add yarrow: left teat lump") == "Recorded on Yarrow."
    assert recorded(stage, "a3") == ["left teat lump"]
    assert lines.carry_out("list").startswith("Tansy"), "nothing is left to decide"


TROUBLE = [
    ("dance", "There is no 'dance'"),
    ("show 99", "Give a number from 1 to"),
    ("show", "Give a number from 1 to"),
    (f"show {'9' * 5000}", "Give a number from 1 to"),
    (f"accept 2 {'9' * 5000}", "It has 0 readings"),
    ("accept 2", "It has 0 readings"),
    ("right 3 nonsense words", "Not understood"),
    ("right 3 done", "nothing to record"),
    ("add tansy left hind crack", "Put a colon after the name"),
    ("add nobody: left hind crack", "Which animal is 'nobody'?"),
    ("add tansy: lame score six", "Lameness of goats goes from one to five"),
    ("animal 2 tansy", "Nothing in it was understood"),
]


@pytest.mark.parametrize(("line", "expected"), TROUBLE)
def test_what_cannot_be_done_is_said_and_changes_nothing(stage, line, expected) -> None:
    before = stage.store.version("s1")
    assert expected in ReviewLines(reviewing(stage.store)).carry_out(line)
    assert stage.store.version("s1") == before


def test_the_commands_without_a_terminal(stage, monkeypatch, capsys) -> None:
    """In a pipe nothing waits for keys: lines are taken, or it is said that a terminal is needed."""
    store = str(stage.store.path)
    typed = iter(["accept 1", "quit"])
    monkeypatch.setattr("builtins.input", lambda _="": next(typed))
    assert run(["--store", store, "review", "--text"]) == ExitStatus.OK
    assert "Recorded on Sorrel." in capsys.readouterr().out
    assert run(["--store", store, "review"]) == ExitStatus.FAILED
    assert "needs a terminal" in capsys.readouterr().err
    assert run(["--store", store + "x", "review", "--text"]) == ExitStatus.FAILED
    assert "There is no store" in capsys.readouterr().err

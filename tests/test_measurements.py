"""The document of measurements is what the kept figures say, and the harness measures what it claims to."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).parent / "bench"
sys.path.insert(0, str(BENCH))

from measures import MEASURES, Asked, farm  # noqa: E402
from targets import TARGETS, Target  # noqa: E402

DOCUMENT = BENCH.parent.parent / "docs" / "measurements.md"


def harness(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, str(BENCH), *words], capture_output=True, text=True, check=False)


def test_the_document_says_what_the_figures_say() -> None:
    before = DOCUMENT.read_text(encoding="utf-8")
    try:
        done = harness()
        assert done.returncode == 0, done.stderr
        assert DOCUMENT.read_text(encoding="utf-8") == before, "bring it up to date: python tests/bench"
    finally:
        DOCUMENT.write_text(before, encoding="utf-8")


@pytest.mark.parametrize(
    ("limit", "is_most", "value", "is_met"),
    [
        (0.2, True, 0.19, True),
        (0.2, True, 0.2, False),
        (92, False, 92.1, True),
        (92, False, 92, False),
        (0, True, 0, True),
        (0, True, 1, False),
    ],
)
def test_a_target_is_met_or_not(limit: float, is_most: bool, value: float, is_met: bool) -> None:
    assert Target("", "", limit, "", is_most).is_met(value) == is_met


def test_every_figure_that_is_kept_has_its_command_and_machine() -> None:
    kept = json.loads((BENCH / "results.json").read_text(encoding="utf-8"))
    assert all({"value", "n", "command", "day", "machine"} <= set(one) for one in kept.values())
    assert len({target.key for target in TARGETS}) == len(TARGETS)


def test_an_unknown_measure_and_one_without_recordings_are_told() -> None:
    assert harness("nothing").returncode == 2
    assert set(MEASURES) >= {"farm", "coffee", "talk", "start", "memory", "number", "summary", "lost"}
    with pytest.raises(SystemExit, match="folder"):
        farm(Asked())

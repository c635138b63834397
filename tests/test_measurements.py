"""The document of measurements is what the kept figures say, and the harness measures what it claims to."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from assistant.measuring.evaluate import Case, Score
from assistant.values import Decision, Sound

BENCH = Path(__file__).parent / "bench"
sys.path.insert(0, str(BENCH))

from asked import Asked  # noqa: E402
from baselines import farm_examiner, plain, slot_examiner  # noqa: E402
from live_measures import cut_as  # noqa: E402
from measures import MEASURES, coffee, farm  # noqa: E402
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
    assert set(MEASURES) >= {
        *("farm", "coffee", "talk", "baselines", "endpointing", "reply"),
        *("start", "memory", "matching", "store", "summary", "lost"),
    }
    with pytest.raises(SystemExit, match="folder"):
        farm(Asked())


@pytest.mark.parametrize(
    ("cut", "becomes"),
    [
        ([(0.7, 2.3), (3.8, 5.3)], {"whole": 2}),
        ([(0.7, 2.3), (2.9, 3.2), (3.8, 5.3)], {"whole": 2, "none": 1}),
        ([(0.7, 1.4), (1.5, 2.3), (3.8, 5.3)], {"split": 1, "whole": 1}),
        ([(0.7, 5.3)], {"joined": 2}),
        ([(1.2, 2.3), (3.8, 5.3)], {"clipped": 1, "whole": 1}),
        ([(0.7, 2.3)], {"whole": 1, "lost": 1}),
    ],
)
def test_what_became_of_a_line_where_remarks_were_cut(cut: list[tuple[float, float]], becomes: dict[str, int]) -> None:
    assert +cut_as([(1.0, 2.0), (4.0, 5.0)], cut) == Counter(becomes)


@pytest.mark.parametrize(
    ("written", "words"),
    [("Can I get a 12 ounce latte?", "can i get a twelve ounce latte"), ("I'd like 20.", "i'd like twenty")],
)
def test_what_a_recogniser_writes_is_put_as_the_grammar_has_it(written: str, words: str) -> None:
    known = frozenset(["can", "i", "get", "a", "twelve", "ounce", "latte", "i'd", "like", "twenty"])
    assert " ".join(plain(written, known)) == words


GRAMMAR = "#JSGF V1.0; grammar order; public <order> = [a] <size> <drink>; <size> = small {size=small}; "
GRAMMAR += "<drink> = tea {drink=tea};"
SPOKEN = Sound(np.zeros(1600, np.float32), 16000)


@pytest.mark.parametrize(
    ("written", "decision", "slots"),
    [
        ("A small tea.", Decision.ACCEPTED, {"size": "small", "drink": "tea"}),
        ("A small, um, tea please", Decision.ASK, {"size": "small", "drink": "tea"}),
        ("Nothing of that", Decision.ASK, {}),
    ],
)
def test_a_recogniser_without_a_grammar_is_read_by_the_grammar_after_it(
    written: str, decision: Decision, slots: dict[str, str], tmp_path: Path
) -> None:
    (tmp_path / "order.jsgf").write_text(GRAMMAR)
    examiner = slot_examiner(lambda sound: written, tmp_path / "order.jsgf")
    assert examiner.judge(SPOKEN).decision is decision
    assert examiner.guess(Case("", "slots", {}), written) == slots


def test_what_is_written_of_a_remark_is_read_as_if_it_were_typed() -> None:
    examiner = farm_examiner(lambda sound: "Left hind, crack!", BENCH.parent.parent / "demo_audio" / "register.csv")
    assert examiner.judge(SPOKEN).decision is Decision.ACCEPTED
    assert examiner.guess(Case("", "expect", []), "Left hind, crack!") == [{"place": "left hind", "finding": "crack"}]


@pytest.mark.parametrize(("levels_db", "has_mean"), [((), True), ((6.0, 9.0), False)])
def test_only_all_levels_of_noise_together_give_the_mean_of_the_target(
    levels_db, has_mean, tmp_path, monkeypatch
) -> None:
    heard = Score(n=4, right_labelled=3, accepted=2)
    monkeypatch.setattr("measures.slot_examiner", lambda grammar: None)
    monkeypatch.setattr("measures.read", lambda noise: SPOKEN)
    monkeypatch.setattr("measures.score", lambda *_: heard)
    found = coffee(Asked(tmp_path, levels_db=levels_db))
    assert ("coffee right" in found) == has_mean
    assert found["coffee 6 dB"].value == 75
    assert ("coffee 24 dB" in found) == has_mean

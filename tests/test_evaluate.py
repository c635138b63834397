"""Counting of `assistant evaluate`, with a judge whose answers are given."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from assistant.meaning.canonical import meaning_key
from assistant.measuring.evaluate import Case, Examiner, evaluate
from assistant.values import CommandPart, Decision, FindingPart, Grade, Sound, Verdict

SOUND = Sound(np.zeros(16000, np.float32), 16000)


def examiner(decision: Decision, *choices: str) -> Examiner:
    """Always the same verdict; words are their own meaning, slots are written "size=small"."""
    return Examiner(
        judge=lambda sound: Verdict(decision, "", choices),
        guess=lambda case, words: dict(w.split("=") for w in words.split()) if case.kind == "slots" else words,
        key=lambda kind, value: str(sorted(value.items())) if kind == "slots" else str(value),
    )


@pytest.mark.parametrize(
    ("decision", "choices", "expected", "counts"),
    [
        (Decision.ACCEPTED, ["size=small"], {"size": "small"}, {"right": 1, "accepted": 1, "accepted_wrong": 0}),
        (Decision.ACCEPTED, ["size=big"], {"size": "small"}, {"right": 0, "accepted": 1, "accepted_wrong": 1}),
        (Decision.ASK, ["size=small", "size=big"], {"size": "small"}, {"right": 1, "asked": 1, "accepted": 0}),
        (
            Decision.ASK,
            ["size=small milk=oat"],
            {"size": "small"},
            {"right": 0, "right_labelled": 1, "accepted_wrong": 0},
        ),
        (Decision.UNHEARD, [], {"size": "small"}, {"right": 0, "right_labelled": 0, "unheard": 1}),
    ],
)
def test_slots_are_counted_by_both_rules(decision, choices, expected, counts) -> None:
    score = evaluate([(Case("a.wav", "slots", expected), SOUND)], examiner(decision, *choices)).flat()
    assert {key: score[key] for key in counts} == counts
    assert len(score["failures"]) == 1 - counts["right"]


def test_talk_that_means_nothing_is_right_when_unheard_and_wrong_when_accepted() -> None:
    case = Case("a.wav", "expect", [])
    assert evaluate([(case, SOUND)], examiner(Decision.UNHEARD)).right == 1
    assert evaluate([(case, SOUND)], examiner(Decision.ACCEPTED, "left hind")).accepted_wrong == 1


def test_the_reliability_table_says_what_was_claimed_and_what_came_true() -> None:
    """Two cases at 0.95, of which one is right: 95 % was claimed, 50 % came true."""
    judged = Verdict(Decision.ACCEPTED, "", ("x",), sureness=0.95)
    judge = Examiner(lambda sound: judged, lambda case, words: words, lambda kind, value: str(value))
    flat = evaluate([(Case("a.wav", "words", expected), SOUND) for expected in "xy"], judge).flat()
    [band] = [band for band in flat["reliability"] if band["n"]]
    expected = {"above": 0.9, "n": 2, "claimed": 0.95, "came_true": 0.5, "accepted": 2, "accepted_wrong": 1}
    assert band == expected


@pytest.mark.parametrize(
    ("agreed", "counts"),
    [
        ([], (0, 0)),
        ([{"place": "left fore", "finding": "scald"}], (1, 0)),
        ([{"place": "left hind", "finding": "scald"}], (1, 1)),
        ([{"place": "left fore", "finding": "scald"}, {"action": "trimmed", "place": "left fore"}], (1, 1)),
    ],
)
def test_facts_recorded_before_the_answer_are_counted(agreed, counts) -> None:
    said = [{"finding": "scald", "place": "left fore"}, {"action": "sprayed", "place": "left fore"}]
    judge = Examiner(lambda sound: Verdict(Decision.ASK, "", ("x",)), lambda case, words: [], lambda kind, value: "")
    score = evaluate([(Case("a.wav", "expect", said), SOUND)], replace(judge, agreed=lambda verdict: agreed))
    assert (score.in_part, score.in_part_wrong) == counts


@pytest.mark.parametrize(
    ("heard", "is_close", "counts"),
    [("x", False, (1, 0)), ("y", False, (1, 1)), ("x", True, (0, 0)), ("y", True, (0, 0))],
)
def test_what_is_said_back_is_not_silent(heard, is_close, counts) -> None:
    judged = Verdict(Decision.ACCEPTED, "", (heard,), is_close=is_close)
    judge = Examiner(lambda sound: judged, lambda case, words: words, lambda kind, value: str(value))
    score = evaluate([(Case("a.wav", "words", "x"), SOUND)], judge)
    assert (score.silent, score.silent_wrong, score.accepted) == (*counts, 1)


def test_times_are_quantiles_and_a_share_of_the_sound() -> None:
    flat = evaluate([(Case("a.wav", "words", "x"), SOUND)] * 4, examiner(Decision.ACCEPTED, "x")).flat()
    assert flat["n"] == 4
    assert 0 <= flat["latency_p50_s"] <= flat["latency_p95_s"]
    assert flat["real_time_factor"] < 1


SAME = [
    ([{"place": "left fore", "finding": "scald"}], [FindingPart("left fore", "scald")]),
    ([{"finding": "scald", "place": None}], [FindingPart(None, "scald")]),
    ([{"command": "skip"}, {"reason": "heavily pregnant"}], [CommandPart("skip", reason="heavily pregnant")]),
    ([{"command": "next", "animal": "Sorrel"}], [{"command": "next"}, {"animal": "sorrel"}]),
    ([{"measure": "lameness", "value": 2}], [{"measure": "lameness", "value": 2.0}]),
    ([{"follow_up": "vet", "days": None}], [{"follow_up": "vet"}]),
    ([{"mark": "blue"}, {"tag": "new"}], [{"tag": "new"}, {"mark": "blue"}]),
]
DIFFERENT = [
    ([FindingPart("left fore", "scald")], [FindingPart("left hind", "scald")]),
    ([FindingPart("left fore", "scald", grade=Grade.SEVERE)], [FindingPart("left fore", "scald")]),
    ([{"measure": "condition", "value": 2.5}], [{"measure": "condition", "value": 3.5}]),
    ([], [FindingPart("left fore", "scald")]),
]


@pytest.mark.parametrize(("one", "other"), SAME)
def test_the_same_meaning_written_in_two_ways_has_one_key(one, other) -> None:
    assert meaning_key(one) == meaning_key(other)


@pytest.mark.parametrize(("one", "other"), DIFFERENT)
def test_different_meanings_have_different_keys(one, other) -> None:
    assert meaning_key(one) != meaning_key(other)

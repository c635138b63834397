"""What is known of a remark whose sound was kept, and what hearing it again would change."""

from __future__ import annotations

from dataclasses import replace

import pytest
from live_stage import Stage, farm

from assistant.learning.kept_remark import KeptRemark, kept_remarks, proposal
from assistant.session import deciding
from assistant.session.events import EntryMade, event_value
from assistant.session.review import Fact, Review, Stamp
from assistant.values import FindingPart

CRACK = FindingPart("left hind", "crack")


@pytest.fixture
def stage(tmp_path) -> Stage:
    return Stage(tmp_path / "herd")


def events(stage: Stage) -> list:
    return [event_value(flat) for flat in stage.store.events("s1")]


def kept(stage: Stage, n: int) -> KeptRemark:
    return kept_remarks("s1", events(stage))[n]


def today(one: KeptRemark, words: str, *, is_sure: bool = True):
    interpreter = farm().interpreter
    return proposal(one, words, interpreter.heard(words, one.scope), interpreter.same_animal, is_sure=is_sure)


@pytest.mark.parametrize(
    ("words", "is_proposed"),
    [
        ("left hind crack", False),
        ("crack left hind", False),
        ("left fore crack", True),
        ("left hind crack trimmed", True),
        ("", False),
    ],
)
def test_only_another_meaning_is_proposed(stage, words, is_proposed) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack")
    one = kept(stage, 1)
    assert (one.facts, one.is_settled, one.is_open) == ((CRACK,), False, False)
    assert (today(one, words) is not None) == is_proposed


def test_a_place_that_was_open_then_is_open_again(stage) -> None:
    stage.hear("tansy")
    stage.hear("left hind")
    stage.hear("crack")
    one = kept(stage, 2)
    assert one.scope.places == ("left hind",)
    assert today(one, "crack") is None


@pytest.mark.parametrize("later", ["scratch that", "no left fore"])
def test_what_a_later_remark_changed_tells_nothing_of_what_was_said(stage, later) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack")
    stage.hear(later)
    one = kept(stage, 1)
    assert not one.is_settled
    assert today(one, "left hind crack") is None


def test_what_waits_is_proposed_when_it_is_sure(stage) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack", second=["left fore crack"])
    stage.hear("none of them")
    one = kept(stage, 1)
    assert one.is_open or one.facts == ()
    one = replace(one, is_open=True)
    assert today(one, "left hind crack") is not None
    assert today(one, "left hind crack", is_sure=False) is None


@pytest.mark.parametrize("decision", ["accepted", "changed", "withdrawn"])
def test_what_the_keeper_settled_is_the_holdings_own_test(stage, decision) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack")
    found = events(stage)
    review = Review.of("s1", [event.entry for event in found if isinstance(event, EntryMade)], [])
    (line,) = review.lines
    made = {
        "accepted": lambda: deciding.accepted(review, [line]),
        "changed": lambda: deciding.changed(line, Fact("a1", FindingPart("left fore", "crack"))),
        "withdrawn": lambda: deciding.withdrawn([line]),
    }[decision]()
    after = [*found, *review.step(made, Stamp("seed", stage.now)).events]
    one = kept_remarks("s1", after)[1]
    expected = {"accepted": (CRACK,), "changed": (FindingPart("left fore", "crack"),), "withdrawn": ()}[decision]
    assert one.is_settled
    assert one.facts == expected
    assert (today(one, "left hind crack") is None) == (decision == "accepted")

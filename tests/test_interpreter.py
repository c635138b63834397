"""Words to meaning and mentions to animals on one holding."""

from __future__ import annotations

import pytest
from live_stage import farm

from assistant.values import ActionPart, AnimalPart, CommandPart, FindingPart, QuestionPart, Scope

LH = Scope(("left hind",))
CRACK = FindingPart("left hind", "crack")


@pytest.fixture(scope="module")
def interpreter():
    return farm().interpreter


MEANINGS = [
    # heard or typed, the place that is open, what it means
    ("left hind crack", Scope(), (CRACK,)),
    ("crack", LH, (CRACK,)),
    ("crack", Scope(), (FindingPart(None, "crack"),)),
    ("trimmed", LH, (ActionPart("left hind", "trimmed"),)),
    ("next is sorrel", LH, (CommandPart("next"), AnimalPart("Sorrel"))),
    ("tag four one seven", Scope(), (AnimalPart("417"),)),
]


@pytest.mark.parametrize(("words", "scope", "parts"), MEANINGS)
def test_heard_and_typed_words_mean_the_same(interpreter, words, scope, parts) -> None:
    assert interpreter.heard(words, scope).parts == parts
    assert interpreter.typed(words, scope).parts == parts


def test_a_typing_slip_is_mended_and_said(interpreter) -> None:
    meaning = interpreter.typed("left hind hollow wall trimed")
    assert meaning.parts == (FindingPart("left hind", "hollow wall"), ActionPart("left hind", "trimmed"))
    assert meaning.mended == "left hind hollow wall trimmed"


def test_where_words_found_no_place_none_is_inherited(interpreter) -> None:
    """They may have been one: a crack on the "rgt fr" is not on the left hind that is open."""
    meaning = interpreter.typed("rgt fr crack", LH)
    assert (meaning.parts, meaning.unplaced) == ((FindingPart(None, "crack"),), "rgt fr")


MENTIONS = [
    ([AnimalPart("Tansy")], {"Tansy": ("a1",)}),
    ([AnimalPart("417")], {"417": ("a1",)}),
    ([QuestionPart("last time", animal="Sorrel"), AnimalPart("Yarrow")], {"Sorrel": ("a2",), "Yarrow": ("a3",)}),
    ([AnimalPart("Bramble")], {"Bramble": ()}),
    ([AnimalPart("17")], {"17": ("a1",)}),
    ([CRACK, QuestionPart("who is left")], {}),
]


@pytest.mark.parametrize(("parts", "ids"), MENTIONS)
def test_the_animals_mentioned(interpreter, parts, ids) -> None:
    assert interpreter.mentioned(parts) == ids


@pytest.mark.parametrize(("words", "ids"), [("sorel", ("a2",)), ("the gate is open", ()), ("", ())])
def test_words_without_a_meaning_may_be_like_a_name(interpreter, words, ids) -> None:
    assert interpreter.alike(words) == ids


SAME = [
    ("left hind crack trimmed", "left hind cracked and trimmed", True),
    ("tag four one seven", "tansy", True),
    ("tansy", "sorrel", False),
    ("left hind crack", "left fore crack", False),
    ("who's left", "who is not done", True),
]


@pytest.mark.parametrize(("one", "other", "is_same"), SAME)
def test_sentences_with_one_meaning_share_a_key(interpreter, one, other, is_same) -> None:
    assert (interpreter.key(one) == interpreter.key(other)) is is_same


def test_words_that_mean_nothing_have_no_key(interpreter) -> None:
    assert interpreter.key("the gate is open") is None


@pytest.mark.parametrize(
    ("words", "can"),
    [
        ("carry on", False),
        ("check her in two weeks", False),
        ("both fores fine done", False),
        ("left hind", True),
        ("left hind crack", True),
        ("four one", True),
        ("tansy", True),
        ("no", True),
        ("scratch that", True),
    ],
)
def test_whether_a_remark_can_go_on(interpreter, words: str, can: bool) -> None:
    """By the rules as by the graph that is made of them."""
    assert interpreter.can_go_on(words) == can
    graph = interpreter.grammar.graph("remark")
    states = {graph.start}
    for word in words.split():
        states = {arc.target for arc in graph.arcs if arc.source in states and arc.word == word}
    assert any(arc.source in states for arc in graph.arcs) == can

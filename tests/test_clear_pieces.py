"""Beside words without a meaning only what is clear is taken from a typed remark; and of two feet "the other one"."""

from __future__ import annotations

import pytest
from herd import grammar

from assistant.meaning.typed import understand
from assistant.values import FEET, Scope

LF, RF, LH, RH = FEET


def read(text: str, scope: Scope = Scope()) -> tuple[list[dict[str, object]], str]:  # noqa: B008 (a frozen value)
    found, _ = understand(text, grammar(), scope)
    return [part.flat() for part in found.parts], found.unplaced


@pytest.mark.parametrize(
    "text",
    [
        "she's had trouble every time so i'm done breeding from her",
        "finish that gate later",
        "i'd sooner try a different approach next time round",
        "none of her sisters were any trouble",
        "she's the one with the crumpled ear",
        "three's about right by the feel of the loin",
        "three of her feet are fine",
        "what a good chunk of wood",
        "after that long dry spell",
        "she seems happier since she lambed",
        "it's rotten weather",
    ],
)
def test_words_of_talk_are_no_order_no_animal_and_no_finding(text) -> None:
    parts, left = read(text)
    assert (parts, bool(left)) == ([], True)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("left hind crack kerfuffle done", [{"place": LH, "finding": "crack"}, {"command": "done"}]),
        ("kerfuffle left hind is long", [{"place": LH, "finding": "overgrown"}]),
        ("tansy kerfuffle left hind trimmed", [{"animal": "Tansy"}, {"place": LH, "action": "trimmed"}]),
        ("left fore cut out a good chunk of kerfuffle", [{"place": LF, "action": "cut out"}]),
    ],
)
def test_what_is_clear_is_taken_all_the_same(text, expected) -> None:
    parts, left = read(text)
    assert parts == expected
    assert "kerfuffle" in left


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("the left fore is fine and the right one is long", [LF, RF]),
        ("right hind good and the other one has a crack", [RH, LH]),
        ("both hinds are fine but the left one's a bit long", [LH, RH, LH]),
        ("the off fore is sound and the other foot is overgrown", [RF, LF]),
    ],
)
def test_the_other_one_is_beside_the_foot_before_it(text, places) -> None:
    parts, left = read(text)
    assert ([part["place"] for part in parts], left) == (places, "")


def test_of_four_feet_there_is_no_other_one() -> None:
    parts, _ = read("all four are good but the left one is long")
    assert parts[len(FEET) :] == [{"finding": "overgrown"}]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("left hind has gone soft", {"place": LH, "finding": "soft horn"}),
        ("her udder is soft", {"place": "udder", "finding": "sound"}),
        ("there's a hard lump on the right side of her udder", {"place": "right udder", "finding": "lump"}),
    ],
)
def test_what_is_soft_or_hard_depends_on_where(text, expected) -> None:
    """A soft udder is a sound one, soft horn is not (common practice, no source)."""
    assert read(text) == ([expected], "")

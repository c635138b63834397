"""Text that a listener wrote down freely is read as a remark only where all of it is for the record."""

from __future__ import annotations

from functools import cache

import other_talk
import pytest
from herd import ANIMALS, EXTRA, grammar

from assistant.interpreter import Interpreter
from assistant.listening.spoken import lexicon
from assistant.register.mention import Matcher
from assistant.register.register import Register

LEFT_FORE, RIGHT_FORE, LEFT_HIND, RIGHT_HIND = "left fore", "right fore", "left hind", "right hind"


@cache
def interpreter() -> Interpreter:
    return Interpreter(grammar(), Matcher(Register((*ANIMALS, *EXTRA)), lexicon().of))


def facts(text: str) -> list[dict[str, object]] | None:
    words = interpreter().transcribed(text)
    return None if words is None else [part.flat() for part in interpreter().heard(words).parts]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "She's very lame on the near hind.",
            [{"place": LEFT_HIND, "finding": "lame", "grade": "severe"}],
        ),
        (
            "There's a stone wedged in her right fore, I've picked it out.",
            [{"place": RIGHT_FORE, "finding": "foreign body"}, {"place": RIGHT_FORE, "action": "cleaned out"}],
        ),
        ("She's about a two and a half condition wise.", [{"measure": "condition", "value": 2.5}]),
        ("I'd put her lameness at a one.", [{"measure": "lameness", "value": 1}]),
        ("The left hind has gone a bit soft.", [{"place": LEFT_HIND, "finding": "soft horn", "grade": "slight"}]),
        ("I've put the blue spray on her left fore.", [{"place": LEFT_FORE, "action": "sprayed"}]),
        (
            "Took the edges off both fores and the left hind has a flap at the heel.",
            [
                {"place": LEFT_FORE, "action": "trimmed"},
                {"place": RIGHT_FORE, "action": "trimmed"},
                {"place": LEFT_HIND, "finding": "loose horn", "part": "heel"},
            ],
        ),
        ("I just took the edges off the right fore and left it at that.", [{"place": RIGHT_FORE, "action": "trimmed"}]),
        (
            "The right fore is fine and the left one has a crack.",
            [{"place": RIGHT_FORE, "finding": "sound"}, {"place": LEFT_FORE, "finding": "crack"}],
        ),
        (
            "The sole on her left hind has come loose.",
            [{"place": LEFT_HIND, "finding": "loose horn", "part": "sole"}],
        ),
        ("She's favouring the right hind.", [{"place": RIGHT_HIND, "finding": "lame"}]),
        ("I took her temperature and it was thirty nine point two.", [{"measure": "temperature", "value": 39.2}]),
        ("Her body condition has dropped to about a two.", [{"measure": "condition", "value": 2}]),
        ("The scales say she's fifty seven kilos.", [{"measure": "weight", "value": 57}]),
        ("We'll have to check on her again in about ten days.", [{"follow_up": "re-check", "days": 10}]),
        ("She needs moving to the other field next week.", [{"follow_up": "move", "days": 7}]),
        ("There's a brand new tag in her ear.", [{"tag": "new"}]),
    ],
)
def test_freely_worded_remarks_are_read(text, expected) -> None:
    assert facts(text) == expected


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("Left hand, hollow wall.", LEFT_HIND),
        ("Near kind hollow wall", LEFT_HIND),
        ("Right for, hollow wall.", RIGHT_FORE),
        ("Off four hollow wall", RIGHT_FORE),
        ("Left floor, hollow wall!", LEFT_FORE),
        ("Right high and hollow wall.", RIGHT_HIND),
    ],
)
def test_a_word_that_sounds_like_a_foot_is_that_foot_after_a_side(text, place) -> None:
    """Seen in what the Moonshine model writes of synthetic voices."""
    assert facts(text) == [{"place": place, "finding": "hollow wall"}]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "...",
        "Left hollow wall.",  # which foot?
        "The hollow wall of the house.",
        "Both of her back feet had curled under, so I put them right back.",
        "I trimmed the left fore and the right fore and both hinds are grand.",
        "Her inner claw's the long one there on the right fore, so it's trimmed.",
        "Scratch that.",
        "Done.",
        "Take a note that the gate is broken.",
        "Has she got a hollow wall?",
        "hollow wall " * 60,
    ],
)
def test_what_is_no_whole_remark_for_the_record_is_not_read(text) -> None:
    assert facts(text) is None


@pytest.mark.parametrize("talk", ["CHAT", "NEAR_THE_TRADE", "READING", "TALK", "ASIDES_UNSEEN", "TO_THE_ANIMAL"])
def test_other_talk_is_not_read_even_if_every_word_of_it_is_heard(talk) -> None:
    said = [one for one in getattr(other_talk, talk) if one not in ("all right", "okay")]
    assert len(said) > 10
    assert [text for text in said if facts(text) is not None] == []


def test_after_a_freely_worded_remark_more_may_come() -> None:
    """It is not cut off at a short pause, as one is to which the grammar knows nothing that could be added."""
    assert interpreter().can_go_on("she's very lame on the near hind")
    assert not interpreter().can_go_on("carry on")

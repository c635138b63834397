"""A mention finds the animal that is meant, several with reasons, or none; a guess by likeness is never silent."""

from __future__ import annotations

import pytest

from assistant.register.mention import Matcher
from assistant.register.register import Register
from assistant.values import Animal

REGISTER = Register(
    [
        Animal("1", tag="UK 0 123456 00417", number="417", name="Sorrel"),
        Animal("2", number="411", name="Tansy"),
        Animal("3", number="041", name="Pansy"),
    ]
)

MENTIONS = [
    ("sorrel", "one", {"Sorrel"}),
    ("four one seven", "one", {"Sorrel"}),
    ("417", "one", {"Sorrel"}),
    ("four hundred and seventeen", "one", {"Sorrel"}),
    ("seventeen", "one", {"Sorrel"}),
    ("oh four one", "one", {"Pansy"}),
    ("nought four one", "one", {"Pansy"}),
    ("four double one", "one", {"Tansy"}),
    ("four one something", "several", {"Tansy", "Sorrel"}),
    ("tansey", "several", {"Tansy"}),
    ("zzz", "none", set()),
]


@pytest.mark.parametrize(("mention", "decision", "names"), MENTIONS)
def test_a_mention_finds_who_is_meant(mention: str, decision: str, names: set[str]) -> None:
    found = Matcher(REGISTER, lambda word: []).match(mention)
    assert found.decision == decision
    assert {candidate.animal.name for candidate in found.candidates} == names

"""Which of several with one name: by age, group, colour, breed or sex."""

from __future__ import annotations

from datetime import date

import pytest
from herd import sources

from assistant.grammar import Grammar
from assistant.interpreter import Interpreter
from assistant.meaning.fills import animal_fills
from assistant.register.describing import described
from assistant.register.mention import Matched, Matcher
from assistant.register.register import Register
from assistant.values import Animal, Sex

TANSYS = (
    Animal("o", name="Tansy", number="417", group="Milkers", born=date(2015, 1, 1), markings="brown", sex=Sex.FEMALE),
    Animal("y", name="Tansy", number="17", group="Kids", born=date(2024, 1, 1), breed="Toggenburg", sex=Sex.MALE),
)
HERD = Register([*TANSYS, Animal("n", name="Old Nell", number="3"), Animal("s", name="Sorrel", number="4")])

SAID = [
    ("the old tansy", "o"),
    ("young tansy", "y"),
    ("tansy of the milkers", "o"),
    ("kids tansy", "y"),
    ("the brown tansy", "o"),
    ("toggenburg tansy", "y"),
    ("male tansy", "y"),
    ("tansy the brown one", "o"),
    ("old nell", "n"),
]


def pronounce(word: str) -> list[tuple[str, ...]]:
    return [tuple(word.upper())]


@pytest.mark.parametrize(("mention", "key"), SAID)
def test_a_word_beside_the_name_says_which(mention: str, key: str) -> None:
    match = Matcher(HERD, pronounce).match(mention)
    assert (match.decision, [item.animal.id for item in match.candidates]) == (Matched.ONE, [key])


@pytest.mark.parametrize("mention", ["tansy", "tansy one", "black tansy", "old sorrel"])
def test_words_that_say_nothing_or_nothing_true_take_nobody(mention: str) -> None:
    match = Matcher(HERD, pronounce).match(mention)
    assert match.decision is not Matched.ONE


def test_nobody_is_old_while_a_birth_is_unknown() -> None:
    unknown = (TANSYS[0], Animal("u", name="Tansy"))
    assert described(["old"], unknown) == ()
    twins = (TANSYS[0], Animal("w", name="Tansy", born=TANSYS[0].born))
    assert described(["old"], twins) == described(["young"], twins) == ()
    assert described(["of", "one"], TANSYS) == ()


def test_the_old_one_can_be_said_in_a_session() -> None:
    interpreter = Interpreter(Grammar.load(sources(), animal_fills(tuple(HERD))), Matcher(HERD, pronounce))
    for text in ("the old tansy, left fore overgrown", "old tansy", "young tansy", "the young tansy"):
        meaning = interpreter.heard(text.replace(",", ""))
        assert meaning.unplaced == ""
        (ids,) = interpreter.mentioned(meaning.parts).values()
        assert ids == (("o",) if "old" in text else ("y",))


def test_a_doubled_digit_of_a_number_that_nobody_has_is_no_finding() -> None:
    interpreter = Interpreter(Grammar.load(sources(), animal_fills(tuple(HERD))), Matcher(HERD, pronounce))
    assert [part.flat() for part in interpreter.typed("double one seven").parts] == [{"animal": "117"}]
    assert [part.flat() for part in interpreter.typed("treble four").parts] == [{"animal": "444"}]

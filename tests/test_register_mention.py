"""Which animal a mention means, in an invented herd."""

from __future__ import annotations

import pytest

from assistant.errors import UnknownWord
from assistant.register.mention import Context, Matched, Matcher
from assistant.register.register import Register
from assistant.values import Animal

SOUNDS = {
    "tansy": "T AE N Z IY",
    "pansy": "P AE N Z IY",
    "moral": "M AO R AH L",
    "sorrel": "S AO R AH L",
    "laurel": "L AO R AH L",
    "yarrow": "Y AE R OW",
    "burdock": "B ER D AA K",
    "teasel": "T IY Z AH L",
    "bryony": "B R AY AH N IY",
    "ivy": "AY V IY",
}

HERD = (
    Animal("t", number="401", name="Tansy", tag="UK 0 123456 00401"),
    Animal("s", number="417", name="Sorrel", nicknames=("Big Red",)),
    Animal("x", number="411", name="Teasel"),
    Animal("b3", number="503", name="Burdock"),
    Animal("b4", number="504", name="Burdock"),
    Animal("z", number="0062"),
    Animal("f", number="615"),
    Animal("g", number="3617"),
    Animal("e", number="77", electronic="826012345600099"),
)


def pronounce(word: str) -> list[list[str]]:
    if word not in SOUNDS:
        raise UnknownWord(word)
    return [SOUNDS[word].split()]


MATCHER = Matcher(Register(HERD), pronounce)


def found(mention: str, matcher: Matcher = MATCHER, **session: object) -> tuple[str, set[str]]:
    match = matcher.match(mention, Context(**session))  # type: ignore[arg-type]
    assert (match.decision is Matched.NONE) == (not match.candidates)
    assert match.decision is not Matched.ONE or len(match.candidates) == 1
    assert all(0 < one.score <= 1 and one.why for one in match.candidates)
    return str(match.decision), {one.animal.id for one in match.candidates}


ALONE = [
    ("tansy", "one", {"t"}),
    ("TANSY", "one", {"t"}),
    ("big red", "one", {"s"}),
    ("four one seven", "one", {"s"}),
    ("tag four one seven", "one", {"s"}),
    ("number 417", "one", {"s"}),
    ("four seventeen", "one", {"s"}),
    ("four hundred and seventeen", "one", {"s"}),
    ("UK 0 123456 00401", "one", {"t"}),
    ("uk012345600401", "one", {"t"}),
    ("UK 123456 00401", "one", {"t"}),  # the 0 that is often left out
    ("826012345600099", "one", {"e"}),
    ("double oh six two", "one", {"z"}),
    ("sixty two", "one", {"z"}),
    ("oh four one seven", "one", {"s"}),
    ("seventeen", "several", {"s", "g"}),  # 417 and 3617
    ("one one", "one", {"x"}),
    ("four one something", "several", {"s", "x"}),
    ("six one something", "several", {"f", "g"}),
    ("five oh something", "several", {"b3", "b4"}),
    ("burdock", "several", {"b3", "b4"}),
    ("burdock five oh three", "one", {"b3"}),
    ("five oh three burdock", "one", {"b3"}),
    ("burdock four one seven", "several", {"b3", "b4", "s"}),  # name and number contradict each other
    ("pansy", "one", {"t"}),  # nobody else sounds so
    ("tansey", "several", {"t"}),  # a slip in a short name is asked
    ("burdokc burdock", "none", set()),
    ("six fifty", "several", {"f"}),  # 650 is nobody, 615 may be meant: a number is never guessed
    ("ivy", "none", set()),
    ("nine nine nine", "none", set()),
    ("", "none", set()),
    ("tag", "none", set()),
    ("seven", "none", set()),  # one digit, no session
]


@pytest.mark.parametrize(("mention", "decision", "ids"), ALONE)
def test_without_a_session(mention: str, decision: str, ids: set[str]) -> None:
    assert found(mention) == (decision, ids)


IN_SESSION = [
    ("burdock", ("b3", "t"), (), "one", {"b3"}),  # only one of the two is planned
    ("burdock", ("b3", "b4"), (), "several", {"b3", "b4"}),
    ("burdock", ("b3", "b4"), ("b3",), "one", {"b4"}),  # the other is done
    ("burdock", ("b3", "b4"), ("b3", "b4"), "several", {"b3", "b4"}),
    ("seventeen", ("s", "t"), (), "one", {"s"}),
    ("tansy", ("t", "s"), ("t",), "one", {"t"}),  # said exactly: done or not
    ("tansy", ("s", "b3"), (), "one", {"t"}),  # not planned, but nobody planned is like her
    ("six fifty", ("f",), (), "several", {"f"}),
    ("seven", ("s", "t"), (), "several", {"s"}),
    ("pansy", ("s",), (), "several", {"t"}),  # alike only, and not planned
]


@pytest.mark.parametrize(("mention", "planned", "done", "decision", "ids"), IN_SESSION)
def test_in_a_session(
    mention: str, planned: tuple[str, ...], done: tuple[str, ...], decision: str, ids: set[str]
) -> None:
    assert found(mention, planned=planned, done=done) == (decision, ids)


def test_an_exact_name_outside_the_plan_is_asked_if_a_planned_one_sounds_alike() -> None:
    matcher = Matcher(
        Register([Animal("t", name="Tansy"), Animal("p", name="Pansy"), Animal("s", name="Sorrel")]), pronounce
    )
    assert found("pansy", matcher) == ("one", {"p"})
    assert found("pansy", matcher, planned=("p", "t")) == ("one", {"p"})
    assert found("pansy", matcher, planned=("t", "s")) == ("several", {"p", "t"})


def test_an_exact_number_outside_the_plan_is_asked_if_a_planned_one_sounds_alike() -> None:
    matcher = Matcher(Register([Animal("a", number="415"), Animal("b", number="450")]), pronounce)
    assert found("four fifteen", matcher, planned=("a", "b")) == ("one", {"a"})
    assert found("four fifteen", matcher, planned=("b",)) == ("several", {"a", "b"})


def test_two_names_alike_are_asked() -> None:
    matcher = Matcher(Register([Animal("l", name="Laurel"), Animal("s", name="Sorrel")]), pronounce)
    assert found("moral", matcher) == ("several", {"l", "s"})


def test_a_rarer_way_to_take_the_words_is_asked() -> None:
    matcher = Matcher(Register([Animal("a", number="4201")]), pronounce)
    assert found("four twenty one", matcher) == ("several", {"a"})
    matcher = Matcher(Register([Animal("a", number="4201"), Animal("b", number="421")]), pronounce)
    assert found("four twenty one", matcher) == ("one", {"b"})


def test_two_animals_with_one_number_are_asked() -> None:
    matcher = Matcher(
        Register([Animal("a", number="12"), Animal("b", number="B12"), Animal("c", number="012")]), pronounce
    )
    assert found("twelve", matcher) == ("several", {"a", "b"})


def test_the_end_of_one_number_that_sounds_like_another_whole_number_is_asked() -> None:
    matcher = Matcher(Register([Animal("a", number="1450"), Animal("b", number="415")]), pronounce)
    assert found("four fifty", matcher) == ("several", {"a", "b"})


def test_candidates_of_a_tie_are_few_and_begin_with_those_left_to_do() -> None:
    herd = [Animal(f"a{n}", number=f"{n}17") for n in range(1, 60)]
    match = Matcher(Register(herd), pronounce).match("seventeen", Context(planned=("a40", "a41"), done=("a40", "a41")))
    assert match.decision is Matched.SEVERAL
    assert {one.animal.id for one in match.candidates} == {"a40", "a41"}
    match = Matcher(Register(herd), pronounce).match("seventeen")
    assert len(match.candidates) == 8


def test_a_name_that_cannot_be_said_is_still_found_by_its_letters() -> None:
    matcher = Matcher(Register([Animal("w", name="Wxyz"), Animal("ü", name="Zoë")]), pronounce)
    assert found("wxyz", matcher) == ("one", {"w"})
    assert found("zoë", matcher) == ("one", {"ü"})

"""Spoken numbers: what the words stand for."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.register.numeral import MOST_READINGS, MOST_WORDS, alike_digits, digits_from_words, filled

SPOKEN = [
    ("four one seven", ("417",)),
    ("oh four one", ("041",)),
    ("o four one", ("041",)),
    ("nought nought seven", ("007",)),
    ("zero", ("0",)),
    ("forty two", ("42", "402")),
    ("forty-two", ("42", "402")),
    ("seventeen", ("17",)),
    ("four seventeen", ("417",)),
    ("four twenty one", ("421", "4201")),
    ("four hundred and seventeen", ("417",)),
    ("four hundred", ("400",)),
    ("a hundred and five", ("105",)),
    ("twelve hundred", ("1200",)),
    ("double four", ("44",)),
    ("double four one", ("441",)),
    ("triple four", ("444",)),
    ("twenty oh", ("200",)),
    ("treble nought one", ("0001",)),
    ("four one something", ("41?",)),
    ("something one seven", ("?17",)),
    ("four thousand and seventeen", ("4017",)),
    ("1,204", ("1204",)),
    ("417", ("417",)),
    ("four 17", ("417",)),
    ("41?", ("41?",)),
    ("Four ONE seven", ("417",)),
]

NAMES = ("oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

NO_NUMBER = [
    "",
    "tansy",
    "tansy four",
    "four and",
    "and four",
    "double",
    "double forty",
    "hundred",
    "four point five",
    "٤",
]


@pytest.mark.parametrize(("said", "digits"), SPOKEN)
def test_words_to_digits(said: str, digits: tuple[str, ...]) -> None:
    found = digits_from_words(said.split())
    assert found[: len(digits)] == digits


@pytest.mark.parametrize("said", NO_NUMBER)
def test_other_words_are_no_number(said: str) -> None:
    assert digits_from_words(said.split()) == ()


def test_many_readings_are_cut_off_quickly() -> None:
    began = time.process_time()
    assert len(digits_from_words(["twenty", "one"] * (MOST_WORDS // 2))) == MOST_READINGS
    assert digits_from_words([*["twenty", "one"] * (MOST_WORDS // 2 - 1), "and"]) == ()
    assert digits_from_words(["one"] * 5000) == ()
    assert time.process_time() - began < 1.0


@given(st.integers(0, 999_999))
def test_numbers_as_counted_in_english(value: int) -> None:
    """Source of the words: the package num2words."""
    words = pytest.importorskip("num2words").num2words(value)
    assert digits_from_words(words.split())[0] == str(value)


@given(st.text("0123456789", min_size=1, max_size=12))
def test_digits_one_by_one(digits: str) -> None:
    assert digits_from_words([NAMES[int(digit)] for digit in digits])[0] == digits


@pytest.mark.parametrize(
    ("digits", "alike"),
    [
        ("415", {"450", "419"}),
        ("450", {"415", "490"}),
        ("15", {"50", "19"}),
        ("417", {"470"}),
        ("112", set()),
        ("120", set()),
    ],
)
def test_digits_that_sound_alike(digits: str, alike: set[str]) -> None:
    assert set(alike_digits(digits)) == alike


@given(st.text("0123456789", min_size=1, max_size=8))
def test_sounding_alike_is_mutual(digits: str) -> None:
    assert all(digits in alike_digits(other) for other in alike_digits(digits))


@pytest.mark.parametrize(
    ("pattern", "count", "sample"), [("417", 1, "417"), ("41?", 10, "419"), ("?1?", 100, "010"), ("???", 0, None)]
)
def test_uncaught_digits(pattern: str, count: int, sample: str | None) -> None:
    found = filled(pattern)
    assert len(set(found)) == count
    assert sample is None or sample in found

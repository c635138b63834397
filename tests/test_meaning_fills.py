"""Spoken forms of numbers, and what the register puts into the grammar."""

from __future__ import annotations

from collections import defaultdict

import pytest
from herd import ANIMALS

from assistant.meaning.fills import animal_fills, spoken_name, spoken_numbers
from assistant.values import Animal

NUMBERS = [f"{n:0{width}d}" for width in (1, 2, 3, 4) for n in range(10**width)]


@pytest.mark.parametrize(
    ("number", "forms"),
    [
        ("417", ["four one seven", "four seventeen", "forty one seven", "four hundred and seventeen"]),
        ("041", ["oh four one", "zero four one", "nought four one", "oh forty one"]),
        ("440", ["double four zero", "four forty", "four four oh"]),
        ("42", ["forty two", "four two"]),
        ("1204", ["twelve oh four", "one two zero four"]),
        ("555", ["treble five", "five fifty five"]),
    ],
)
def test_forms_that_keepers_use(number, forms):
    assert set(forms) <= set(spoken_numbers(number))


def test_no_form_stands_for_two_numbers():
    numbers = defaultdict(set)
    for number in NUMBERS:
        for form in spoken_numbers(number):
            numbers[form].add(number)
    assert not [form for form, those in numbers.items() if len(those) > 1]


def test_whole_numbers_are_said_as_num2words_says_them():
    """num2words is an outside library; British English has "and" after hundreds."""
    num2words = pytest.importorskip("num2words").num2words
    for n in range(1, 10000):
        said = num2words(n, lang="en_GB").replace("-", " ").replace(",", "")
        assert said in spoken_numbers(str(n)), n


def test_names_numbers_and_last_digits():
    fills = animal_fills([Animal("1", number="417", name="Old Nell", nicknames=("Nellie 2",))], ["Blue Spray"], {"1"})
    names = {fill.words: fill.tags for fill in fills["animal_name"]}
    numbers = {fill.words: fill.tags for fill in fills["animal_number"]}
    assert names == {"old nell": (("animal", "Old Nell"),), "nellie two": (("animal", "Nellie 2"),)}
    assert numbers["four one seven"] == (("animal", "417"),)
    assert numbers["seventeen"] == numbers["one seven"] == (("animal", "17"),)
    assert "seven" not in numbers
    assert [fill.tags for fill in fills["medicine"]] == [(("medicine", "Blue Spray"),)]
    weights = {fill.words: fill.weight for fill in fills["animal_number"]}
    assert weights["four one seven"] == 4.0
    assert weights["seventeen"] < weights["four one seven"], "last digits are rarer than the whole number"


def test_each_form_comes_once():
    numbers = [fill.words for fill in animal_fills(ANIMALS)["animal_number"]]
    assert len(numbers) == len(set(numbers))


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("Tansy", "tansy"),
        ("O'Hara", "o'hara"),
        ("Ash-Key 3", "ash key three"),
        ("Ash ３", "ash three"),
        ("Ash ٤١", "ash four one"),
        ("Benoi\u0302te", "beno\u00eete"),
        ("—", ""),
    ],
)
def test_names_as_words(name, words):
    assert spoken_name(name) == words

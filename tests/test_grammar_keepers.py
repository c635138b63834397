"""A keeper's own grammar file, as docs/grammar.md shows it, is heard and recorded."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from meaning_table import did, saw

from assistant.meaning.meaning import meaning
from assistant.register.register import Register
from assistant.values import Animal, Scope
from assistant.wiring import Farm

PAGE = (Path(__file__).parent.parent / "docs" / "grammar.md").read_text(encoding="utf-8")
BLOCKS = [re.sub(r"(?m)^    ", "", block) for block in re.findall(r"(?m)(?:^    .*\n)+", PAGE)]


@pytest.fixture
def farm(tmp_path):
    """A holding with the files that the page shows."""
    (tmp_path / "mine.jsgf").write_text(next(block for block in BLOCKS if block.startswith("#JSGF")), encoding="utf-8")
    sounds = next(block for block in BLOCKS if block.startswith("manky "))
    (tmp_path / "pronunciations.dict").write_text(sounds, encoding="utf-8")
    return Farm(Register([Animal("a1", number="417", name="Tansy")]), tmp_path)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("left hind manky squared off", saw("LH", "foot rot") + did("LH", "trimmed")),
        ("a bit manky", saw(None, "foot rot", grade="slight")),
        ("right fore bad manky foot neatened", saw("RF", "foot rot", grade="severe") + did("RF", "trimmed")),
    ],
)
def test_the_example_of_the_page(farm, words, expected):
    readings = farm.interpreter.grammar.readings(words.split(), "remark")
    assert [part.flat() for part in meaning(readings[0], Scope())[0].parts] == expected
    assert [part.flat() for part in farm.interpreter.typed(words).parts] == expected


def test_own_sounds_come_before_those_of_the_letters(farm):
    assert farm.lexicon.of("manky")[:2] == (("M", "AE", "NG", "K", "IY"), ("M", "AA", "NG", "K", "IY"))


def test_the_rules_that_the_page_names_exist(farm):
    rows = re.findall(r"(?m)^\| (\w+) \| (`<.*?>`) \|", PAGE)
    assert rows
    for grammar, rules in rows:
        for rule in re.findall(r"<(\w+)>", rules):
            assert farm.interpreter.grammar.words(f"{grammar}.{rule}")

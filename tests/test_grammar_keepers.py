"""A keeper's own grammar file, as docs/grammar.md shows it, is heard and recorded."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from meaning_table import did, saw

from assistant.errors import BadGrammar
from assistant.live.farm import Farm
from assistant.meaning.meaning import meaning
from assistant.register.register import Register
from assistant.values import Animal, Scope

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


@pytest.mark.parametrize(
    ("tag", "told"),
    [
        (
            "{greeting=yes}",
            r"mine\.jsgf:3: there is no slot 'greeting', use one of action, add, .*: '\{greeting=yes\}'",
        ),
        ("{manky}", r"mine\.jsgf:3: 'manky' is no tag, use one of missing, replaced, new"),
        ("{finding=}", r"mine\.jsgf:3: a tag has a value"),
        ("{grade=awful}", r"'awful' is no grade, use one of slight, moderate, severe"),
        ("{measure=weight} {add=many}", r"'many' is no number"),
        ("{measure=weight} {add=1e400}", r"'1e400' is no number"),
        ("{follow_up=check} {add=1} {unit=week}", r"'week' is no number"),
        ("{order=before}", r"'before' is no order, use one of after"),
    ],
)
def test_a_tag_that_means_nothing_is_told_with_its_place(tmp_path, tag, told):
    (tmp_path / "mine.jsgf").write_text(f"#JSGF V1.0;\ngrammar feet;\n<ungraded> = [a] (zibble {tag} | zabble);\n")
    with pytest.raises(BadGrammar, match=told):
        Farm(Register([Animal("a1", name="Tansy")]), tmp_path).interpreter  # noqa: B018


@pytest.mark.parametrize("tag", ["{add=3}", "{unit=7}", "{graded=severe}", "{medicine=x}", "{reason=cold}"])
def test_a_tag_that_belongs_to_something_is_nothing_by_itself(tmp_path, tag):
    (tmp_path / "mine.jsgf").write_text(f"#JSGF V1.0;\ngrammar feet;\n<ungraded> = zibble {tag};\n")
    assert Farm(Register([Animal("a1", name="Tansy")]), tmp_path).interpreter.typed("zibble").parts == ()

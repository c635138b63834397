"""The grammar files of the trade load, and give remarks the tags that carry their meaning."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from assistant.grammar import Fill, Grammar

FOLDER = Path(__file__).parent.parent / "grammars"


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    """All files, with three invented animals."""
    sources = [(file.name, file.read_text(encoding="utf-8")) for file in sorted(FOLDER.glob("*.jsgf"))]
    names = [Fill(name, (("animal", name),)) for name in ("tansy", "sorrel", "yarrow")]
    numbers = [Fill("four one seven", (("animal", "417"),))]
    return Grammar.load(sources, {"animal_name": names, "animal_number": numbers, "medicine": []})


REMARKS = [
    ("left hind hollow wall trimmed", [("place", "left hind"), ("finding", "hollow wall"), ("action", "trimmed")]),
    (
        "both fores a bit long trimmed",
        [("place", "both fores"), ("grade", "slight"), ("finding", "overgrown"), ("action", "trimmed")],
    ),
    ("next is sorrel", [("command", "next"), ("animal", "sorrel")]),
    ("scratch that", [("command", "scratch")]),
    ("who's left", [("question", "who is left")]),
    ("done", [("command", "done")]),
]


@pytest.mark.parametrize(("remark", "tags"), REMARKS)
def test_a_remark_has_its_tags(grammar: Grammar, remark: str, tags: list[tuple[str, str]]) -> None:
    best = grammar.readings(remark.split())[0]
    assert [(tag.slot, tag.value) for tag in best.tags] == tags


def test_every_sampled_remark_is_read_with_its_own_tags(grammar: Grammar) -> None:
    rng = random.Random(1)
    for _ in range(100):
        words, tags = grammar.sample(rng)
        readings = grammar.readings(words)
        assert readings
        assert any(reading.tags == tags for reading in readings) or len(readings) >= 64


def test_other_talk_is_no_remark(grammar: Grammar) -> None:
    assert not grammar.readings(["shall", "we", "have", "tea", "now"])

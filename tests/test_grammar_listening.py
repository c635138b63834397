"""The grammar files: small enough to listen with, canonical values only, every word with a sound."""

from __future__ import annotations

import re

from herd import GRAMMARS, grammar, sources

from assistant.grammar import Grammar
from assistant.hearing.pronunciation import PHONES, Lexicon
from assistant.meaning.fills import animal_fills

PLACEHOLDERS = animal_fills((), ())
DICTIONARY = GRAMMARS / "pronunciations.dict"


def words():
    return Grammar.load(sources(), PLACEHOLDERS).words("phrase")


def test_the_graph_that_listeners_search_is_of_bounded_size():
    """A register of 42 animals; larger graphs made a listener too slow."""
    graph = grammar().graph("remark")
    assert len(graph.arcs) < 25_000
    assert len(graph.finals) > 0


def test_every_word_is_in_a_dictionary():
    """None is left to spelling rules: in the en-us dictionary of PocketSphinx, or in our additions."""
    additions = {line.split()[0].split("(")[0] for line in DICTIONARY.read_text(encoding="utf-8").splitlines() if line}
    listed = set(Lexicon()._dictionary) | additions
    assert not words() - listed


def test_added_pronunciations_are_well_formed():
    lines = [line.split() for line in DICTIONARY.read_text(encoding="utf-8").splitlines() if line]
    assert all(re.fullmatch(r"[a-z']+(\(\d\))?", line[0]) and set(line[1:]) <= PHONES and line[1:] for line in lines)
    heads = [line[0] for line in lines]
    assert len(heads) == len(set(heads))
    assert Lexicon.read([DICTIONARY]).of("fores")


def test_tags_have_known_slots():
    known = {
        "place",
        "and",
        "part",
        "in",
        "grade",
        "graded",
        "finding",
        "action",
        "either",
        "medicine",
        "measure",
        "add",
        "unit",
        "follow_up",
        "trait",
        "mark",
        "tag",
    }
    known |= {"animal", "command", "reason", "question", "order"}
    slots = {match for _, text in sources() for match in re.findall(r"\{(\w+)=", text)}
    assert slots <= known

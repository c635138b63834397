"""The grammar files: small enough to listen with, canonical values only, every word with a sound."""

from __future__ import annotations

import re
from functools import cache

import pytest
from demo_script import LINES, REGISTER
from farm_sentences import SENTENCES
from herd import ANIMALS, GRAMMARS, grammar, sources

from assistant.grammar import Grammar
from assistant.hearing.dictionary import dictionary
from assistant.hearing.pronunciation import PHONES, Lexicon
from assistant.meaning.fills import animal_fills
from assistant.meaning.typed_words import words_of
from assistant.register.reading import animals_from_csv

PLACEHOLDERS = animal_fills((), ())
FREE_OF_MEANING = [
    "near rear there's nail pus thorn hinds sole an nicked heat flap",
    "and toe fine trim on the front right an mild stinks spray",
    "thorn and tidied cut penned off fore drained cleaned",
    "a coughing",
    "an fine nothing wrong",
]
"""Heard in talk and noise with a grammar that let any phrase follow any other."""
DICTIONARY = GRAMMARS / "pronunciations.dict"


@cache
def with_both_herds():
    demo = animals_from_csv(REGISTER.encode(), "register").animals
    return Grammar.load(sources(), animal_fills((*ANIMALS, *demo)))


def words():
    return Grammar.load(sources(), PLACEHOLDERS).words("phrase")


def test_the_graph_that_listeners_search_is_of_bounded_size():
    """A register of 42 animals: what PocketSphinx takes for a second of sound grows with the arcs."""
    graph = grammar().graph("remark")
    assert len(graph.arcs) < 9_600
    assert len(graph.finals) > 0


@pytest.mark.parametrize("words", [words for words, _ in SENTENCES] + [line.say for line in LINES if line.expect])
def test_what_is_said_in_the_recordings_is_listened_for(words):
    assert with_both_herds().readings(words_of(words), "remark")


@pytest.mark.parametrize("words", FREE_OF_MEANING)
def test_strings_that_listeners_made_of_noise_are_not(words):
    assert not grammar().readings(words.split(), "remark")


def test_every_word_is_in_a_dictionary():
    """None is left to spelling rules: in the en-us dictionary of PocketSphinx, or in our additions."""
    additions = {line.split()[0].split("(")[0] for line in DICTIONARY.read_text(encoding="utf-8").splitlines() if line}
    assert not [word for word in words() - additions if not dictionary().of(word)]


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
    known |= {"animal", "command", "reason", "question", "order", "aside"}
    slots = {match for _, text in sources() for match in re.findall(r"\{(\w+)=", text)}
    assert slots <= known

"""What is said to the animal or a helper is read as nothing; what is for the record never is."""

from __future__ import annotations

import random
from functools import cache

import pytest
from herd import ANIMALS, EXTRA, GRAMMARS, grammar
from other_talk import TO_THE_ANIMAL
from remark_sampler import remarks

from assistant.hearing.agreement import NOTHING
from assistant.hearing.dictionary import dictionary
from assistant.interpreter import Interpreter
from assistant.listening.spoken import lexicon
from assistant.register.mention import Matcher
from assistant.register.register import Register

ALSO_FOR_THE_RECORD = {"off you go", "all right", "okay", "right", "nearly done"}
"""Of these words the same are orders or findings; "nearly done" ends in one."""


def is_aside(words: str) -> bool:
    return interpreter().key(words) == NOTHING


@cache
def interpreter() -> Interpreter:
    register = Register((*ANIMALS, *EXTRA))
    return Interpreter(grammar(), Matcher(register, lexicon().of))


@pytest.mark.parametrize("words", [one for one in TO_THE_ANIMAL if one not in ALSO_FOR_THE_RECORD])
def test_what_is_said_to_the_animal_means_nothing(words: str) -> None:
    assert grammar().readings(words.split(), "remark"), "it is not listened for"
    assert is_aside(words)


def test_every_aside_means_nothing() -> None:
    rng = random.Random(3)
    said = {" ".join(grammar().sample(rng, "aside")[0]) for _ in range(3000)}
    assert len(said) > 1000
    assert [words for words in said if not is_aside(words)] == []


def test_what_is_for_the_record_is_no_aside() -> None:
    """Remarks drawn from the forms of docs/vocabulary.md; that page has no aside."""
    drawn = [words for words, _ in remarks(2000, seed=77)]
    assert [words for words in drawn if is_aside(words)] == []


def test_the_words_of_asides_are_in_the_dictionary() -> None:
    """A word that is sounded out from its letters would be heard badly."""
    added = {line.split()[0] for line in (GRAMMARS / "pronunciations.dict").read_text(encoding="utf-8").splitlines()}
    assert [word for word in sorted(grammar().words("aside")) if not dictionary().of(word) and word not in added] == []

"""How words sound."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import BadSetting, UnknownWord
from assistant.hearing.pronunciation import PHONES, VOWELS, Lexicon, british_variants

AMERICAN = Lexicon(british=False)

LISTED = [  # as the CMU Pronouncing Dictionary has them
    ("tansy", {"T AE N Z IY"}),
    ("sorrel", {"S AO R AH L"}),
    ("campion", {"K AE M P IY AH N"}),
    ("tomato", {"T AH M EY T OW", "T AH M AA T OW"}),
    ("ewe", {"Y UW"}),
]
SOUNDED_OUT = [
    ("teasel", "T IY Z AH L"),
    ("bryony", "B R AY AH N IY"),
    ("borage", "B AO R IH JH"),
    ("toadflax", "T OW D F L AE K S"),
]
BRITISH = [
    ("lot", "L AA T", {"L AO T"}),
    ("hard", "HH AA R D", {"HH AA D"}),
    ("near", "N IH R", {"N IH AH"}),
    ("third", "TH ER D", set()),
    ("back", "B AE K", {"B AA K"}),
    ("hammer", "HH AE M ER", {"HH AE M AH", "HH AA M ER", "HH AA M AH"}),
    ("new", "N UW", {"N Y UW"}),
    ("zero", "Z IH R OW", set()),
]


def spoken(text):
    return tuple(text.split())


@pytest.mark.parametrize(("word", "expected"), LISTED)
def test_dictionary_words_have_all_their_variants(word, expected):
    assert set(AMERICAN.of(word)) == {spoken(text) for text in expected}


@pytest.mark.parametrize(("word", "expected"), SOUNDED_OUT)
def test_a_name_in_no_dictionary_is_sounded_out(word, expected):
    pytest.importorskip("hama")
    assert AMERICAN.of(word) == (spoken(expected),)


@pytest.mark.parametrize(("word", "american", "expected"), BRITISH)
def test_british_variants(word, american, expected):
    assert set(british_variants(word, spoken(american))) == {spoken(text) for text in expected}


def test_british_variants_come_after_the_dictionary():
    assert Lexicon().of("hard") == (spoken("HH AA R D"), spoken("HH AA D"))


def test_additions_come_first_and_keep_what_is_listed():
    lexicon = Lexicon(
        [("own.dict", "# ours\nYarrow  Y AE1 R OW0\nyarrow(2) Y EH R AH\nquendle K W EH N D AH L\n")], False
    )
    assert lexicon.of("yarrow") == (spoken("Y AE R OW"), spoken("Y EH R AH"), spoken("Y AA R OW"))
    assert lexicon.of("quendle") == (spoken("K W EH N D AH L"),)


@pytest.mark.parametrize("word", ["4071", "", "æ", "two words"])
def test_what_cannot_be_said_is_named(word):
    with pytest.raises(UnknownWord, match=f'"{word}" sounds. Add a line'):
        AMERICAN.of(word)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("tansy T AE N Z IY\nsorrel", "own.dict, line 2: no sounds after 'sorrel'"),
        ("tansy T Ä N Z IY", "own.dict, line 1: 'Ä'"),
    ],
)
def test_a_bad_line_is_named(text, message):
    with pytest.raises(BadSetting, match=message):
        Lexicon([("own.dict", text)])


def test_files(tmp_path: Path):
    own = tmp_path / "pronunciations.dict"
    own.write_text("teat T IH T\n", encoding="utf-8")
    assert Lexicon.read([own, tmp_path / "none.dict"]).of("teat")[0] == spoken("T IH T")
    own.write_bytes(b"\xff\xfe\xff")
    with pytest.raises(BadSetting, match="cannot be read"):
        Lexicon.read([own])


@given(st.lists(st.sampled_from(sorted(PHONES)), min_size=1, max_size=9).filter(VOWELS.intersection))
def test_variants_are_made_of_known_sounds_and_keep_a_vowel(phones):
    for variant in british_variants("word", tuple(phones)):
        assert set(variant) <= PHONES
        assert VOWELS & set(variant)

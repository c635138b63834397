"""How words are spelt in tokens: joining pairs, and the ways in which one word is written."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.hearing.spelling import SPACE, Speller, Trie
from assistant.values import Arc

# Numbers are ranks: "hi" is joined before "in", and "hind" only out of "hi" and "nd".
PIECES = ["<s>", "", "hi", "nd", "in", "hind", SPACE + "hind", SPACE, *"abcdefghijklmnopqrstuvwxyz", *"HF0123456789,.-"]
SPELLER = Speller(PIECES)
A, AB = Arc(0, 1, "a"), Arc(0, 2, "ab")


def written(word, is_first=False, after_digits=False):
    return {
        ("".join(PIECES[token] for token in spelling.tokens), spelling.in_digits)
        for spelling in SPELLER.spellings(word, is_first, after_digits)
    }


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("hind", ["hind"]),
        (SPACE + "hind", [SPACE + "hind"]),
        ("hin", ["hi", "n"]),
        ("ind", ["i", "nd"]),
        ("ada", ["a", "d", "a"]),
        ("", []),
        ("ü", []),
    ],
)
def test_pairs_are_joined_in_the_order_of_their_ranks(text, pieces):
    assert [PIECES[token] for token in SPELLER.tokens(text)] == pieces


@given(st.text("abhindHF0123-", min_size=1))
def test_tokens_give_the_text_back(text):
    assert "".join(PIECES[token] for token in SPELLER.tokens(text)) == text


def test_first_token_of_the_same_text_is_used():
    assert Speller(["a", "b", "ab", "ab"]).tokens("ab") == (2,)


WORD = {(SPACE + "four", False), (SPACE + "Four", False)}


@pytest.mark.parametrize(
    ("word", "where", "ways"),
    [
        ("hind", {"is_first": True}, {(SPACE + "hind", False), (SPACE + "Hind", False)}),
        ("hind", {}, {(SPACE + "hind", False), (SPACE + "Hind", False), ("-hind", False)}),
        ("four", {}, {*WORD, ("-four", False), (SPACE + "4", True)}),
        ("four", {"after_digits": True}, {*WORD, ("-four", False), (SPACE + "4", True), ("4", True)}),
        (
            "forty",
            {"is_first": True},
            {(SPACE + "forty", False), (SPACE + "Forty", False)} | {(SPACE + n, True) for n in ("4", "40")},
        ),
    ],
)
def test_ways_to_write_a_word(word, where, ways):
    assert written(word, **where) == ways


def test_marks_are_the_ones_that_have_a_token():
    assert [PIECES[mark] for mark in SPELLER.marks] == [",", "."]


def test_trie_keeps_a_word_that_begins_another():
    trie = Trie()
    trie.add((1,), (A, False))
    trie.add((1, 2), (AB, False))
    node = trie.following[1]
    assert node.ends == [(A, False)]
    assert node.following[2].ends == [(AB, False)]

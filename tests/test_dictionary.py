"""The dictionary in PocketSphinx's wheel is looked into where it lies."""

import re
from itertools import pairwise
from pathlib import Path

import pytest
from pocketsphinx import get_model_path

from assistant.hearing.dictionary import Dictionary

INSTALLED = Path(get_model_path()) / "en-us" / "cmudict-en-us.dict"
SMALL = "'bout B AW T\na AH\na(2) EY\na's EY Z\nlot L AA T\nlots L AA T S\n"


def dictionary(folder, text):
    file = folder / "small.dict"
    file.write_text(text, encoding="utf-8")
    return Dictionary(file)


@pytest.mark.parametrize(
    ("word", "found"),
    [("'bout", ("B AW T",)), ("a", ("AH", "EY")), ("a's", ("EY Z",)), ("lot", ("L AA T",)), ("lots", ("L AA T S",))],
)
@pytest.mark.parametrize("text", [SMALL, SMALL.rstrip()], ids=["with a last line end", "without"])
def test_a_word_has_all_its_ways(tmp_path, word, found, text):
    assert dictionary(tmp_path, text).of(word) == found


@pytest.mark.parametrize("word", ["", "!", "b", "lo", "lotss", "zebra", "ö", "a(2)"])
def test_a_word_that_is_not_listed_has_none(tmp_path, word):
    assert dictionary(tmp_path, SMALL).of(word) == ()


def test_the_installed_one_is_in_order_and_gives_what_it_lists():
    heads = [re.sub(rb"\(\d+\)$", b"", line.partition(b" ")[0]) for line in INSTALLED.read_bytes().splitlines()]
    assert all(one <= other for one, other in pairwise(heads))
    lines: dict[str, list[str]] = {}
    for head, line in zip(heads, INSTALLED.read_text(encoding="utf-8").splitlines(), strict=True):
        lines.setdefault(head.decode(), []).append(line.partition(" ")[2])
    installed = Dictionary(INSTALLED)
    assert all(installed.of(word) == tuple(lines[word]) for word in list(lines)[::97])

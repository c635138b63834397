"""How much two names sound alike."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import islice, product

from rapidfuzz.distance import Levenshtein

from assistant.errors import UnknownWord

Pronounce = Callable[[str], Sequence[Sequence[str]]]
"""Gives every way to say one lower-case word, in ARPAbet without stress."""

MOST_WAYS = 6
"""Ways to say one name that are compared; long names of ambiguous words have more."""

_DIGIT_WORDS = dict(
    zip("0123456789", ["oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"], strict=True)
)

_GROUPS = (
    "P T K",
    "B D G",
    "F TH S SH HH CH",
    "V DH Z ZH JH",
    "M N NG",
    "L R W Y",
    "IY IH EY EH AE",
    "AA AO AH OW UH UW ER",
    "AY AW OY",
)
"""Sounds that are easily taken for each other: noise hides the place of a consonant, but not voice and nasality.

Source: G. A. Miller and P. E. Nicely, An analysis of perceptual confusions among some English consonants, Journal of
the Acoustical Society of America 27 (1955); the vowels by front, back and glide.
"""

_LETTER = {phone: chr(ord("!") + n) for n, phone in enumerate(" ".join(_GROUPS).split())}
_GROUP = {ord(_LETTER[phone]): chr(ord("a") + n) for n, group in enumerate(_GROUPS) for phone in group.split()}


def plain_words(text: str) -> list[str]:
    """Lower-case words of a name without accents; digits as the words for them one by one."""
    folded = unicodedata.normalize("NFKD", text.casefold())
    spaced = re.sub(r"[0-9]", lambda digit: f" {_DIGIT_WORDS[digit.group()]} ", folded)
    return re.findall(r"[a-z']+", re.sub(r"[\u0300-\u036f]", "", spaced))


def grouped(sound: str) -> str:
    """A sound string with every sound replaced by its group of easily confused sounds."""
    return sound.translate(_GROUP)


def likeness(one: str, other: str) -> float:
    """How alike two sound strings are, 0 to 1.

    The mean of the edit distance between sounds and that between their groups, so that an exchange inside a group costs
    half; over the longer length.
    """
    longer = max(len(one), len(other))
    if not longer:
        return 0.0
    edits = Levenshtein.distance(one, other) + Levenshtein.distance(grouped(one), grouped(other))
    return 1 - edits / (2 * longer)


class Sounds:
    """Names as sound strings: one character for a sound.

    Args:
        pronounce: raises `UnknownWord` for a word that it cannot say; a name with such a word has no sound.
    """

    def __init__(self, pronounce: Pronounce) -> None:
        self._ways = lru_cache(maxsize=None)(lambda word: _encoded(pronounce, word))

    def of(self, text: str) -> tuple[str, ...]:
        """The ways to say `text`, each once; empty if it cannot be said."""
        ways = [self._ways(word) for word in plain_words(text)]
        if not ways or not all(ways):
            return ()
        return tuple(dict.fromkeys("".join(choice) for choice in islice(product(*ways), MOST_WAYS)))

    def likeness(self, one: str, other: str) -> float:
        """How alike two names are when said in the ways that are most alike, 0 to 1."""
        return max((likeness(a, b) for a in self.of(one) for b in self.of(other)), default=0.0)


def _encoded(pronounce: Pronounce, word: str) -> tuple[str, ...]:
    try:
        ways = pronounce(word)
    except UnknownWord:
        return ()
    return tuple("".join(_LETTER[phone] for phone in way if phone in _LETTER) for way in ways)

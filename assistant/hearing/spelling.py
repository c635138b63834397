"""How the words of a grammar are written in the tokens of a text model."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from assistant.values import Arc

SPACE = "\u2581"
"""Stands for the space before a word in the text of a token (SentencePiece)."""
MARKS = (",", ".", "?", "!")

_BELOW_TWENTY = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen"
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
FIGURES = {
    **{word: (str(number),) for number, word in enumerate(f"{_BELOW_TWENTY} seventeen eighteen nineteen".split())},
    # "forty two" is written 42, so that "forty" is 4 there.
    **{word: (f"{number}0", str(number)) for number, word in enumerate(_TENS.split(), start=2)},
}
"""How numbers are written in digits."""


@dataclass(frozen=True)
class Spelling:
    """One way to write a word."""

    tokens: tuple[int, ...]
    in_digits: bool


@dataclass
class Trie:
    """Words by the beginnings of their spellings.

    Attributes:
        following: by the next token.
        ends: words that are complete here: (arc of the graph, whether it is in digits).
    """

    following: dict[int, Trie] = field(default_factory=dict)
    ends: list[tuple[Arc, bool]] = field(default_factory=list)

    def add(self, tokens: Sequence[int], end: tuple[Arc, bool]) -> None:
        """Puts in one spelling."""
        node = self
        for token in tokens:
            node = node.following.setdefault(token, Trie())
        node.ends.append(end)


class Speller:
    """Spells words in the tokens of a byte pair encoding.

    Args:
        pieces: the text of each token, empty for none; of the pairs of pieces that can be joined, the one with the
            lowest number is joined first (Sennrich et al. 2016, as SentencePiece has it).

    Attributes:
        letters: how many letters and digits each token has.
        marks: the tokens of punctuation marks.
    """

    def __init__(self, pieces: Sequence[str]) -> None:
        self._number = {piece: number for number, piece in reversed(list(enumerate(pieces))) if piece}
        self._pieces = tuple(pieces)
        self.letters = tuple(sum(map(str.isalnum, piece)) for piece in pieces)
        self.marks = tuple(self._number[mark] for mark in MARKS if mark in self._number)

    def text(self, tokens: Sequence[int]) -> str:
        """What tokens spell."""
        return "".join(self._pieces[token] for token in tokens).replace(SPACE, " ").strip()

    def tokens(self, text: str) -> tuple[int, ...]:
        """The tokens of a word; () if it has a character that is no piece."""
        parts = list(text)
        if not self._number.keys() >= set(parts):
            return ()
        while True:
            joined = [
                (self._number[pair], at)
                for at in range(len(parts) - 1)
                if (pair := parts[at] + parts[at + 1]) in self._number
            ]
            if not joined:
                return tuple(self._number[part] for part in parts)
            _, at = min(joined)
            parts[at : at + 2] = [parts[at] + parts[at + 1]]

    def spellings(self, word: str, is_first: bool, after_digits: bool) -> Iterator[Spelling]:
        """The ways in which a word is written, each once.

        Args:
            word: lower case.
            is_first: whether it begins the sentence; later words may come after a hyphen.
            after_digits: whether the word before is in digits; then digits may go on without a space.
        """
        words = [SPACE + word, SPACE + word.capitalize(), *(["-" + word] * (not is_first))]
        figures = FIGURES.get(word, ())
        numbers = [before + figure for figure in figures for before in (SPACE, "")[: 1 + after_digits]]
        for text in (*words, *numbers):
            if tokens := self.tokens(text):
                yield Spelling(tokens, text in numbers)

"""What a text model writes of a sound where no grammar holds it: its likeliest transcripts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from assistant.hearing.moonshine_model import BEGIN, END, Writing
from assistant.hearing.spelling import Speller

MOST_TEXTS = 5
"""Transcripts that are given, and beginnings that are kept."""


@dataclass(frozen=True)
class _Text:
    """The beginning of a text, or all of it.

    Attributes:
        tokens: without the one at the end.
        score: natural log of its likelihood.
        source: the row and the token that it goes on with.
        letters: how many it has.
    """

    tokens: tuple[int, ...]
    score: float
    source: tuple[int, int]
    letters: int = 0

    @property
    def is_whole(self) -> bool:
        return self.source[1] == END


def transcripts(writing: Writing, speller: Speller, worth: Callable[[int], float], most_tokens: int) -> tuple[str, ...]:
    """Texts that differ in more than capitals, spaces and marks, likeliest first.

    Args:
        writing: of one sound, at its beginning.
        speller: of the same model.
        worth: what so many letters add to the score.
        most_tokens: no text is longer.
    """
    alive, whole = [_Text((), 0.0, (0, BEGIN))], list[_Text]()
    for _ in range(most_tokens):
        likelihoods = writing.after([one.source for one in alive])
        longer = [
            _longer(one, row, int(token), float(likelihoods[row, token]), speller)
            for row, one in enumerate(alive)
            for token in np.argpartition(-likelihoods[row], MOST_TEXTS)[:MOST_TEXTS]
        ]
        ranked = sorted(longer, key=lambda one: -one.score - worth(one.letters))
        kept: dict[tuple[str, bool], _Text] = {}
        for one in ranked:
            kept.setdefault((_plain(speller.text(one.tokens)), one.is_whole), one)
        best = list(kept.values())[:MOST_TEXTS]
        whole += [one for one in best if one.is_whole]
        alive = [one for one in best if not one.is_whole]
        if not alive or len(whole) >= MOST_TEXTS:
            break
    found: dict[str, str] = {}
    for one in sorted(whole, key=lambda one: -one.score - worth(one.letters)):
        text = speller.text(one.tokens)
        found.setdefault(_plain(text), text)
    found.pop("", None)
    return tuple(found.values())[:MOST_TEXTS]


def _longer(one: _Text, row: int, token: int, likelihood: float, speller: Speller) -> _Text:
    if token == END:
        return _Text(one.tokens, one.score + likelihood, (row, END), one.letters)
    letters = one.letters + speller.letters[token]
    return _Text((*one.tokens, token), one.score + likelihood, (row, token), letters)


def _plain(text: str) -> str:
    return "".join(filter(str.isalnum, text.casefold()))

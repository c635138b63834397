"""Moonshine as a listener: a small English speech model, held to the sentences of the word graph.

The model writes text token by token. Here it may only go on with tokens that spell a sentence of the graph, in any of
the ways in which it writes one: with capitals, commas, hyphens or digits. The likeliest beginnings are kept.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.conditioning import MARGIN_S, conditioned
from assistant.hearing.free_text import transcripts
from assistant.hearing.listener import with_others
from assistant.hearing.moonshine_model import BEGIN, END, MoonshineModel
from assistant.hearing.sentences import Prior, only
from assistant.hearing.spelling import Speller, Trie
from assistant.values import Arc, HeardWord, Hearing, Reading, Sound, WordGraph

MOST_READINGS = 6
LEAST_S = 0.1
"""Nothing is said in less, and the model writes something in any case."""
LETTER, LETTERS_A_SECOND = 0.8, 9
"""Added to the score for each letter, up to so many a second, which is slow speech.

Such models readily stop too early, before words that they find unlikely.
"""
PRIOR = 1.0
"""What the costs of the graph count. They are not shared out here, which would count against long sentences."""
STRANGE = 3.0, 1.0
"""What a sentence costs that is not in the graph, and each of its words."""
LEAST_LETTERS_A_SECOND = 4.0
"""Nobody speaks a remark more slowly: a sentence with fewer letters for the speech has left some of it out."""
TOKENS_A_SECOND, TOKENS_MORE = 10, 20
"""A text is at most this long; nobody speaks faster."""

Words = tuple[str, ...]


@dataclass(frozen=True)
class Width:
    """How much a search keeps.

    Attributes:
        rows: beginnings that are kept, counted without those that only read the same tokens differently.
        gap: a beginning this much less likely than the best one (natural log) is given up.
        alike: rows that are kept of beginnings with the same words.
    """

    rows: int = 6
    gap: float = 14.0
    alike: int = 6


EVERY = Width(rows=16, gap=14.0, alike=1)
"""For a few given sentences, of which only those far below the best may be lost."""


class _Sentences:
    """How the sentences of a graph are written.

    Args:
        graph: the sentences.
        speller: spells their words.
    """

    def __init__(self, graph: WordGraph, speller: Speller) -> None:
        self.start, self.finals, self._speller = graph.start, graph.finals, speller
        self._following: defaultdict[int, list[Arc]] = defaultdict(list)
        for arc in graph.arcs:
            self._following[arc.source].append(arc)
        self._tries: dict[tuple[int, bool], Trie] = {}

    def trie(self, state: int, in_digits: bool) -> Trie:
        """How the words after a state may be written, after a word in digits or another."""
        key = state, in_digits
        if key not in self._tries:
            trie = self._tries[key] = Trie()
            for arc in self._following[state]:
                for spelling in self._speller.spellings(arc.word, state == self.start, in_digits):
                    trie.add(spelling.tokens, (arc, spelling.in_digits))
        return self._tries[key]


@dataclass(frozen=True)
class _Beginning:
    """The beginning of a sentence.

    Attributes:
        words: those that are complete.
        state: of the graph, after them.
        score: natural log of its likelihood.
        source: the row and the token that it goes on with.
        trie: how the word begun may go on; None between words.
        is_marked: whether a punctuation mark comes after the last word.
        in_digits: whether the last word is written in digits.
        letters: how many it has, with those of the word begun.
        begun: letters of the word begun.
    """

    words: Words
    state: int
    score: float
    source: tuple[int, int]
    trie: Trie | None = None
    is_marked: bool = False
    in_digits: bool = False
    letters: int = 0
    begun: int = 0


class MoonshineListener:
    """Hears the sentences of a word graph with the model in the wheel of Moonshine.

    Args:
        graph: what can be said.

    Raises:
        ListenerMissing: Moonshine is not installed, or cannot run here.
    """

    name = "moonshine"

    def __init__(self, graph: WordGraph) -> None:
        self._model = MoonshineModel()
        self._speller = Speller(self._model.pieces)
        self.expect(graph)

    def expect(self, graph: WordGraph) -> None:
        """From now on the sentences of `graph` are listened for. Every word can be spelt."""
        self._sentences, self._prior = _Sentences(graph, self._speller), Prior(graph, STRANGE)

    def hear(self, sound: Sound) -> Hearing:
        """Hears one remark.

        Args:
            sound: 16 kHz mono, any length.

        Returns:
            At most six complete sentences of the graph, best first, by the sound and the costs of the graph. The strain
            is of the sound alone, against the text that the model writes freely. The model gives no times: those of the
            words are shared out by their letters.

        Raises:
            BadAudio: another sample rate, or samples that are not finite.
        """
        ready = conditioned(sound)
        if sound.length_s < LEAST_S:
            return Hearing(self.name, ())
        free, scores = self._search(ready, self._sentences, Width())
        if not scores:
            return Hearing(self.name, ())
        speech_s = _speech_s(ready)
        start_s = max(0.0, ready.start_s + MARGIN_S - sound.start_s)
        end_s = min(start_s + speech_s, sound.length_s)
        best = sorted(scores, key=lambda words: -scores[words])[:MOST_READINGS]
        readings = tuple(Reading(_shared_out(words, start_s, end_s), scores[words]) for words in best)
        return Hearing(self.name, readings, max(0.0, free - self._by_sound(readings)) / _told_s(readings, speech_s))

    def weighed(self, sound: Sound, hearing: Hearing, sentences: Collection[str]) -> Hearing:
        """What it heard, with the readings of others beside its own; see `assistant.hearing.listener.Weighing`."""
        others = set(sentences) - {reading.text for reading in hearing.readings}
        if sound.length_s < LEAST_S or not others:
            return hearing
        ready = conditioned(sound)
        free, found = self._search(ready, _Sentences(only(sorted(others)), self._speller), EVERY)
        scores = {" ".join(words): score - PRIOR * self._prior.cost(words) for words, score in found.items()}
        more = with_others(hearing, {text: score for text, score in scores.items() if score > -math.inf}, sound)
        if not more.readings:
            return hearing
        speech_s = _speech_s(ready)
        told_s = _told_s(more.readings, speech_s)
        if hearing.strain is None:
            return replace(more, strain=max(0.0, free - self._by_sound(more.readings)) / told_s)
        # The search keeps little and may have lost the sentence that fits best; with it the sound strains less.
        excess = hearing.strain * _told_s(hearing.readings, speech_s)
        excess -= self._by_sound(more.readings) - self._by_sound(hearing.readings)
        return replace(more, strain=max(0.0, excess) / told_s)

    def transcripts(self, sound: Sound) -> Sequence[str]:
        """What the model writes where no grammar holds it; see `assistant.hearing.listener.Transcribing`."""
        if sound.length_s < LEAST_S:
            return ()
        ready = conditioned(sound)
        worth = _worth_of_letters(_speech_s(ready))
        return transcripts(self._model.listen(ready.samples), self._speller, worth, _most_tokens(ready))

    def _by_sound(self, readings: Sequence[Reading]) -> float:
        """The best score without the share of the graph."""
        return max(one.score + PRIOR * self._prior.cost(one.text.split()) for one in readings)

    def _search(self, sound: Sound, sentences: _Sentences, width: Width) -> tuple[float, Mapping[Words, float]]:
        """The score of the free text, and those of sentences; each is summed over the ways in which it is written."""
        writing = self._model.listen(sound.samples)
        worth = _worth_of_letters(_speech_s(sound))
        free, free_letters, free_source = 0.0, 0, (0, BEGIN)
        scores: defaultdict[Words, float] = defaultdict(lambda: -math.inf)
        alive = [_Beginning((), sentences.start, 0.0, free_source)]
        for _ in range(_most_tokens(sound)):
            wanted = [one.source for one in alive] + [free_source] * (free_source[1] != END)
            rows = {source: row for row, source in enumerate(dict.fromkeys(wanted))}
            likelihoods = writing.after(list(rows))
            if free_source[1] != END:
                row = rows[free_source]
                free_source = row, int(likelihoods[row].argmax())
                free += float(likelihoods[free_source])
                free_letters += self._speller.letters[free_source[1]]
            longer: list[_Beginning] = []
            for one in alive:
                row = rows[one.source]
                if one.words and one.trie is None and one.state in sentences.finals:
                    whole = one.score + worth(one.letters) + float(likelihoods[row, END])
                    scores[one.words] = float(np.logaddexp(scores[one.words], whole))
                trie = one.trie or sentences.trie(one.state, one.in_digits)
                longer.extend(self._longer(one, trie, row, likelihoods[row]))
            alive = _likeliest(longer, worth, max(scores.values(), default=-math.inf), width)
            if not alive:
                break
        return free + worth(free_letters), scores

    def _longer(self, one: _Beginning, trie: Trie, row: int, likelihoods: NDArray[np.float32]) -> Iterator[_Beginning]:
        """Every way to go on by one token."""
        if one.words and one.trie is None and not one.is_marked:
            for mark in self._speller.marks:
                score = one.score + float(likelihoods[mark])
                yield replace(one, score=score, source=(row, mark), is_marked=True, in_digits=False)
        for token, node in trie.following.items():
            score, source = one.score + float(likelihoods[token]), (row, token)
            for arc, in_digits in node.ends:
                letters = one.letters - one.begun + len(arc.word)
                words, likely = (*one.words, arc.word), score - PRIOR * arc.cost
                yield _Beginning(words, arc.target, likely, source, in_digits=in_digits, letters=letters)
            if node.following:
                more = self._speller.letters[token]
                letters, begun = one.letters + more, one.begun + more
                yield replace(one, score=score, source=source, trie=node, letters=letters, begun=begun)


def _speech_s(sound: Sound) -> float:
    """How long the speech of a sound is that was made ready."""
    return max(MARGIN_S, sound.length_s - 2 * MARGIN_S)


def _most_tokens(sound: Sound) -> int:
    return TOKENS_MORE + round(TOKENS_A_SECOND * sound.length_s)


def _told_s(readings: Sequence[Reading], speech_s: float) -> float:
    """How much of the speech the best sentence can account for."""
    return min(speech_s, len(readings[0].text) / LEAST_LETTERS_A_SECOND)


def _worth_of_letters(speech_s: float) -> Callable[[int], float]:
    most = LETTERS_A_SECOND * speech_s
    return lambda letters: LETTER * min(letters, most)


def _likeliest(
    beginnings: Sequence[_Beginning], worth: Callable[[int], float], best_whole: float, width: Width
) -> list[_Beginning]:
    kept: list[_Beginning] = []
    sources: set[tuple[int, int]] = set()
    alike: Counter[Words] = Counter()
    ranked = sorted(((one.score + worth(one.letters), one) for one in beginnings), key=lambda pair: -pair[0])
    for score, one in ranked:
        if score < max(ranked[0][0], best_whole) - width.gap:
            break
        is_new = one.source not in sources
        if is_new and (len(sources) == width.rows or alike[one.words] == width.alike):
            continue
        sources.add(one.source)
        alike[one.words] += is_new
        kept.append(one)
    return kept


def _shared_out(words: Words, start_s: float, end_s: float) -> tuple[HeardWord, ...]:
    ends = np.cumsum([0, *(len(word) + 1 for word in words)])
    times = [float(time) for time in start_s + (end_s - start_s) * ends / ends[-1]]
    return tuple(HeardWord(word, *span) for word, span in zip(words, pairwise(times), strict=True))

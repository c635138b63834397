"""Vosk as a listener: a neural network of sounds in context, searched along the word graph while the sound comes in.

A model knows a fixed list of words. Where the graph has a word that is not among them, its respelling in words that
the model knows takes its place; where there is none, the model's token for unknown words, if it has one.
"""

from __future__ import annotations

import json
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np

from assistant.errors import BadAudio, UnknownWord
from assistant.hearing.conditioning import conditioned
from assistant.hearing.pocketsphinx_listener import shared_out
from assistant.hearing.vosk_graph import Spelling, sentence_graph
from assistant.hearing.vosk_model import UNKNOWN, VoskProcess, held_to, word_numbers
from assistant.hearing.vosk_worker import RATE_HZ
from assistant.values import HeardWord, Hearing, Reading, Sound, WordGraph

BLOCK_S = 0.2
ALTERNATIVES = 10
MOST_READINGS = 6


@dataclass(frozen=True)
class _Alternative:
    """What the search offers: words of the model with their times, and the natural log of its likelihood."""

    words: tuple[HeardWord, ...]
    score: float


class VoskListener:
    """Hears the sentences of a word graph with a small Vosk model.

    Args:
        model: folder of the model.
        graph: what can be said.
        respellings: word → words of the model that sound like it, for words that the model does not know.

    Attributes:
        cannot_hear: words of the graph that the model does not know and that have no respelling. Sentences with them
            are heard only as well as the model tells an unknown word, or not at all if it has no token for such.

    Raises:
        ListenerMissing: Vosk is not installed.
        BadModel: the folder holds no whole model, or one that cannot be held to a grammar.
        UnknownWord: the model knows no word of the graph, as one for another language.
    """

    name = "vosk"

    def __init__(self, model: Path, graph: WordGraph, respellings: Mapping[str, Spelling] | None = None) -> None:
        self._folder, self._respellings = model, respellings or {}
        self._numbers: dict[str, int] = {}
        self._asked: set[str] = set()
        self._process: VoskProcess | None = None
        self._n_fed = 0
        self._n_before = 0
        self.expect(graph)

    def expect(self, graph: WordGraph) -> None:
        """From now on the sentences of `graph` are listened for.

        Raises:
            UnknownWord: the model knows no word of it; the listener stays as it was.
        """
        wanted = {*graph.words, *UNKNOWN, *(word for spelling in self._respellings.values() for word in spelling)}
        if not wanted <= self._asked:
            self._numbers |= word_numbers(self._folder, wanted - self._asked)
            self._asked |= wanted
        unknown = next((word for word in UNKNOWN if word in self._numbers), None)
        spellings = {word: spelling for word in graph.words if (spelling := self._spelling(word)) is not None}
        cannot_hear = frozenset(graph.words - set(spellings))
        if unknown:
            spellings |= dict.fromkeys(cannot_hear, (unknown,))
        numbers = {word: self._numbers[word] for spelling in spellings.values() for word in spelling}
        if unknown:
            numbers[unknown] = self._numbers[unknown]
        shared = shared_out(graph)
        sentences = sentence_graph(shared, spellings, numbers, unknown)
        if sentences.start < 0 or cannot_hear == graph.words:
            raise self._strange(graph)
        self.cannot_hear, self._unknown = cannot_hear, unknown
        self._start, self._finals = graph.start, graph.finals
        self._following: defaultdict[int, list[tuple[Spelling, str, int]]] = defaultdict(list)
        for arc in sorted(shared.arcs, key=lambda arc: arc.cost):
            if arc.word in spellings:
                self._following[arc.source].append((spellings[arc.word], arc.word, arc.target))
        if self._process:
            self._process.close()  # two models at once would need twice the memory
        self._process = held_to(self._folder, sentences, numbers)
        self._process.ask("listen", ALTERNATIVES)
        self._n_fed = self._n_before = 0

    def hear(self, sound: Sound) -> Hearing:
        """Hears one remark.

        Args:
            sound: 16 kHz mono, any length.

        Returns:
            At most six complete sentences of the graph, best first. The score of a word is the confidence in it,
            between 0 and 1: the share of the alternatives that have it there. The strain is against unknown
            words, where those come up at all.

        Raises:
            BadAudio: another sample rate, or samples that are not finite.
        """
        ready = conditioned(sound)
        self.finish()  # what another left half fed
        size = round(BLOCK_S * RATE_HZ)
        for first in range(0, len(ready.samples), size):
            self.feed(replace(ready, samples=ready.samples[first : first + size]))
        return self._finished(ready.start_s - sound.start_s, sound.length_s)

    def feed(self, block: Sound) -> str:
        """Hears the next piece of a sound that is still coming in.

        Args:
            block: 16 kHz mono.

        Returns:
            The words so far, as the model spells them; the next piece may change them.

        Raises:
            BadAudio: another sample rate, or samples that are not finite.
        """
        if block.rate_hz != RATE_HZ:
            raise BadAudio(f"A listener needs {RATE_HZ} samples a second, this sound has {block.rate_hz}. Resample it.")
        if not np.isfinite(block.samples).all():
            raise BadAudio("The sound holds samples that are no numbers. Record it again.")
        # The library also says when it takes a silence for an end; here the caller knows where the sound ends.
        found = self._ask("feed", (np.clip(block.samples, -1, 1) * 32767).astype(np.int16).tobytes())
        self._n_fed += len(block.samples)
        return str(found.get("partial", ""))

    def finish(self) -> Hearing:
        """Ends the sound that was fed; the next piece begins another.

        Returns:
            As `hear`; times count from the first piece.
        """
        return self._finished(0.0, (self._n_fed - self._n_before) / RATE_HZ)

    def _finished(self, offset_s: float, length_s: float) -> Hearing:
        """What was heard; the sound that was fed began at `offset_s` of one that is `length_s` long."""
        before_s = self._n_before / RATE_HZ
        found = self._ask("finish").get("alternatives", [])
        self._n_before = self._n_fed

        def time_s(time: float) -> float:
            # The library counts from the first sound that it ever got.
            return min(max(0.0, round(time - before_s, 2) + offset_s), length_s)

        alternatives = [
            _Alternative(
                tuple(HeardWord(word["word"], time_s(word["start"]), time_s(word["end"])) for word in one["result"]),
                float(one["confidence"]),
            )
            for one in found
            if one.get("result")
        ]
        readings: dict[str, Reading] = {}
        for sure in _with_confidences(alternatives):
            for words in islice(self._walk(sure.words, self._start), MOST_READINGS):
                reading = Reading(words, sure.score)
                readings.setdefault(reading.text, reading)
        best = tuple(sorted(readings.values(), key=lambda reading: -reading.score)[:MOST_READINGS])
        return Hearing(self.name, best, self._strain(alternatives, best))

    def _ask(self, name: str, *arguments: Any) -> dict[str, Any]:
        if self._process is None:
            raise RuntimeError("a listener is asked before it was started")
        return dict(json.loads(self._process.ask(name, *arguments)))

    def _strange(self, graph: WordGraph) -> UnknownWord:
        words = ", ".join(sorted(graph.words)[:3])
        return UnknownWord(
            f"The model in {self._folder} knows no sentence of the grammar, for want of words such as {words}. "
            "Take a model for English, or respell the words."
        )

    def _spelling(self, word: str) -> Spelling | None:
        if word in self._numbers:
            return (word,)
        spelling = self._respellings.get(word)
        return spelling if spelling and all(part in self._numbers for part in spelling) else None

    def _walk(self, heard: Sequence[HeardWord], state: int) -> Iterator[tuple[HeardWord, ...]]:
        """The sentences of the graph from `state` on that may be spelt so."""
        if not heard:
            if state in self._finals:
                yield ()
            return
        for spelling, word, target in self._following[state]:
            pieces = heard[: len(spelling)]
            if tuple(piece.text for piece in pieces) == spelling:
                whole = HeardWord(word, pieces[0].start_s, pieces[-1].end_s, min(piece.score for piece in pieces))
                for rest in self._walk(heard[len(spelling) :], target):
                    yield (whole, *rest)

    def _strain(self, alternatives: Sequence[_Alternative], readings: Sequence[Reading]) -> float | None:
        """Against unknown words; None where they are too unlikely to come up, so that nothing is known."""
        talk = [one.score for one in alternatives if all(word.text == self._unknown for word in one.words)]
        if not talk or not readings:
            return None
        words = readings[0].words
        speech_s = max(BLOCK_S, words[-1].end_s - words[0].start_s)
        return max(0.0, max(talk) - readings[0].score) / speech_s


def _with_confidences(alternatives: Sequence[_Alternative]) -> list[_Alternative]:
    """The alternatives with the score of each word its confidence: the likelihood of all that have it there."""
    if not alternatives:
        return []
    best = max(one.score for one in alternatives)
    shares = [math.exp(one.score - best) for one in alternatives]

    def confidence(word: HeardWord) -> float:
        having = (
            share
            for share, one in zip(shares, alternatives, strict=True)
            if any(w.text == word.text and w.start_s < word.end_s and word.start_s < w.end_s for w in one.words)
        )
        return sum(having) / sum(shares)

    return [
        _Alternative(tuple(replace(word, score=confidence(word)) for word in one.words), one.score)
        for one in alternatives
    ]

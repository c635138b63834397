"""PocketSphinx as a listener: hidden Markov models of sounds in context, searched along the word graph.

It works in a process of its own, see `assistant.hearing.pocketsphinx_worker`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from assistant.errors import ListenerMissing
from assistant.grammar.export import fsg
from assistant.hearing import clearing
from assistant.hearing.conditioning import conditioned
from assistant.hearing.library_process import LibraryEnded, LibraryProcess, LibraryRefused
from assistant.hearing.pocketsphinx_worker import Found
from assistant.hearing.pronunciation import Lexicon
from assistant.hearing.sentences import Prior
from assistant.values import Arc, HeardWord, Hearing, Reading, Sound, WordGraph

FRAMES_A_SECOND = 100
SCORE_SHIFT = 1 << 10
"""PocketSphinx keeps log scores divided by this (`SENSCR_SHIFT` in its source)."""
MOST_CLEARED_DB = math.inf
"""Its models know only clean speech: all noise goes."""
SETTINGS: dict[str, Any] = {
    # The second pass over the lattice does not keep to the grammar: its sentences often break off.
    "bestpath": False,
    "lm": None,
    "loglevel": "FATAL",
    # The stock beams lose the right sentence in noise.
    **{"beam": 1e-80, "pbeam": 1e-80, "wbeam": 1e-50},
    # With them noise keeps too much alive: this saves a third of the time there, and nothing was heard worse.
    "maxhmmpf": 3000,
}


class PocketSphinxListener:
    """Hears the sentences of a word graph with the en-us model in PocketSphinx's wheel.

    Args:
        graph: what can be said.
        lexicon: how its words sound.
        settings: settings of the decoder, over those that were measured best.

    Raises:
        ListenerMissing: PocketSphinx or its model is not installed.
        UnknownWord: a word of the graph has no pronunciation.
    """

    name = "pocketsphinx"

    def __init__(self, graph: WordGraph, lexicon: Lexicon, settings: dict[str, Any] | None = None) -> None:
        self._lexicon = lexicon
        self._settings = SETTINGS | (settings or {})
        self._words: frozenset[str] = frozenset()
        self._process: LibraryProcess | None = None
        clearing.prepare()
        self.expect(graph)

    def expect(self, graph: WordGraph) -> None:
        """From now on the sentences of `graph` are listened for.

        Raises:
            UnknownWord: a word of the graph has no pronunciation; the listener stays as it was.
        """
        shared = shared_out(graph)
        dictionary = "".join(_entries(graph.words, self._lexicon))
        with TemporaryDirectory() as folder:
            if self._process is None or not graph.words <= self._words:
                written = Path(folder, "words.dict")
                written.write_text(dictionary, encoding="utf-8")
                self._process = _process(self._settings, written)
                self._words = graph.words
            network = Path(folder, "sentences.fsg")
            network.write_text(fsg(shared, "sentences"), encoding="utf-8")
            try:
                self._process.ask("expect", str(network))
            except LibraryEnded as error:
                raise _stopped(error) from error
        self._graph, self._prior = graph, Prior(shared)

    def hear(self, sound: Sound) -> Hearing:
        """Hears one remark.

        Args:
            sound: 16 kHz mono, any length.

        Returns:
            The best complete sentence of the graph, or none; no strain.

        Raises:
            BadAudio: another sample rate, or samples that are not finite.
        """
        ready = conditioned(clearing.cleared(sound, MOST_CLEARED_DB))
        best = self._reading(self._found(_samples(ready)), ready.start_s - sound.start_s, sound.length_s)
        return Hearing(self.name, (best,) if best else ())

    def _found(self, samples: bytes) -> Found | None:
        """What the search found. A process that was stopped from outside, as when memory ran out, is begun again."""
        with suppress(LibraryEnded):
            return self._searched(samples)
        self._process = None
        self.expect(self._graph)
        try:
            return self._searched(samples)
        except LibraryEnded as error:
            raise _stopped(error) from error

    def _searched(self, samples: bytes) -> Found | None:
        found: Found | None = self._process.ask("search", samples) if self._process else None
        return found

    def _reading(self, found: Found | None, start_s: float, length_s: float) -> Reading | None:
        """What the search found; None if it broke off before the end of a sentence.

        Args:
            found: that, with frames.
            start_s: where the searched sound begins, counted from the sound that was to be heard.
            length_s: duration of the sound that was to be heard, in seconds.
        """
        if found is None:
            return None
        text, score, segments = found
        if self._prior.cost(text.split()) == math.inf:
            return None
        words = tuple(
            HeardWord(
                word.partition("(")[0],
                min(max(0.0, start_s + first / FRAMES_A_SECOND), length_s),
                min(max(0.0, start_s + (last + 1) / FRAMES_A_SECOND), length_s),
                _natural(likelihood),
            )
            for word, first, last, likelihood in segments
            if not word.startswith(("<", "[", "++", "("))
        )
        return Reading(words, _natural(score))


def shared_out(graph: WordGraph) -> WordGraph:
    """The graph with costs under which the words after a state, and ending there, have shares that add up to one.

    Without that, a state with many words that follow costs no more than one with a single word, and in noise long
    sentences win over short ones.
    """
    total: defaultdict[int, float] = defaultdict(float)
    for arc in graph.arcs:
        total[arc.source] += math.exp(-arc.cost)
    for state in graph.finals:
        total[state] += 1.0
    arcs = tuple(Arc(arc.source, arc.target, arc.word, arc.cost + math.log(total[arc.source])) for arc in graph.arcs)
    return WordGraph(graph.start, graph.finals, arcs, graph.n_states)


def _samples(sound: Sound) -> bytes:
    """The sound as signed 16-bit little-endian samples."""
    return (sound.samples * 32767).astype("<i2").tobytes()


def _natural(score: float) -> float:
    return SCORE_SHIFT * math.log(score) if score > 0 else -math.inf


def _entries(words: Iterable[str], lexicon: Lexicon) -> Iterable[str]:
    for word in sorted(words):
        for number, phones in enumerate(lexicon.of(word), start=1):
            yield f"{word}{f'({number})' if number > 1 else ''} {' '.join(phones)}\n"


def _process(settings: dict[str, Any], dictionary: Path) -> LibraryProcess:
    try:
        process = LibraryProcess(Path(__file__).with_name("pocketsphinx_worker.py"))
        process.ask("load", settings, str(dictionary))
        return process
    except ImportError as error:
        raise ListenerMissing(f"PocketSphinx is not installed: {error}. Install the package pocketsphinx.") from error
    except LibraryRefused as error:
        raise ListenerMissing(f"PocketSphinx cannot load its model: {error}. Install it again.") from error
    except LibraryEnded as error:
        raise _stopped(error) from error


def _stopped(error: LibraryEnded) -> ListenerMissing:
    return ListenerMissing(f"PocketSphinx cannot work here: {error}. Is memory short? Close other programs; try again.")

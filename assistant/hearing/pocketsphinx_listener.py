"""PocketSphinx as a listener: hidden Markov models of sounds in context, searched along the word graph."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from assistant.errors import ListenerMissing
from assistant.grammar.export import fsg
from assistant.hearing import clearing
from assistant.hearing.conditioning import conditioned
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
        self._decoder: Any = None
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
            if self._decoder is None or not graph.words <= self._words:
                written = Path(folder, "words.dict")
                written.write_text(dictionary, encoding="utf-8")
                self._decoder = _decoder(self._settings | {"dict": str(written)})
                self._words = graph.words
            network = Path(folder, "sentences.fsg")
            network.write_text(fsg(shared, "sentences"), encoding="utf-8")
            self._decoder.add_fsg("sentences", self._decoder.read_fsg(str(network)))
        self._prior = Prior(shared)

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
        self._search("sentences", _samples(ready))
        best = self._reading(ready.start_s - sound.start_s, sound.length_s)
        return Hearing(self.name, (best,) if best else ())

    def _search(self, search: str, samples: bytes) -> None:
        decoder = self._decoder
        decoder.activate_search(search)
        decoder.reinit_feat()  # forget the cepstral mean of the sound before
        decoder.start_utt()
        decoder.process_raw(samples, full_utt=True)
        decoder.end_utt()

    def _reading(self, start_s: float, length_s: float) -> Reading | None:
        """What the search found; None if it broke off before the end of a sentence.

        Args:
            start_s: where the searched sound begins, counted from the sound that was to be heard.
            length_s: duration of the sound that was to be heard, in seconds.
        """
        found = self._decoder.hyp()
        if found is None or self._prior.cost(found.hypstr.split()) == math.inf:
            return None
        words = tuple(
            HeardWord(
                segment.word.partition("(")[0],
                min(max(0.0, start_s + segment.start_frame / FRAMES_A_SECOND), length_s),
                min(max(0.0, start_s + (segment.end_frame + 1) / FRAMES_A_SECOND), length_s),
                _natural(segment.ascore),
            )
            for segment in self._decoder.seg()
            if not segment.word.startswith(("<", "[", "++", "("))
        )
        return Reading(words, _natural(found.score))


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


def _decoder(settings: dict[str, Any]) -> Any:
    try:
        from pocketsphinx import Decoder, get_model_path
    except ImportError as error:
        raise ListenerMissing(f"PocketSphinx is not installed: {error}. Install the package pocketsphinx.") from error
    model = Path(str(get_model_path())) / "en-us" / "en-us"
    try:
        return Decoder(hmm=str(model), **settings)
    except (RuntimeError, ValueError) as error:
        raise ListenerMissing(f"PocketSphinx cannot load its model from {model}: {error}. Install it again.") from error

"""The phoneme listener: a small network hears speech sounds, and the word graph, spelt out in sounds, is searched.

The network (package `hama`) knows no words; it gives the likelihood of 189 phonetic symbols in every 20 ms. It hears
some sounds as their neighbours, and voices differ, so each sound of the dictionary is heard in several symbols.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import kaldi_decoder
import numpy as np
from numpy.typing import NDArray

from assistant.errors import ListenerMissing, UnknownWord
from assistant.hearing import clearing
from assistant.hearing.conditioning import conditioned
from assistant.hearing.listener import with_others
from assistant.hearing.phoneme_network import (
    BETWEEN,
    INSIDE,
    LABEL,
    SILENT,
    Costs,
    LatticeArc,
    PhonemeNetwork,
    distinct_sentences,
    lattice_arcs,
)
from assistant.hearing.pocketsphinx_listener import shared_out
from assistant.hearing.pronunciation import Lexicon
from assistant.hearing.sentences import Prior, only
from assistant.values import HeardWord, Hearing, Reading, Sound, WordGraph

FRAME_S = 0.02
MOST_READINGS = 6
TEMPERATURE = 1.3
"""Log-likelihoods are divided by this: the network is too sure of itself."""
LEAST = 1e-10
"""Added to likelihoods, so that none is zero."""
MOST_CLEARED_DB = 12.0
"""The network knows noise, and takes the traces of its taking away for sounds."""
BEAM = 16.0
LATTICE_BEAM = 8.0
STRANGE = 6.0, 3.0
"""What a sentence costs that is not in the graph, and each of its words, which cost as much in its rare sentences."""
SEARCHED = 2.0
"""What the costs of the graph count while it is searched: less is kept alive, and nothing was heard worse.

In the scores they count once.
"""

SYMBOLS = {
    **{"AA": "ɑ a ɒ", "AE": "æ", "AH": "ʌ ə ɐ", "AO": "ɔ ɒ", "AW": "aʊ", "AY": "aɪ", "B": "b", "CH": "t͡ʃ t͡ɕ", "D": "d"},
    **{"DH": "ð", "EH": "ɛ e", "ER": "ɝ ɚ ɜ", "EY": "eɪ e", "F": "f", "G": "g ɡ", "HH": "h", "IH": "ɪ", "IY": "i"},
    **{"JH": "d͡ʒ", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "ŋ", "OW": "oʊ o", "OY": "ɔɪ", "P": "p", "R": "ɹ r"},
    **{
        "S": "s",
        "SH": "ʃ",
        "T": "t",
        "TH": "θ",
        "UH": "ʊ",
        "UW": "u",
        "V": "v",
        "W": "w",
        "Y": "j",
        "Z": "z",
        "ZH": "ʒ",
    },
}
"""The network's symbols of each sound of the dictionary."""

NEIGHBOURS = (
    *("IH IY EY EH", "EH AE EY", "AA AO AH OW", "AH IH EH UH ER AE", "UW UH OW", "AW AE AA OW", "AY AA IH", "ER AA AO"),
    *("OY OW AO", "S Z", "T D", "P B", "K G", "F V TH", "M N NG", "SH CH ZH JH", "R W L", "DH D TH", "TH T"),
)
"""Sounds that are taken for each other: vowels made close together, and voiced with unvoiced consonants."""


@dataclass(frozen=True)
class Ease:
    """How easily the search takes one thing for another: factors on likelihoods, at most 1.

    Attributes:
        neighbour: a symbol of a neighbouring sound.
        other: any other symbol.
        extra: a symbol that no sound of the sentence asks for, in a gap.
        boundary: the network's mark between words, inside a word.
        gap: every symbol in a gap. Such networks are too sure of gaps; without this, sounds are left out in noise.
    """

    neighbour: float = 0.1
    other: float = 0.0005
    extra: float = 0.001
    boundary: float = 0.1
    gap: float = 0.135


class PhonemeListener:
    """Hears the sentences of a word graph by their speech sounds.

    Args:
        graph: what can be said.
        lexicon: how its words sound.
        ease: what may be taken for what.
        costs: what the search pays for sounds left out and second pronunciations.

    Raises:
        ListenerMissing: the package with the network cannot run here, or its network has other symbols.
        UnknownWord: a word of the graph has no pronunciation.
    """

    name = "phonemes"

    def __init__(
        self, graph: WordGraph, lexicon: Lexicon, ease: Ease | None = None, costs: Costs | None = None
    ) -> None:
        self._lexicon, self._costs = lexicon, costs or Costs()
        self._model = load_network()
        clearing.prepare()
        self._last: tuple[Sound, NDArray[np.float32], float] | None = None
        self._symbols_heard = _symbols_heard(self._model.decoder_tokens, ease or Ease())
        self.expect(graph)

    def expect(self, graph: WordGraph) -> None:
        """From now on the sentences of `graph` are listened for.

        Raises:
            UnknownWord: a word of the graph has no pronunciation; the listener stays as it was.
        """
        shared = shared_out(graph)
        self._network, self._prior = self._spelt_out(_dearer(shared)), Prior(shared, STRANGE)

    def hear(self, sound: Sound) -> Hearing:
        """Hears one remark.

        Args:
            sound: 16 kHz mono, any length.

        Returns:
            At most six complete sentences of the graph, best first. A score is how much less likely the sounds of the
            sentence are than the likeliest ones, and how unlikely the sentence is in the graph. The strain is of the
            sounds alone.

        Raises:
            BadAudio: another sample rate, or samples that are not finite.
        """
        labels, offset_s = self._labels(sound)
        if not len(labels):
            return Hearing(self.name, ())
        found = [self._aligned(words, labels, offset_s, sound.length_s) for words in self._sentences(labels)]
        close = sorted((reading for reading in found if reading is not None), key=lambda reading: -reading.score)
        if not close:
            return Hearing(self.name, ())
        readings = sorted(map(self._with_prior, close), key=lambda reading: -reading.score)
        return Hearing(self.name, tuple(readings), _strain(close[0]))

    def weighed(self, sound: Sound, hearing: Hearing, sentences: Collection[str]) -> Hearing:
        """What it heard, with the readings of others beside its own; see `assistant.hearing.listener.Weighing`."""
        labels, offset_s = self._labels(sound)
        if not len(labels):
            return hearing
        own = {reading.text for reading in hearing.readings}
        others = [text.split() for text in sentences if text not in own]
        found = [self._aligned(words, labels, offset_s, sound.length_s) for words in others if self._can_say(words)]
        fitting = sorted((one for one in found if one is not None), key=lambda reading: -reading.score)
        if not fitting:
            return hearing
        more = with_others(hearing, {one.text: self._with_prior(one).score for one in fitting}, sound)
        # One that fits better than what was found in the grammar strains less.
        return replace(more, strain=min(_strain(fitting[0]), math.inf if hearing.strain is None else hearing.strain))

    def _can_say(self, words: Sequence[str]) -> bool:
        try:
            return all(map(self._lexicon.of, words))
        except UnknownWord:
            return False

    def _with_prior(self, reading: Reading) -> Reading:
        return replace(reading, score=reading.score - self._prior.cost([word.text for word in reading.words]))

    def _labels(self, sound: Sound) -> tuple[NDArray[np.float32], float]:
        """Log-likelihood of every label, shape (frames, labels), and how long after the sound the first frame begins.

        It is against the best that any sequence of sounds and gaps could have.
        """
        if self._last is not None and self._last[0] is sound:
            return self._last[1:]
        ready = conditioned(clearing.cleared(sound, MOST_CLEARED_DB))
        symbols = self._symbols(ready)
        labels = np.log(np.exp(symbols / TEMPERATURE) @ self._symbols_heard + LEAST)
        if len(labels):
            labels -= labels.max(axis=1, keepdims=True)
        self._last = sound, np.ascontiguousarray(labels, np.float32), ready.start_s - sound.start_s
        return self._last[1:]

    def _spelt_out(self, graph: WordGraph) -> PhonemeNetwork:
        return PhonemeNetwork(graph, self._lexicon.of, self._costs)

    def _symbols(self, sound: Sound) -> NDArray[np.float32]:
        """Log-likelihood of every symbol, shape (frames, symbols)."""
        samples = sound.samples.reshape(1, -1)
        feeds = {"waveform": samples, "waveform_lengths": np.array([samples.size], np.int64)}
        likelihoods, lengths = self._model.session.run(["log_probs", "out_lengths"], feeds)
        return np.asarray(likelihoods[0][: int(np.ravel(lengths)[0])], np.float32)

    def _sentences(self, labels: NDArray[np.float32]) -> list[tuple[str, ...]]:
        config = kaldi_decoder.LatticeSimpleDecoderConfig(beam=BEAM, lattice_beam=LATTICE_BEAM)
        decoder = kaldi_decoder.LatticeSimpleDecoder(self._network.fst, config)
        if not decoder.decode(kaldi_decoder.DecodableCtc(labels)) or decoder.final_relative_cost() == np.inf:
            return []
        is_found, lattice = decoder.get_raw_lattice()
        if not is_found:
            return []
        names = self._network.words
        return [tuple(names[word] for word in words) for words in distinct_sentences(lattice, MOST_READINGS) if words]

    def _aligned(
        self, words: Sequence[str], labels: NDArray[np.float32], offset_s: float, length_s: float
    ) -> Reading | None:
        """The sentence with the times of its words; None if the search cannot fit it to the sound."""
        network = self._spelt_out(only([" ".join(words)]))
        decoder = kaldi_decoder.FasterDecoder(network.fst, kaldi_decoder.FasterDecoderOptions(beam=4 * BEAM))
        decoder.decode(kaldi_decoder.DecodableCtc(labels))
        if not decoder.reached_final():
            return None
        arcs, _ = lattice_arcs(decoder.get_best_path()[1])

        def time_s(frame: int) -> float:
            return min(max(0.0, offset_s + frame * FRAME_S), length_s)

        heard = [
            HeardWord(word, time_s(first), time_s(end), -cost)
            for word, (first, end, cost) in zip(words, _word_spans(arcs), strict=True)
        ]
        return Reading(tuple(heard), -sum(arc.cost for arc in arcs))


def _strain(reading: Reading) -> float:
    """The cost of a second of its speech, by the sound alone."""
    return -reading.score / max(FRAME_S, reading.words[-1].end_s - reading.words[0].start_s)


def _dearer(graph: WordGraph) -> WordGraph:
    arcs = tuple(replace(arc, cost=SEARCHED * arc.cost) for arc in graph.arcs)
    return WordGraph(graph.start, graph.finals, arcs, graph.n_states)


def _word_spans(arcs: Sequence[LatticeArc]) -> list[tuple[int, int, float]]:
    """First frame, frame after the last, and cost of each word on one path."""
    spans: list[tuple[int, int, float]] = []
    frame = 0
    for arc in arcs:
        if arc.word:
            spans.append((frame, frame, 0.0))
        frame += arc.label != SILENT
        if spans and arc.label != BETWEEN:
            first, _, cost = spans[-1]
            spans[-1] = first, frame, cost + arc.cost
    return spans


@cache
def load_network() -> Any:
    """The network of the package `hama`, loaded once.

    Raises:
        ListenerMissing: it cannot run here.
    """
    try:
        from hama import ASRModel

        return ASRModel()
    except (ImportError, OSError, RuntimeError) as error:
        raise ListenerMissing(f"The phoneme network cannot run here: {error}. Install the package hama.") from error


def _symbols_heard(symbols: Sequence[str], ease: Ease) -> NDArray[np.float64]:
    """How much of each symbol's likelihood counts for each label, shape (symbols, labels)."""
    number = {symbol: place for place, symbol in enumerate(symbols)}
    if missing := {"<blank>", "<wb>", *" ".join(SYMBOLS.values()).split()} - set(number):
        raise ListenerMissing(f"The phoneme network has no symbol {min(missing)!r}. Install a version of hama below 2.")
    heard = np.full((len(symbols), len(LABEL) + 2), ease.other)
    heard[:, [INSIDE - 1, BETWEEN - 1]] = ease.extra
    for phone, label in LABEL.items():
        near = {other for group in NEIGHBOURS if phone in group.split() for other in group.split()} - {phone}
        for other in near:
            heard[[number[symbol] for symbol in SYMBOLS[other].split()], label - 1] = ease.neighbour
        heard[[number[symbol] for symbol in SYMBOLS[phone].split()], label - 1] = 1.0
    heard[[number["<blank>"], number["<wb>"]], 2:] = 0.0
    heard[number["<blank>"], [INSIDE - 1, BETWEEN - 1]] = 1.0
    heard[number["<wb>"], [INSIDE - 1, BETWEEN - 1]] = ease.boundary, 1.0
    heard[:, [INSIDE - 1, BETWEEN - 1]] *= ease.gap
    return heard

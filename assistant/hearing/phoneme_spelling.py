"""How a word was said: the speech sounds in its place in a sentence that is known."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

import kaldi_decoder
import numpy as np
from numpy.typing import NDArray

from assistant.hearing.phoneme_listener import BEAM, PhonemeListener
from assistant.hearing.phoneme_network import (
    BETWEEN,
    INSIDE,
    LABEL,
    SILENT,
    Costs,
    LatticeArc,
    PhonemeNetwork,
    PronunciationsOf,
    lattice_arcs,
)
from assistant.hearing.pronunciation import VOWELS, Lexicon, Phones
from assistant.hearing.sentences import only
from assistant.values import Arc, Sound, WordGraph

PHONE_COSTS = (0.5, 1.0, 2.0, 3.0)
"""What each sound of a free word may cost, in natural log: the less, the more every breath is one more sound."""

SHORTEST, LONGEST = 2, 12
"""How many sounds a word may have; fewer or more come of a sentence that does not fit."""

_PHONE = {label: phone for phone, label in LABEL.items()}


class SpellingListener(PhonemeListener):
    """Hears in which sounds one word of a known sentence was said.

    Args:
        lexicon: how the other words sound.

    Raises:
        ListenerMissing: the phoneme network cannot run here.
    """

    def __init__(self, lexicon: Lexicon) -> None:
        super().__init__(only(["yes"]), lexicon)

    def said(self, sound: Sound, sentences: Collection[str], word: str) -> list[Phones]:
        """The sounds of a word as it was said.

        Args:
            sound: 16 kHz mono, any length.
            sentences: what may have been said; the one that fits best counts.
            word: one of their words, which may sound anyhow.

        Returns:
            Its sounds, heard in ever less detail; none if no sentence fits, or what was said in its place is no word.
        """
        labels, _ = self._labels(sound)
        found = [self._phones(labels, sentences, word, cost) for cost in PHONE_COSTS]
        return [one for one in dict.fromkeys(found) if SHORTEST <= len(one) <= LONGEST and VOWELS & set(one)]

    def _phones(self, labels: NDArray[np.float32], sentences: Collection[str], word: str, phone_cost: float) -> Phones:
        networks = [_FreeWord(only([one]), self._lexicon.of, self._costs, word, phone_cost) for one in sentences]
        paths = [(cost, arcs, network.number) for network in networks for cost, arcs in _best(network, labels)]
        if not paths:
            return ()
        _, arcs, number = min(paths, key=lambda path: path[0])
        return _phones(arcs, number)

    def misfits(self, sound: Sound, sentences: Collection[str], word: str, ways: Sequence[Phones]) -> list[float]:
        """How badly each way to say a word fits: minus the natural log of likelihood, infinity if not at all."""
        labels, _ = self._labels(sound)
        return [min((self._misfit(labels, one, word, way) for one in sentences), default=math.inf) for way in ways]

    def _misfit(self, labels: NDArray[np.float32], sentence: str, word: str, phones: Phones) -> float:
        def ways(said: str) -> tuple[Phones, ...]:
            return (phones,) if said == word else self._lexicon.of(said)

        return min(
            (cost for cost, _ in _best(PhonemeNetwork(only([sentence]), ways, self._costs), labels)), default=math.inf
        )


class _FreeWord(PhonemeNetwork):
    """A network in which one word may have any sounds."""

    def __init__(
        self, graph: WordGraph, pronunciations_of: PronunciationsOf, costs: Costs, word: str, phone_cost: float
    ) -> None:
        self._free, self._phone_cost = word, phone_cost
        super().__init__(graph, pronunciations_of, costs)
        self.number = self.words.index(word)

    def _spell(self, arcs: Sequence[Arc], labels: Sequence[int], word: int, rank: int) -> None:
        if arcs[0].word != self._free:
            super()._spell(arcs, labels, word, rank)
            return
        if rank > 0:
            return
        between = self._state()
        for arc in arcs:
            self._step(arc.source, SILENT, between, word, arc.cost)
        for label in LABEL.values():
            sound, gap = self._lasting(label), self._lasting(INSIDE)
            self._step(between, label, sound, cost=self._phone_cost)
            self._step(sound, INSIDE, gap)
            for after in (sound, gap):
                self._step(after, SILENT, between)
            self._step(sound, SILENT, arcs[0].target)


def _best(network: PhonemeNetwork, labels: NDArray[np.float32]) -> list[tuple[float, list[LatticeArc]]]:
    """Cost and arcs of the best path; none if the sentence does not fit."""
    decoder = kaldi_decoder.FasterDecoder(network.fst, kaldi_decoder.FasterDecoderOptions(beam=4 * BEAM))
    if len(labels):
        decoder.decode(kaldi_decoder.DecodableCtc(labels))
    if not len(labels) or not decoder.reached_final():
        return []
    arcs, _ = lattice_arcs(decoder.get_best_path()[1])
    return [(sum(arc.cost for arc in arcs), arcs)]


def _phones(arcs: Sequence[LatticeArc], number: int) -> Phones:
    """The sounds of one word on a path, where each lasts for as long as its label is repeated."""
    phones: list[str] = []
    is_inside, before = False, SILENT
    for arc in arcs:
        if arc.word or arc.label == BETWEEN:
            is_inside = arc.word == number
        if is_inside and arc.label in _PHONE and arc.label != before:
            phones.append(_PHONE[arc.label])
        before = arc.label
    return tuple(phones)

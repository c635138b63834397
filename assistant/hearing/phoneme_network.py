"""A word graph spelt out in speech sounds: what the phoneme listener searches.

The search goes through the sound frame by frame. In each frame a state takes one label: a speech sound, which may last
for several frames, or a gap, in which the model of the sounds is silent as such models are for most of the time
(connectionist temporal classification, Graves et al. 2006).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import kaldifst

from assistant.hearing.pronunciation import PHONES, Phones
from assistant.values import Arc, WordGraph

INSIDE, BETWEEN = 1, 2
"""Labels of a gap inside a word, and of one before, between or after words."""
LABEL = {phone: number for number, phone in enumerate(sorted(PHONES), start=3)}
"""Label of each speech sound."""
SILENT = 0
MOST_STATES = 1000
"""States that the sentences of a lattice may take together. Talk that fits no sentence fits countless ones alike."""

PronunciationsOf = Callable[[str], Iterable[Phones]]


@dataclass(frozen=True)
class Costs:
    """What the search pays, in natural log.

    Attributes:
        dropped: a sound of a word that is not said.
        whole: in words with fewer sounds than this, at least 2, none may be left out.
        variant: each further pronunciation of a word than the first.
    """

    dropped: float = 6.0
    whole: int = 3
    variant: float = 0.2


class PhonemeNetwork:
    """The transducer from labels, one a frame, to words.

    Attributes:
        fst: labels in, numbers of words out.
        words: number → word; number 0 is no word.
    """

    def __init__(self, graph: WordGraph, pronunciations_of: PronunciationsOf, costs: Costs) -> None:
        """Spells out every arc of the graph.

        Raises:
            UnknownWord: from `pronunciations_of`.
        """
        self.words: list[str] = ["", *sorted(graph.words)]
        self._costs = costs
        self._lines: list[str] = []
        self._n_states = graph.n_states
        number = {word: position for position, word in enumerate(self.words)}
        for state in range(graph.n_states):
            self._step(state, BETWEEN, state)
            if state in graph.finals:
                self._lines.append(str(state))
        said = {word: tuple(pronunciations_of(word)) for word in graph.words}
        # Arcs with one word that lead to one state share its sounds, whatever was said before: a quarter is left.
        arriving: defaultdict[tuple[str, int], list[Arc]] = defaultdict(list)
        for arc in graph.arcs:
            arriving[arc.word, arc.target].append(arc)
        for (word, _), arcs in arriving.items():
            for rank, phones in enumerate(said[word]):
                self._spell(arcs, [LABEL[phone] for phone in phones], number[word], rank)
        # The library reads text much sooner than it takes arcs one by one from Python.
        fst = kaldifst.compile("\n".join(self._lines), keep_state_numbering=True)
        fst.start = graph.start
        self.fst = kaldifst.StdConstFst(fst)
        self._lines.clear()  # 8 MB for a holding

    def _step(self, source: int, label: int, target: int, word: int = 0, cost: float = 0.0) -> None:
        self._lines.append(f"{source} {target} {label} {word} {cost!r}")

    def _state(self) -> int:
        self._n_states += 1
        return self._n_states - 1

    def _spell(self, arcs: Sequence[Arc], labels: Sequence[int], word: int, rank: int) -> None:
        """Adds one pronunciation to arcs of one word that lead to the same state.

        In a short word every sound must be said, else one may be left out, or two that are apart.
        """
        target, dropped, variant = arcs[0].target, self._costs.dropped, self._costs.variant * (rank > 0)
        may_drop = len(labels) >= self._costs.whole
        sounds = [self._lasting(label) for label in labels]
        gaps = [self._lasting(INSIDE) for _ in labels[:-1]]
        for at, gap in enumerate(gaps):
            self._step(sounds[at], INSIDE, gap)
            for before in (sounds[at], gap):
                self._step(before, labels[at + 1], sounds[at + 1])
                if may_drop and at + 2 < len(labels):
                    self._step(before, labels[at + 2], sounds[at + 2], cost=dropped)
        self._step(sounds[-1], SILENT, target)
        if may_drop:
            self._step(sounds[-2], SILENT, target, cost=dropped)
        for arc in arcs:
            self._step(arc.source, labels[0], sounds[0], word, arc.cost + variant)
            if may_drop:
                self._step(arc.source, labels[1], sounds[1], word, arc.cost + variant + dropped)

    def _lasting(self, label: int) -> int:
        state = self._state()
        self._step(state, label, state)
        return state


@dataclass(frozen=True)
class LatticeArc:
    """One arc of a lattice of kaldifst, which has no iterator over them in Python, only their text."""

    source: int
    target: int
    label: int
    word: int
    cost: float


def lattice_arcs(lattice: kaldifst.Lattice) -> tuple[list[LatticeArc], dict[int, float]]:
    """The arcs of a lattice in the order of its states, and the costs of ending in a state."""
    arcs, finals = [], {}
    for line in lattice.to_str(show_weight_one=True).splitlines():
        *places, costs = line.split()
        cost = sum(map(float, costs.split(",")))
        if len(places) == 1:
            finals[int(places[0])] = cost
        else:
            source, target, label, word = map(int, places)
            arcs.append(LatticeArc(source, target, label, word, cost))
    return arcs, finals


def distinct_sentences(lattice: kaldifst.Lattice, limit: int) -> list[tuple[int, ...]]:
    """The word numbers of the best distinct sentences of a lattice, best first.

    A lattice has many paths for one sentence, that differ only in when each sound was said; the cheapest counts.
    """
    arcs, finals = lattice_arcs(lattice)
    words = kaldifst.StdVectorFst()
    for _ in range(lattice.num_states):
        words.add_state()
    words.start = lattice.start
    for arc in arcs:
        words.add_arc(arc.source, kaldifst.StdArc(arc.word, arc.word, arc.cost, arc.target))
    for state, cost in finals.items():
        words.set_final(state, cost)
    kaldifst.rmepsilon(words)
    best = kaldifst.shortest_path(kaldifst.determinize(words, nstate=MOST_STATES), n=limit)
    return [tuple(kaldifst.get_linear_symbol_sequence(path)[2]) for path in kaldifst.convert_nbest_to_vector(best)]

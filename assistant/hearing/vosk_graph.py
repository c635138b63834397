"""A word graph over the numbers of a model's words, in the form that Vosk joins with its sounds."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import kaldifst

from assistant.values import WordGraph

OTHER_TALK, MORE_TALK = 3.0, 1.0
"""Cost (natural log) of taking the sound for other talk, and of each further word of it."""
LEAST_SHARE = 1e-6
"""Of the sentences that come to a state where they may end, at least so many do."""

Spelling = tuple[str, ...]
"""Words of the model that stand for a word of the graph."""


def sentence_graph(
    graph: WordGraph, spellings: Mapping[str, Spelling], numbers: Mapping[str, int], unknown: str | None
) -> kaldifst.StdVectorFst:
    """The graph over the model's word numbers; beside it, if there is a token for it, other talk.

    Args:
        graph: what can be said, with shares that add up to one.
        spellings: how its words are spelt; arcs with others are left out.
        numbers: the model's numbers.
        unknown: the token for unknown words.
    """
    fst = kaldifst.StdVectorFst()
    for _ in range(graph.n_states):
        fst.add_state()
    fst.start = graph.start
    left = dict.fromkeys(graph.finals, 1.0)
    for arc in graph.arcs:
        if arc.source in left:
            left[arc.source] -= math.exp(-arc.cost)
        if arc.word in spellings:
            _add(fst, arc.source, [numbers[word] for word in spellings[arc.word]], arc.cost, arc.target)
    for state, share in left.items():
        fst.set_final(state, -math.log(max(share, LEAST_SHARE)))
    if unknown:
        talk = fst.add_state()
        _add(fst, graph.start, [numbers[unknown]], OTHER_TALK, talk)
        _add(fst, talk, [numbers[unknown]], MORE_TALK, talk)
        fst.set_final(talk, 0.0)
    kaldifst.connect(fst)  # what leads nowhere after arcs were left out
    kaldifst.arcsort(fst, "ilabel")
    return fst


def _add(fst: kaldifst.StdVectorFst, source: int, labels: Sequence[int], cost: float, target: int) -> None:
    for label in labels[:-1]:
        between = fst.add_state()
        fst.add_arc(source, kaldifst.StdArc(label, label, cost, between))
        source, cost = between, 0.0
    fst.add_arc(source, kaldifst.StdArc(labels[-1], labels[-1], cost, target))

"""Sentences of a word graph: how likely it holds each, and graphs of a few given ones."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from assistant.values import Arc, WordGraph


class Prior:
    """How likely a graph holds a sentence, before anything is heard.

    Args:
        graph: a state has at most one arc for each word.
        strange: what a sentence costs that the graph does not have, in natural log, and what each of its words adds.
    """

    def __init__(self, graph: WordGraph, strange: tuple[float, float] = (math.inf, 0.0)) -> None:
        self._strange = strange
        self._start, self._finals = graph.start, graph.finals
        self._next = {(arc.source, arc.word): arc for arc in graph.arcs}

    def cost(self, words: Sequence[str]) -> float:
        """The costs of the sentence's arcs, in natural log; as `strange` says if it is no complete one of the graph."""
        state, cost = self._start, 0.0
        for word in words:
            arc = self._next.get((state, word))
            if arc is None:
                return self._strange_cost(words)
            state, cost = arc.target, cost + arc.cost
        return cost if state in self._finals else self._strange_cost(words)

    def _strange_cost(self, words: Sequence[str]) -> float:
        sentence, word = self._strange
        return sentence + word * len(words)


def only(sentences: Collection[str]) -> WordGraph:
    """The graph of these sentences and no others, all equally likely.

    Args:
        sentences: with spaces between the words; an empty one counts for nothing.

    Returns:
        A tree: each state is one beginning.
    """
    state_of: dict[tuple[str, ...], int] = {(): 0}
    arcs, finals = [], set()
    for sentence in sentences:
        words = tuple(sentence.split())
        for length in range(1, len(words) + 1):
            beginning = words[:length]
            if beginning not in state_of:
                state_of[beginning] = len(state_of)
                arcs.append(Arc(state_of[beginning[:-1]], state_of[beginning], beginning[-1]))
        if words:
            finals.add(state_of[words])
    return WordGraph(0, frozenset(finals), tuple(arcs), len(state_of))

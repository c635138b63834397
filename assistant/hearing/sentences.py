"""Word graphs of a few given sentences."""

from __future__ import annotations

from collections.abc import Collection

from assistant.values import Arc, WordGraph


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

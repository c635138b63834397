"""Word graphs written in a format that listeners read.

Source:
    The finite state grammar format of CMU Sphinx, as the `fsg_model` of PocketSphinx 5 reads it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from assistant.values import WordGraph


def fsg(graph: WordGraph, name: str, repeats: bool = False) -> str:
    """A graph as finite state grammar text.

    The format has one final state only: it gets a number of its own, and silent transitions lead to it.

    Args:
        graph: what can be said.
        name: one word to call it by.
        repeats: whether the whole may be said several times in a row. One silent transition does it, where the graph
            of a repeated rule needs the arcs of each first word at each place where the rule can end.
    """
    return "\n".join(_lines(graph, name, repeats)) + "\n"


def _lines(graph: WordGraph, name: str, repeats: bool) -> Iterator[str]:
    final = graph.n_states
    yield f"FSG_BEGIN {name}"
    yield f"NUM_STATES {graph.n_states + 1}"
    yield f"START_STATE {graph.start}"
    yield f"FINAL_STATE {final}"
    for arc in graph.arcs:
        yield f"TRANSITION {arc.source} {arc.target} {math.exp(-arc.cost):.6g} {arc.word}"
    for state in sorted(graph.finals):
        yield f"TRANSITION {state} {final} 1.0"
    if repeats:
        yield f"TRANSITION {final} {graph.start} 1.0"
    yield "FSG_END"

"""A grammar as plain lists, as it is kept in a file: reading that takes a tenth of the time of putting it together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import kaldifst

from assistant.grammar.linking import Linked
from assistant.grammar.network import Fill, Network, Phrasebook, Step, phrasebook
from assistant.grammar.recursion import Beginnings, recursive
from assistant.values import Arc, WordGraph

MADE_BY = f"kaldifst {kaldifst.__version__}"
"""The library that puts graphs together: another version may make another graph."""


def packed(linked: Linked, graphs: Mapping[str, WordGraph]) -> dict[str, Any]:
    """Networks and graphs as lists, numbers and texts.

    Args:
        linked: the networks. What was filled in is left out: it is quickly made again.
        graphs: of rules, by key.
    """
    networks = {
        key: [
            [[step.target, step.word, step.call, step.tags, step.cost, step.moves] for step in steps]
            for steps in net.steps
        ]
        for key, net in linked.networks.items()
        if isinstance(net, Network)
    }
    return {
        "order": list(linked.networks),
        "networks": networks,
        "named": linked.named,
        "graphs": {key: _packed_graph(graph) for key, graph in graphs.items()},
    }


def _packed_graph(graph: WordGraph) -> dict[str, Any]:
    words = sorted(graph.words)
    number = {word: place for place, word in enumerate(words)}
    arcs = [[arc.source, arc.target, number[arc.word], arc.cost] for arc in graph.arcs]
    return {
        "start": graph.start,
        "finals": sorted(graph.finals),
        "n_states": graph.n_states,
        "words": words,
        "arcs": arcs,
    }


def linked_of(kept: Mapping[str, Any], fills: Mapping[str, Sequence[Fill]]) -> Linked:
    """The networks out of what `packed` gave.

    Args:
        kept: that, with lists for tuples, as a file gives it back.
        fills: the same that it was made with.

    Raises:
        KeyError, TypeError, ValueError, IndexError: it is nothing that `packed` gave.
    """
    networks: dict[str, Network | Phrasebook] = {}
    for key in kept["order"]:
        steps = kept["networks"].get(key)
        networks[key] = (
            phrasebook(key, fills[key]) if steps is None else Network([list(map(_step, at)) for at in steps])
        )
    beginnings = Beginnings(networks, {})
    first, nullable = beginnings.first, frozenset(beginnings.nullable)
    return Linked(networks, tuple(kept["named"]), first, nullable, recursive(networks, {}))


def _step(row: Sequence[Any]) -> Step:
    target, word, call, tags, cost, moves = row
    return Step(target, word, call, tuple((slot, value) for slot, value in tags), cost, moves)


def graphs_of(kept: Mapping[str, Any]) -> dict[str, WordGraph]:
    """The graphs out of what `packed` gave, by key; raises as `linked_of`."""
    return {key: _graph(flat) for key, flat in kept["graphs"].items()}


def _graph(flat: Mapping[str, Any]) -> WordGraph:
    words = flat["words"]
    arcs = tuple(Arc(source, target, words[word], cost) for source, target, word, cost in flat["arcs"])
    return WordGraph(flat["start"], frozenset(flat["finals"]), arcs, flat["n_states"])

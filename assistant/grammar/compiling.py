"""The network of a rule made into one word graph: silent steps removed, deterministic, minimal."""

from __future__ import annotations

from collections.abc import Mapping

import kaldifst

from assistant.errors import BadGrammar
from assistant.grammar.linking import Linked
from assistant.grammar.network import END, START, Phrasebook
from assistant.values import Arc, WordGraph

MOST_STEPS = 4_000_000
"""Steps of an expanded rule beyond which its graph would not fit a small computer."""

FINEST_COST = 1 / 64
"""Costs that differ by less are taken for the same where states are put together."""


class _Expansion:
    """One rule with every call replaced by what it calls, as an acceptor of word numbers."""

    def __init__(self, linked: Linked) -> None:
        self.linked = linked
        self.numbers: dict[str, int] = {}
        self._n_states = 0
        self._lines: list[str] = []

    def state(self) -> int:
        self._n_states += 1
        return self._n_states - 1

    def add(self, source: int, word: str, cost: float, target: int) -> None:
        number = self.numbers.setdefault(word, len(self.numbers) + 1) if word else 0
        self._lines.append(f"{source} {target} {number} {cost!r}")

    def fst(self, start: int, end: int) -> kaldifst.StdVectorFst:
        """The acceptor from where sentences start to where they end.

        The library reads its text much sooner than it takes arcs one by one from Python.
        """
        fst = kaldifst.compile("\n".join([*self._lines, str(end)]), acceptor=True, keep_state_numbering=True)
        fst.start = start
        return fst

    def expand(self, key: str, start: int, end: int, tails: Mapping[str, int], is_free: bool) -> None:
        """Adds network `key` between two states.

        Args:
            key: the network.
            start: state of the acceptor where it begins.
            end: state where it ends.
            tails: starts of the networks that end where this one does: a call of one of them goes back there.
            is_free: costs count nothing here. So it is where sentences may turn in a circle: costs in a circle can
                keep the graph from becoming deterministic.
        """
        net = self.linked.networks[key]
        if isinstance(net, Phrasebook):
            self._phrases(net, start, end, is_free)
            return
        is_free = is_free or key in self.linked.recursive
        states = {START: start, END: end}
        for number in range(2, len(net.steps)):
            states[number] = self.state()
        for number, steps in enumerate(net.steps):
            source = states[number]
            for step in steps:
                target, cost = states[step.target], 0.0 if is_free else step.cost
                own_tails = {**tails, key: start} if step.target == END else {}
                if not step.call:
                    self.add(source, step.word, cost, target)
                elif step.call in own_tails:
                    self.add(source, "", cost, own_tails[step.call])
                else:
                    # States of its own, so that nothing of a called loop leaks into another way through here.
                    entry = self.state()
                    self.add(source, "", cost, entry)
                    self.expand(step.call, entry, target, own_tails, is_free or step.moves)

    def _phrases(self, book: Phrasebook, start: int, end: int, is_free: bool) -> None:
        nodes: dict[tuple[str, ...], int] = {(): start}
        for words, costs in book.phrases.items():
            for length in range(1, len(words)):
                if words[:length] not in nodes:
                    nodes[words[:length]] = self.state()
                    self.add(nodes[words[: length - 1]], words[length - 1], 0.0, nodes[words[:length]])
            self.add(nodes[words[:-1]], words[-1], 0.0 if is_free else min(costs.values()), end)


def _size(linked: Linked, key: str, known: dict[str, int]) -> int:
    """Steps of a network once every call is replaced; a call of itself counts nothing."""
    if key not in known:
        known[key] = 0
        net = linked.networks[key]
        if isinstance(net, Phrasebook):
            known[key] = sum(map(len, net.phrases))
        else:
            steps = [step for steps in net.steps for step in steps]
            known[key] = len(steps) + sum(_size(linked, step.call, known) for step in steps if step.call)
    return known[key]


def word_graph(linked: Linked, rule: str) -> WordGraph:
    """The minimal graph of a rule; its costs are rounded to `FINEST_COST`.

    Raises:
        BadGrammar: its networks are too big once every call is replaced.
    """
    key = linked.key(rule)
    if (size := _size(linked, key, {})) > MOST_STEPS:
        raise BadGrammar(
            f"the graph of <{key}> grows too big ({size} steps), its rules are used too often; simplify it"
        )
    expansion = _Expansion(linked)
    start, end = expansion.state(), expansion.state()
    expansion.expand(key, start, end, {}, is_free=False)
    fst = expansion.fst(start, end)
    kaldifst.rmepsilon(fst)
    if fst.num_states == 0:
        return WordGraph(0, frozenset(), (), 1)
    fst = kaldifst.determinize(fst)
    # Costs that differ by how sums were rounded would keep equal states apart.
    kaldifst.minimize(fst, delta=FINEST_COST)
    return _graph(fst, {number: word for word, number in expansion.numbers.items()})


def _graph(fst: kaldifst.StdVectorFst, words: Mapping[int, str]) -> WordGraph:
    infinite = float("inf")
    finals = frozenset(s for s in range(fst.num_states) if fst.final(s).value != infinite)
    arcs = tuple(
        Arc(state, arc.nextstate, words[arc.ilabel], max(0.0, arc.weight.value))
        for state in range(fst.num_states)
        for arc in kaldifst.ArcIterator(fst, state)
    )
    return WordGraph(fst.start, finals, arcs, fst.num_states)

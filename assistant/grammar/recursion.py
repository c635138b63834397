"""Which networks can begin with which words, and which call themselves: only at their end may they do so.

Source:
    JSpeech Grammar Format, W3C Note 05 June 2000, section "Recursion": right recursion only.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from graphlib import CycleError, TopologicalSorter

from assistant.errors import BadGrammar
from assistant.grammar import tree
from assistant.grammar.network import END, START, Network, Phrasebook, Step

Networks = Mapping[str, Network | Phrasebook]
Places = Mapping[str, tuple[str, int]]


class Beginnings:
    """The first words of each network, and which networks can say nothing.

    Attributes:
        first: words by key.
        nullable: keys of the networks that can say nothing.

    Raises:
        BadGrammar: a rule calls itself before it has said a word, or rules nest too deep.
    """

    def __init__(self, networks: Networks, places: Places) -> None:
        self.first: dict[str, frozenset[str]] = {}
        self.nullable: set[str] = set()
        self._networks = networks
        self._places = places
        self._open: list[str] = []
        for key in networks:
            self._visit(key)

    def _visit(self, key: str) -> None:
        if key in self.first:
            return
        net = self._networks[key]
        if isinstance(net, Phrasebook):
            self.first[key] = net.first
            return
        if key in self._open:
            raise _trouble(key, self._places, "this rule calls itself before any word; it may do so only at its end")
        if len(self._open) > tree.DEEPEST:
            raise _trouble(key, self._places, f"more than {tree.DEEPEST} rules call one another in a row")
        self._open.append(key)
        words: set[str] = set()
        seen, agenda = {START}, [START]
        while agenda:
            for step in net.steps[agenda.pop()]:
                words |= self._words(step)
                if self._is_silent(step) and step.target not in seen:
                    seen.add(step.target)
                    agenda.append(step.target)
        if END in seen:
            self.nullable.add(key)
        self.first[key] = frozenset(words)
        self._open.pop()

    def _words(self, step: Step) -> frozenset[str]:
        if not step.call:
            return frozenset([step.word] if step.word else [])
        self._visit(step.call)
        return self.first[step.call]

    def _is_silent(self, step: Step) -> bool:
        return not step.word and (not step.call or (step.call in self.nullable and not step.moves))


def recursive(networks: Networks, places: Places) -> frozenset[str]:
    """Keys of the networks that can call themselves.

    Raises:
        BadGrammar: one does so elsewhere than as its last item.
    """
    calls = {key: {step.call for step in _calls(net)} for key, net in networks.items()}
    try:
        TopologicalSorter(calls).prepare()
    except CycleError:
        reach = {key: _reachable(key, calls) for key in networks}
    else:
        return frozenset()
    found = frozenset(key for key in networks if key in reach[key])
    for key in sorted(found):
        if any(step.target != END and key in reach[step.call] for step in _calls(networks[key])):
            raise _trouble(key, places, "this rule calls itself in its middle; it may do so only as its last item")
    return found


def _calls(net: Network | Phrasebook) -> Iterable[Step]:
    return (step for steps in net.steps for step in steps if step.call) if isinstance(net, Network) else ()


def _reachable(key: str, calls: Mapping[str, set[str]]) -> set[str]:
    seen: set[str] = set()
    agenda = [key]
    while agenda:
        new = calls[agenda.pop()] - seen
        seen |= new
        agenda.extend(new)
    return seen


def _trouble(key: str, places: Places, trouble: str) -> BadGrammar:
    rule = key.partition("#")[0]
    file, line = places[rule]
    return tree.bad(file, line, f"<{rule}>", trouble)

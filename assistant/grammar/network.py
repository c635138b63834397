"""Rules as small networks that call one another: what readings are looked up in and word graphs are made from.

Every rule becomes one network with a single start and end. A step between two states says a word, says nothing, or
calls another network; so a rule is stored once however often it is used. A bracket that bears tags, and what is
repeated, become networks of their own, since a call knows where its words begin and end.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from assistant.errors import BadGrammar
from assistant.grammar import tree

START, END = 0, 1
RawTags = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Fill:
    """One alternative that is put into a rule at run time.

    Attributes:
        words: what is said, words with spaces between them.
        tags: (slot, value) pairs that stand on all of it.
        weight: how likely it is beside the others, above 0.
    """

    words: str
    tags: tuple[tuple[str, str], ...] = ()
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class Step:
    """One way on from a state: a word, a call, or nothing (both empty).

    Attributes:
        target: the next state.
        word, call: what is said, or the key of the network that says it.
        tags: tags that stand on what is said.
        cost: at least 0.
        moves: a call that has to say at least one word, so that no repeat turns on the spot.
    """

    target: int
    word: str = ""
    call: str = ""
    tags: RawTags = ()
    cost: float = 0.0
    moves: bool = False


@dataclass
class Network:
    """The steps out of each state of a rule; state 0 is the start, 1 the end, which has no steps."""

    steps: list[list[Step]] = field(default_factory=lambda: [[], []])

    def add_state(self) -> int:
        """A new state's number."""
        self.steps.append([])
        return len(self.steps) - 1


@dataclass
class Phrasebook:
    """The alternatives of a rule that is filled at run time, by their words: quick for any number of animals."""

    phrases: dict[tuple[str, ...], dict[RawTags, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.lengths = sorted({len(words) for words in self.phrases})
        self.first = frozenset(words[0] for words in self.phrases)


def phrasebook(rule: str, fills: Sequence[Fill]) -> Phrasebook:
    """The fills of a rule by their words; a fill without words says nothing and is left out.

    Raises:
        BadGrammar: a weight is not above 0.
    """
    for fill in fills:
        if not 0 < fill.weight < math.inf:
            raise BadGrammar(f"fill of <{rule}>: the weight of {fill.words!r} has to be above 0, not {fill.weight}")
    heaviest = max((fill.weight for fill in fills), default=1.0)
    phrases: dict[tuple[str, ...], dict[RawTags, float]] = {}
    for fill in fills:
        if words := tuple(fill.words.lower().split()):
            costs = phrases.setdefault(words, {})
            cost = _cost(fill.weight, heaviest)
            costs[fill.tags] = min(cost, costs.get(fill.tags, math.inf))
    return Phrasebook(phrases)


def _cost(weight: float, heaviest: float) -> float:
    return math.log(heaviest / weight)


def tag_pair(text: str) -> tuple[str, str]:
    """Slot and value of a tag's text: `slot=value`, or a bare value, whose slot is "tag"."""
    slot, equals, value = text.partition("=")
    return (slot.strip(), value.strip()) if equals else ("tag", text.strip())


class Builder:
    """Builds the network of one rule, and those of its tagged brackets and repeats, into `networks`.

    Args:
        key: the rule's key.
        resolve: gives the key of the rule that a reference means.
        networks: where the networks go.
    """

    def __init__(
        self,
        key: str,
        resolve: Callable[[tree.Reference], str],
        networks: dict[str, Network | Phrasebook],
    ) -> None:
        self.key = key
        self.resolve = resolve
        self.networks = networks

    def build(self, item: tree.Expansion, net: Network, start: int, end: int) -> None:
        """Adds to `net` the ways from `start` to `end` that say `item`."""
        match item:
            case tree.OneOf(items, weights):
                self._one_of(items, weights, net, start, end)
            case tree.InOrder(items):
                for part in items[:-1]:
                    start, before = net.add_state(), start
                    self.build(part, net, before, start)
                self.build(items[-1], net, start, end)
            case tree.Maybe(inner):
                self.build(inner, net, start, end)
                net.steps[start].append(Step(end))
            case tree.Repeat(inner, least):
                self._repeat(inner, least, net, start, end)
            case tree.Tagged(inner, texts):
                self._say(inner, tuple(tag_pair(text) for text in texts), net, start, end)
            case tree.Word() | tree.Reference():
                self._say(item, (), net, start, end)

    def _one_of(
        self, items: Sequence[tree.Expansion], weights: Sequence[float], net: Network, start: int, end: int
    ) -> None:
        heaviest = max(weights, default=1.0)
        for item, weight in zip(items, weights or [1.0] * len(items), strict=True):
            if weight == heaviest:
                self.build(item, net, start, end)
            elif weight > 0:
                state = net.add_state()
                net.steps[start].append(Step(state, cost=_cost(weight, heaviest)))
                self.build(item, net, state, end)

    def _repeat(self, item: tree.Expansion, least: int, net: Network, start: int, end: int) -> None:
        if least:
            start, before = net.add_state(), start
            self.build(item, net, before, start)
        loop = net.add_state()
        net.steps[start].append(Step(loop))
        net.steps[loop].append(Step(loop, call=self._part(item), moves=True))
        net.steps[loop].append(Step(end))

    def _say(self, item: tree.Expansion, tags: RawTags, net: Network, start: int, end: int) -> None:
        match item:
            case tree.Word(text) if " " not in text:
                net.steps[start].append(Step(end, word=text.lower(), tags=tags))
            case tree.Word(text) if not tags:
                self.build(tree.InOrder(tuple(tree.Word(word) for word in text.split())), net, start, end)
            case tree.Reference("VOID"):
                pass
            case tree.Reference("NULL") if not tags:
                net.steps[start].append(Step(end))
            case tree.Reference(name) if name != "NULL":
                net.steps[start].append(Step(end, call=self.resolve(item), tags=tags))
            case _:
                net.steps[start].append(Step(end, call=self._part(item), tags=tags))

    def _part(self, item: tree.Expansion) -> str:
        key = f"{self.key}#{len(self.networks)}"
        net = self.networks[key] = Network()
        self.build(item, net, START, END)
        return key


def trimmed(networks: Mapping[str, Network | Phrasebook]) -> dict[str, Network | Phrasebook]:
    """The networks without the steps that lead to no sentence, such as calls of an empty fill."""
    callers: dict[str, set[str]] = {key: set() for key in networks}
    for key, net in networks.items():
        for step in (step for steps in net.steps for step in steps) if isinstance(net, Network) else ():
            if step.call:
                callers[step.call].add(key)
    fruitful: set[str] = set()
    good: dict[str, set[int]] = {}
    agenda = list(networks)
    while agenda:
        net = networks[key := agenda.pop()]
        if isinstance(net, Network):
            good[key] = _good_states(net, fruitful)
        is_fruitful = START in good[key] if isinstance(net, Network) else bool(net.phrases)
        if is_fruitful and key not in fruitful:
            fruitful.add(key)
            agenda.extend(callers[key])
    return {
        key: _without(net, good[key], fruitful) if isinstance(net, Network) else net for key, net in networks.items()
    }


def _without(net: Network, good: set[int], fruitful: set[str]) -> Network:
    kept = [[step for step in steps if step.target in good and _can_say(step, fruitful)] for steps in net.steps]
    return Network(kept)


def _can_say(step: Step, fruitful: set[str]) -> bool:
    return not step.call or step.call in fruitful


def _good_states(net: Network, fruitful: set[str]) -> set[int]:
    """The states from which the end can be reached."""
    before: dict[int, set[int]] = {}
    for state, steps in enumerate(net.steps):
        for step in steps:
            if _can_say(step, fruitful):
                before.setdefault(step.target, set()).add(state)
    good, agenda = {END}, [END]
    while agenda:
        new = before.get(agenda.pop(), set()) - good
        good |= new
        agenda.extend(new)
    return good

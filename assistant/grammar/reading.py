"""Words looked up in a grammar: every reading of a sentence, or the best cover of words that are none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count
from typing import NamedTuple

from assistant.grammar.linking import Linked
from assistant.grammar.network import END, START, Network, Phrasebook, RawTags, Step

MOST_READINGS = 64
"""Most readings kept for one stretch of words and one state; a remark with more is not a sentence anybody meant."""


class Tag(NamedTuple):
    """A tag of a sentence on the words `start` to before `end`.

    A tuple, not a dataclass: rows of tags are keys of dictionaries wherever words are read.
    """

    slot: str
    value: str
    start: int
    end: int


@dataclass(frozen=True)
class TaggedReading:
    """One way to read a sentence; `cost` is at least 0, and lower is likelier."""

    words: tuple[str, ...]
    tags: tuple[Tag, ...]
    cost: float

    @property
    def slots(self) -> dict[str, str]:
        """The value of each slot; the last one if it was filled twice."""
        return {tag.slot: tag.value for tag in self.tags}


@dataclass(frozen=True)
class Piece:
    """A phrase found among words, or one word that no phrase could place (`placed` is False)."""

    words: tuple[str, ...]
    tags: tuple[Tag, ...]
    start: int
    end: int
    placed: bool = True


_Costs = dict[tuple[Tag, ...], float]


class Chart:
    """What each network can make of each place of one row of words; worked out when first asked for."""

    def __init__(self, linked: Linked, words: Sequence[str]) -> None:
        self.linked = linked
        self.words = tuple(words)
        self._known: dict[tuple[str, int], dict[int, _Costs]] = {}
        # A rule that calls itself at its end is worked out from the last word back, so that no long remark nests.
        for place in range(len(self.words), -1, -1):
            for key in sorted(linked.recursive):
                self.ends(key, place)

    def ends(self, key: str, start: int) -> dict[int, _Costs]:
        """Where the network can end if it begins before word `start`: the tags of each way, with its cost."""
        known = self._known.get((key, start))
        if known is None:
            net = self.linked.networks[key]
            found = self._phrases(net, start) if isinstance(net, Phrasebook) else self._walk(net, start)
            known = self._known[key, start] = found
        return known

    def _phrases(self, book: Phrasebook, start: int) -> dict[int, _Costs]:
        found: dict[int, _Costs] = {}
        for length in book.lengths:
            end = start + length
            if end <= len(self.words) and (costs := book.phrases.get(self.words[start:end])):
                found[end] = {_placed(tags, start, end): cost for tags, cost in costs.items()}
        return found

    def _walk(self, net: Network, start: int) -> dict[int, _Costs]:
        best: dict[tuple[int, int], _Costs] = {}
        # Cheapest first, then in order of discovery: so the first arrival with some tags is the cheapest one.
        order = count()
        agenda: list[tuple[float, int, int, int, tuple[Tag, ...]]] = [(0.0, next(order), START, start, ())]
        while agenda:
            cost, _, state, place, tags = heappop(agenda)
            costs = best.setdefault((state, place), {})
            if tags in costs or len(costs) >= MOST_READINGS:
                continue
            costs[tags] = cost
            for step in net.steps[state]:
                for end, more, extra in self._step(step, place):
                    heappush(agenda, (cost + extra, next(order), step.target, end, tags + more))
        return {place: costs for (state, place), costs in best.items() if state == END}

    def _step(self, step: Step, place: int) -> list[tuple[int, tuple[Tag, ...], float]]:
        if step.word:
            if place < len(self.words) and self.words[place] == step.word:
                return [(place + 1, _placed(step.tags, place, place + 1), step.cost)]
            return []
        if not step.call:
            return [(place, (), step.cost)]
        begins = place < len(self.words) and self.words[place] in self.linked.first[step.call]
        if not begins and (step.moves or step.call not in self.linked.nullable):
            return []
        return [
            (end, tags + _placed(step.tags, place, end), cost + step.cost)
            for end, costs in self.ends(step.call, place).items()
            if end > place or not step.moves
            for tags, cost in costs.items()
        ]


def _placed(tags: RawTags, start: int, end: int) -> tuple[Tag, ...]:
    return tuple(Tag(slot, value, start, end) for slot, value in tags)


def readings(linked: Linked, words: Sequence[str], rule: str) -> tuple[TaggedReading, ...]:
    """Every reading of the exact sentence, cheapest first."""
    chart = Chart(linked, words)
    costs = chart.ends(linked.key(rule), 0).get(len(words), {})
    found = [TaggedReading(chart.words, tags, cost) for tags, cost in costs.items()]
    return tuple(sorted(found, key=lambda reading: (reading.cost, [(t.start, t.slot, t.value) for t in reading.tags])))


def cover(linked: Linked, words: Sequence[str], rule: str) -> tuple[Piece, ...]:
    """The split with the fewest unplaced words, then the fewest phrases, then the least cost."""
    chart = Chart(linked, words)
    key = linked.key(rule)
    best: list[tuple[tuple[int, int, float], Piece | None]] = [((0, 0, 0.0), None)] * (len(words) + 1)
    for start in range(len(words) - 1, -1, -1):
        (left, phrases, cost), _ = best[start + 1]
        choice = ((left + 1, phrases, cost), Piece(chart.words[start : start + 1], (), start, start + 1, placed=False))
        for end, costs in chart.ends(key, start).items():
            if end == start:
                continue
            tags, extra = min(costs.items(), key=lambda item: item[1])
            (left, phrases, cost), _ = best[end]
            total = (left, phrases + 1, cost + extra)
            if total < choice[0]:
                choice = (total, Piece(chart.words[start:end], tags, start, end))
        best[start] = choice
    pieces: list[Piece] = []
    while (piece := best[pieces[-1].end if pieces else 0][1]) is not None:
        pieces.append(piece)
    return tuple(pieces)


_Place = tuple[tuple[str, int | tuple[str, ...]], ...]
"""Where a sentence may be: the networks that called one another, each with its state or the words of its phrase."""


def can_go_on(linked: Linked, words: Sequence[str], rule: str) -> bool:
    """Whether a sentence that begins with these words can have more of them."""
    places: set[_Place] = {((linked.key(rule), START),)}
    for word in words:
        reached = _reached(linked, places, word)
        places = {after for place in reached for after in _after(linked, place, word)}
    return any(_has_more(linked, place) for place in _reached(linked, places, ""))


def _reached(linked: Linked, places: set[_Place], word: str) -> set[_Place]:
    """All places that are reached from some without a word, and from which `word` may come next; "" for any word."""
    seen, agenda = set(places), list(places)
    while agenda:
        *below, (key, state) = agenda.pop()
        net = linked.networks[key]
        found: list[_Place] = []
        if isinstance(net, Phrasebook):
            found += [tuple(below)] if state in net.phrases else []
        elif state == END:
            found += [tuple(below)]
        else:
            for step in net.steps[state] if isinstance(state, int) else ():
                on = (*below, (key, step.target))
                if not step.word and (not step.call or step.call in linked.nullable):
                    found.append(on)
                if step.call and word in linked.first[step.call]:
                    at: int | tuple[str, ...] = () if isinstance(linked.networks[step.call], Phrasebook) else START
                    found.append((*on, (step.call, at)))
        new = {place for place in found if place} - seen
        seen |= new
        agenda.extend(new)
    return seen


def _after(linked: Linked, place: _Place, word: str) -> list[_Place]:
    *below, (key, state) = place
    net = linked.networks[key]
    if isinstance(net, Phrasebook):
        begun = (*state, word) if isinstance(state, tuple) else (word,)
        return [(*below, (key, begun))] if any(phrase[: len(begun)] == begun for phrase in net.phrases) else []
    steps = net.steps[state] if isinstance(state, int) else []
    return [(*below, (key, step.target)) for step in steps if step.word == word]


def _has_more(linked: Linked, place: _Place) -> bool:
    key, state = place[-1]
    net = linked.networks[key]
    if isinstance(net, Phrasebook):
        begun = state if isinstance(state, tuple) else ()
        return any(len(phrase) > len(begun) and phrase[: len(begun)] == begun for phrase in net.phrases)
    steps = net.steps[state] if isinstance(state, int) else []
    return any(step.word or linked.first.get(step.call) for step in steps)

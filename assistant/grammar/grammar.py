"""One grammar out of several files, with its four uses: graph, readings, cover and sentences."""

from __future__ import annotations

import math
import random
from collections import defaultdict, deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from assistant.errors import BadGrammar
from assistant.grammar import packing, reading
from assistant.grammar.compiling import word_graph
from assistant.grammar.linking import Linked, link
from assistant.grammar.network import END, START, Fill, Phrasebook, Step, tag_pair
from assistant.grammar.reading import Piece, Tag, TaggedReading
from assistant.grammar.tree import JsgfFile, bad, tag_texts
from assistant.values import Arc, WordGraph

__all__ = ["Fill", "Grammar", "Piece", "Tag", "TaggedReading"]


class Grammar:
    """Rules of one or more JSGF files, ready to use.

    A tag is `{slot=value}`; one without "=" has the slot "tag". Words are lower case. A rule may call itself only as
    its last item, so that every rule is a regular language.

    Weights: the cost of an alternative is ln(heaviest weight / its weight), so the likeliest costs nothing, and rules
    without weights cost nothing. Alternatives with weight 0 are never said.

    Methods that take a rule raise `BadGrammar` if no rule has this name, or several have.

    Attributes:
        is_kept: whether it was taken from what was kept of it, see `unpacked`.
    """

    def __init__(self, linked: Linked) -> None:
        self._linked = linked
        self._graphs: dict[str, WordGraph] = {}
        self._words: dict[str, frozenset[str]] = {}
        self.is_kept = False

    @classmethod
    def load(
        cls,
        sources: Sequence[tuple[str, str]],
        fills: Mapping[str, Sequence[Fill]] | None = None,
        tag_trouble: Callable[[str, str], str] = lambda slot, value: "",
    ) -> Grammar:
        """Puts grammar files together.

        A keeper adds forms with a file of the same grammar name: two files with the same grammar name are one
        grammar, and where both declare a rule, the alternatives of the later one are added to it. Twice the same rule
        in one file is a mistake. Only public rules can be imported; rules of the same grammar need no import.

        Args:
            sources: (file name, text) pairs; the name is only for messages.
            fills: alternatives by bare rule name; they replace what a file declares under this name, and are seen
                from every grammar without import. No alternatives: the rule says nothing (`<VOID>`).
            tag_trouble: what is wrong with the slot and value of a tag, empty if nothing is.

        Raises:
            BadGrammar: a mistake in a file, or between them.
        """
        from assistant.grammar import jsgf  # takes long, and nothing of it is needed where the grammar is kept

        files = [jsgf.parse(text, file) for file, text in sources]
        for parsed in files:
            _refuse_bad_tags(parsed, tag_trouble)
        return cls(link(files, fills or {}))

    def packed(self) -> dict[str, Any]:
        """The grammar, and the graphs that were made of it, as lists, numbers and texts, for a file."""
        return packing.packed(self._linked, self._graphs)

    @classmethod
    def unpacked(cls, kept: Mapping[str, Any], fills: Mapping[str, Sequence[Fill]]) -> Grammar:
        """The grammar out of what `packed` gave; its graphs are there.

        Args:
            kept: that, as a file gives it back.
            fills: the same that it was made with.

        Raises:
            KeyError, TypeError, ValueError, IndexError: it is nothing that `packed` gave.
        """
        grammar = cls(packing.linked_of(kept, fills))
        grammar._graphs, grammar.is_kept = packing.graphs_of(kept), True
        return grammar

    def graph(self, rule: str = "remark") -> WordGraph:
        """The deterministic, minimal graph of a rule's sentences, without tags.

        The cost of a sentence is that of its cheapest reading, paid as early as the words can be told apart; costs
        inside repeats and recursion are dropped, and so is what could only be paid after the last word.

        Raises:
            BadGrammar: the graph grows too big.
        """
        key = self._linked.key(rule)
        if key not in self._graphs:
            self._graphs[key] = word_graph(self._linked, key)
        return self._graphs[key]

    def readings(self, words: Sequence[str], rule: str = "remark") -> tuple[TaggedReading, ...]:
        """Every reading of the exact sentence with other tags, cheapest first; () if it is no sentence."""
        return reading.readings(self._linked, words, rule)

    def cover(self, words: Sequence[str], rule: str = "phrase") -> tuple[Piece, ...]:
        """The words split into phrases of the rule and single unplaced words.

        The split has the fewest unplaced words, then the fewest phrases, then the least cost.
        """
        return reading.cover(self._linked, words, rule)

    def can_go_on(self, words: Sequence[str], rule: str = "remark") -> bool:
        """Whether a sentence that begins with these words can have more of them."""
        return reading.can_go_on(self._linked, words, rule)

    def words(self, rule: str = "remark") -> frozenset[str]:
        """Every word that can be said in the rule."""
        if rule not in self._words:
            self._words[rule] = frozenset(self._words_from(self._linked.key(rule)))
        return self._words[rule]

    def _words_from(self, key: str) -> set[str]:
        found: set[str] = set()
        seen, agenda = set(), [key]
        while agenda:
            if (key := agenda.pop()) in seen:
                continue
            seen.add(key)
            net = self._linked.networks[key]
            if isinstance(net, Phrasebook):
                found.update(word for phrase in net.phrases for word in phrase)
                continue
            steps = [step for steps in net.steps for step in steps]
            found.update(step.word for step in steps if step.word)
            agenda.extend(step.call for step in steps if step.call)
        return found

    def sentences(self, rule: str, limit: int) -> Iterator[tuple[str, ...]]:
        """The first `limit` sentences of the rule, each once, short ones first."""
        graph = self.graph(rule)
        arcs: dict[int, list[Arc]] = defaultdict(list)
        for arc in graph.arcs:
            arcs[arc.source].append(arc)
        agenda: deque[tuple[int, tuple[str, ...]]] = deque([(graph.start, ())])
        while agenda and limit > 0:
            state, words = agenda.popleft()
            if state in graph.finals:
                limit -= 1
                yield words
            agenda.extend((arc.target, (*words, arc.word)) for arc in arcs[state])

    def sample(self, rng: random.Random, rule: str = "remark") -> tuple[tuple[str, ...], tuple[Tag, ...]]:
        """A random sentence with its tags; likelier alternatives come more often.

        Raises:
            BadGrammar: the rule has no sentence.
        """
        words: list[str] = []
        tags: list[Tag] = []
        self._walk(self._linked.key(rule), rng, words, tags)
        return tuple(words), tuple(tags)

    def _walk(self, key: str, rng: random.Random, words: list[str], tags: list[Tag]) -> None:
        net = self._linked.networks[key]
        if isinstance(net, Phrasebook):
            self._say_fill(net, rng, words, tags)
            return
        state = START
        while state != END:
            steps = net.steps[state]
            if not steps:
                raise BadGrammar(f"the rule <{key}> has no sentence")
            step = rng.choices(steps, [math.exp(-step.cost) for step in steps])[0]
            self._take(step, rng, words, tags)
            state = step.target

    def _take(self, step: Step, rng: random.Random, words: list[str], tags: list[Tag]) -> None:
        start, tag_count = len(words), len(tags)
        if step.word:
            words.append(step.word)
        elif step.call:
            self._walk(step.call, rng, words, tags)
        if step.moves and len(words) == start:
            del tags[tag_count:]
            return
        tags.extend(Tag(slot, value, start, len(words)) for slot, value in step.tags)

    def _say_fill(self, book: Phrasebook, rng: random.Random, words: list[str], tags: list[Tag]) -> None:
        phrases = list(book.phrases)
        if not phrases:
            raise BadGrammar("a rule that is filled at run time has no alternatives")
        phrase = rng.choices(phrases, [math.exp(-min(costs.values())) for costs in book.phrases.values()])[0]
        start = len(words)
        words.extend(phrase)
        pairs = rng.choice(list(book.phrases[phrase]))
        tags.extend(Tag(slot, value, start, len(words)) for slot, value in pairs)


def _refuse_bad_tags(file: JsgfFile, tag_trouble: Callable[[str, str], str]) -> None:
    for rule in file.rules:
        for text in tag_texts(rule.expansion):
            if trouble := tag_trouble(*tag_pair(text)):
                raise bad(file.file, rule.line, f"{{{text}}}", trouble)

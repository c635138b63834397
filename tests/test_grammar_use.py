"""What a grammar accepts, how it reads, covers and samples."""

import math
import random
import time
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import BadGrammar
from assistant.grammar import Fill, Grammar
from assistant.grammar.compiling import FINEST_COST
from assistant.grammar.jsgf import write
from assistant.grammar.reading import MOST_READINGS
from assistant.grammar.tree import InOrder, JsgfFile, Maybe, OneOf, Reference, Repeat, Rule, Tagged, Word

HEAD = "#JSGF V1.0;\ngrammar g;\n"

# Examples of the JSpeech Grammar Format, W3C Note 05 June 2000: the two grammars of "Simple Command and Control",
# and the rules of its sections on weights, tags and recursion.
W3C_COMMANDS = """#JSGF V1.0;
grammar com.acme.commands;
import <com.acme.politeness.startPolite>;
import <com.acme.politeness.endPolite>;
public <basicCmd> = <startPolite> <command> <endPolite>;
<command> = <action> <object>;
<action> = /10/ open |/2/ close |/1/ delete |/1/ move;
<object> = [the | a] (window | file | menu);
"""
W3C_POLITENESS = """#JSGF V1.0;
grammar com.acme.politeness;
public <startPolite> = (please | kindly | could you | oh mighty computer) *;
public <endPolite> = [ please | thanks | thank you ];
"""
W3C_TAGS = """
public <country> = Australia {Oz} | (United States) {USA} | America {USA} | (U S of A) {USA};
public <file> = please (open {OPEN} | close {CLOSE}) the file;
"""
W3C_RECURSION = """
public <command> = <action> | (<action> and <command>);
<action> = stop | start;
public <X> = something | <Y>;
<Y> = another thing <X>;
"""


def one(rules: str, **fills) -> Grammar:
    return Grammar.load([("g.jsgf", HEAD + rules)], fills)


def pairs(reading):
    return [(tag.slot, tag.value, tag.start, tag.end) for tag in reading.tags]


def accepts(graph, words) -> bool:
    """Whether the graph accepts the words; it is deterministic, so at most one way is looked at."""
    ways = {(arc.source, arc.word): arc.target for arc in graph.arcs}
    state = graph.start
    for word in words:
        if (state := ways.get((state, word))) is None:
            return False
    return state in graph.finals


# ---------------------------------------------------------------------------------------------------- W3C examples


@pytest.mark.parametrize(
    ("text", "is_sentence"),
    [
        ("open the window", True),
        ("please kindly close a file thank you", True),
        ("oh mighty computer could you delete menu thanks", True),
        ("oh mighty open the window", False),
        ("open window please thanks", False),
        ("please", False),
    ],
)
def test_w3c_command_example(text, is_sentence):
    grammar = Grammar.load([("commands", W3C_COMMANDS), ("politeness", W3C_POLITENESS)])
    words = text.split()
    assert accepts(grammar.graph("basicCmd"), words) == is_sentence
    assert bool(grammar.readings(words, "basicCmd")) == is_sentence


def test_w3c_weights_become_costs():
    grammar = Grammar.load([("commands", W3C_COMMANDS), ("politeness", W3C_POLITENESS)])
    costs = {arc.word: arc.cost for arc in grammar.graph("action").arcs}
    expected = {"open": 0.0, "close": math.log(5), "delete": math.log(10), "move": math.log(10)}
    assert costs == pytest.approx(expected, abs=FINEST_COST)
    assert grammar.readings(["close"], "action")[0].cost == pytest.approx(math.log(5))


@pytest.mark.parametrize(("text", "cost"), [("a b", 0.0), ("a c", math.log(4)), ("d", math.log(2))])
def test_graph_keeps_the_cost_of_a_sentence(text, cost):
    grammar = one("<remark> = /4/ a b | /1/ a c | /2/ (/1/ d | /1/ d {x});")
    ways = {(arc.source, arc.word): arc for arc in grammar.graph().arcs}
    state, total = grammar.graph().start, 0.0
    for word in text.split():
        total += ways[state, word].cost
        state = ways[state, word].target
    assert total == pytest.approx(cost, abs=FINEST_COST)
    assert grammar.readings(text.split())[0].cost == pytest.approx(cost)


@pytest.mark.parametrize(
    ("rule", "text", "expected"),
    [
        ("country", "australia", [("tag", "Oz", 0, 1)]),
        ("country", "united states", [("tag", "USA", 0, 2)]),
        ("country", "u s of a", [("tag", "USA", 0, 4)]),
        ("file", "please close the file", [("tag", "CLOSE", 1, 2)]),
    ],
)
def test_w3c_tag_examples(rule, text, expected):
    (reading,) = one(W3C_TAGS).readings(text.split(), rule)
    assert pairs(reading) == expected


@pytest.mark.parametrize(
    ("rule", "text", "is_sentence"),
    [
        ("command", "stop", True),
        ("command", "stop and start and stop", True),
        ("command", "stop and", False),
        ("X", "another thing another thing something", True),
        ("X", "another thing", False),
    ],
)
def test_w3c_right_recursion_examples(rule, text, is_sentence):
    grammar = one(W3C_RECURSION)
    assert accepts(grammar.graph(rule), text.split()) == is_sentence
    assert bool(grammar.readings(text.split(), rule)) == is_sentence


def test_right_recursion_takes_a_long_remark():
    words = ["stop", *["and", "start"] * 300]
    assert one(W3C_RECURSION).readings(words, "command")


# -------------------------------------------------------------------------------------------------------- readings

FEET = """
public <remark> = <phrase>+;
public <phrase> = <animal_name> | [<place>] <finding> | <place>;
<place> = (left | near) fore {place=left fore} | both (fores {place=left fore} {place=right fore}) | near {place=?};
<finding> = ([/3/ a bit | /1/ slightly] {grade=slight} rotten) {finding=rot} | clean {finding=clean};
"""


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("near fore clean", [("place", "left fore", 1, 2), ("finding", "clean", 2, 3)]),
        ("both fores", [("place", "left fore", 1, 2), ("place", "right fore", 1, 2)]),
        ("a bit rotten", [("grade", "slight", 0, 2), ("finding", "rot", 0, 3)]),
        ("old tansy clean", [("animal", "7", 0, 2), ("finding", "clean", 2, 3)]),
    ],
)
def test_tags_stand_on_their_words(text, expected):
    grammar = one(FEET, animal_name=[Fill("Old Tansy", (("animal", "7"),)), Fill("sorrel", (("animal", "8"),))])
    assert pairs(grammar.readings(text.split())[0]) == expected


def test_every_reading_comes_cheapest_first():
    grammar = one("<remark> = /1/ tansy {animal=1} | /4/ tansy {animal=2} | /1/ tansy {animal=1};")
    readings = grammar.readings(["tansy"])
    assert [(r.slots, round(r.cost, 3)) for r in readings] == [({"animal": "2"}, 0.0), ({"animal": "1"}, 1.386)]


def test_two_animals_of_one_name_are_two_readings():
    grammar = one("<remark> = <animal_name>;", animal_name=[Fill("tansy", (("a", "1"),)), Fill("tansy", (("a", "2"),))])
    assert [r.slots["a"] for r in grammar.readings(["tansy"])] == ["1", "2"]


def test_readings_stay_few_where_all_is_ambiguous():
    grammar = one("<remark> = (a {x=1} | a {x=2})+;")
    began = time.process_time()
    assert len(grammar.readings(["a"] * 40)) == MOST_READINGS
    assert time.process_time() - began < 2


@pytest.mark.parametrize(
    ("rules", "sentences", "others"),
    [
        ("<remark> = a*;", ["", "a", "a a a"], ["b"]),
        ("<remark> = ([a {x}])* b;", ["b", "a a b"], ["a"]),
        ("<remark> = ((a*)* b*)+;", ["", "a b a"], ["c"]),
        ("<remark> = (<NULL> {x})* a;", ["a"], [""]),
        ("<remark> = [a] [b];", ["", "a", "b", "a b"], ["b a"]),
        ("<remark> = a <VOID> | b;", ["b"], ["a"]),
        ("<remark> = /0/ a | /1/ b;", ["b"], ["a"]),
        ("<remark> = (/2/ a | /1/ b)* (/2/ a | /1/ c);", ["a", "b a", "a a c"], ["b"]),
        ("<remark> = /3/ a <remark> | /1/ a;", ["a", "a a a"], ["", "b"]),
        ("<remark> = <s> | c; <s> = a <s> | b <remark> | d;", ["c", "a d", "a b c", "b a d"], ["a", "a c"]),
        ('<remark> = "new york" c;', ["new york c"], ["new c"]),
    ],
)
def test_graph_and_readings_agree(rules, sentences, others):
    grammar = one(rules)
    for text, is_sentence in [(text, True) for text in sentences] + [(text, False) for text in others]:
        assert bool(grammar.readings(text.split())) == is_sentence, text
        assert accepts(grammar.graph(), text.split()) == is_sentence, text


def test_null_with_a_tag_stands_on_no_word():
    (reading,) = one("<remark> = a (<NULL> {x=1}) b;").readings(["a", "b"])
    assert pairs(reading) == [("x", "1", 1, 1)]


# ----------------------------------------------------------------------------------------- several files, and fills


def test_a_file_of_the_same_grammar_adds_alternatives():
    ours = "#JSGF V1.0;\ngrammar feet;\npublic <finding> = rotten {finding=rot};"
    mine = "#JSGF V1.0;\ngrammar feet;\n<finding> = manky {finding=rot} | <mine>;\n<mine> = grand {finding=clean};"
    main = HEAD + "import <feet.*>;\n<remark> = <finding>;"
    grammar = Grammar.load([("g", main), ("feet", ours), ("mine", mine)])
    assert grammar.words() == {"rotten", "manky", "grand"}
    assert grammar.readings(["manky"])[0].slots == {"finding": "rot"}


@pytest.mark.parametrize(
    "rules", ["<remark> = hello | <animal_name>;", "<remark> = hello | <animal_name>; <animal_name> = rover;"]
)
def test_an_empty_fill_says_nothing(rules):
    assert list(one(rules, animal_name=[]).sentences("remark", 9)) == [("hello",)]


def test_a_rule_is_found_by_bare_or_full_name():
    grammar = Grammar.load([("a", HEAD + "<r> = a;"), ("b", "#JSGF V1.0;\ngrammar h;\n<r> = b;\n<s> = c;")])
    assert grammar.words("h.r") == {"b"}
    assert grammar.words("s") == {"c"}
    with pytest.raises(BadGrammar, match="ambiguous"):
        grammar.graph("r")
    with pytest.raises(BadGrammar, match="no rule <t>"):
        grammar.graph("t")


@pytest.mark.parametrize("weight", [0.0, -1.0, math.nan, math.inf])
def test_a_fill_with_a_bad_weight_is_refused(weight):
    with pytest.raises(BadGrammar, match="tansy"):
        one("<remark> = <animal_name>;", animal_name=[Fill("tansy", (), weight)])


def test_a_rule_without_sentences_has_an_empty_graph():
    grammar = one("<remark> = a <VOID>;")
    assert grammar.graph().finals == frozenset()
    with pytest.raises(BadGrammar, match="no sentence"):
        grammar.sample(random.Random(1))


# ----------------------------------------------------------------------------------------------------------- cover


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", []),
        ("clean", [("clean", True)]),
        ("er clean um", [("er", False), ("clean", True), ("um", False)]),
        ("near fore a bit rotten", [("near fore a bit rotten", True)]),
        ("near fore both fores clean", [("near fore", True), ("both fores clean", True)]),
        ("near fore a bit", [("near fore", True), ("a", False), ("bit", False)]),
    ],
)
def test_cover(text, expected):
    pieces = one(FEET, animal_name=[]).cover(text.split())
    assert [(" ".join(piece.words), piece.placed) for piece in pieces] == expected
    assert [word for piece in pieces for word in piece.words] == text.split()


# ----------------------------------------------------------------------------------------------- random grammars

LEAVES = st.one_of(st.sampled_from("abc").map(Word), st.just(Reference("other")), st.just(Reference("NULL")))


def _larger(items):
    several = st.lists(items, min_size=2, max_size=3).map(tuple)
    weighted = several.map(lambda parts: OneOf(parts, (4.0, 1.0, 2.0)[: len(parts)]))
    tagged = st.builds(Tagged, items, st.sampled_from([("x=1",), ("y=2", "z")]))
    repeated = st.builds(Repeat, items, st.integers(0, 1))
    return st.one_of(several.map(InOrder), several.map(OneOf), weighted, items.map(Maybe), repeated, tagged)


ITEMS = st.recursive(LEAVES, _larger, max_leaves=8)


def _grammar(item) -> Grammar:
    other = Rule("other", OneOf((InOrder((Word("a"), Reference("other"))), Word("b"), Tagged(Word("c"), ("o=1",)))))
    return Grammar.load([("g", write(JsgfFile("g", rules=(Rule("remark", item), other))))])


@cache
def _short_rows() -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [()]
    for row in rows:
        if len(row) < 4:
            rows.extend((*row, word) for word in "abc")
    return rows


@given(ITEMS)
@settings(deadline=None, max_examples=150)
def test_graph_accepts_exactly_the_sentences(item):
    grammar = _grammar(item)
    graph = grammar.graph()
    ways = [(arc.source, arc.word) for arc in graph.arcs]
    assert len(ways) == len(set(ways)), "not deterministic"
    for row in _short_rows():
        assert accepts(graph, row) == bool(grammar.readings(row))
    # Sentences come short first, so the first ones hold every sentence of at most three words.
    listed = {row for row in grammar.sentences("remark", 40) if len(row) < 4}
    assert listed == {row for row in _short_rows() if len(row) < 4 and accepts(graph, row)}


@given(ITEMS, st.integers(0, 2**32))
@settings(deadline=None, max_examples=200)
def test_a_sample_is_read_with_its_own_tags(item, seed):
    grammar = _grammar(item)
    words, tags = grammar.sample(random.Random(seed))
    if len(words) > 8:
        return
    readings = grammar.readings(words)
    assert len(readings) >= MOST_READINGS or tags in [reading.tags for reading in readings]
    assert accepts(grammar.graph(), words)


# ---------------------------------------------------------------------------------------------------------- figures


def test_a_thousand_animals_are_quick():
    fills = [Fill(f"name{n}", (("animal", str(n)),)) for n in range(1000)]
    forms = " | ".join(f"say{n} <animal_name> [clean]" for n in range(20))
    began = time.process_time()
    grammar = one(f"<remark> = {forms};", animal_name=fills)
    graph = grammar.graph()
    assert time.process_time() - began < 2
    assert len(graph.arcs) == 20 + 1000 + 1
    assert grammar.readings(["say3", "name7", "clean"])[0].slots == {"animal": "7"}


def test_a_hundred_thousand_animals_can_still_be_read():
    fills = [Fill(f"{n // 1000} {n % 1000}", (("animal", str(n)),)) for n in range(100_000)]
    grammar = one("<remark> = (<animal_number> clean)+;", animal_number=fills)
    began = time.process_time()
    assert grammar.readings(["7", "81", "clean", "99", "999", "clean"])[0].slots == {"animal": "99999"}
    assert time.process_time() - began < 0.1


def test_a_graph_of_rules_that_call_one_another_too_often_is_refused():
    doubling = "".join(f"<r{n}> = <r{n + 1}> <r{n + 1}>;\n" for n in range(40))
    grammar = one(doubling + "<r40> = a | b;")
    with pytest.raises(BadGrammar, match="too big"):
        grammar.graph("r0")


COFFEE = Path(__file__).parents[2] / "shared" / "speech" / "coffee" / "grammar.jsgf"


@pytest.mark.skipif(not COFFEE.is_file(), reason="the recordings of orders are not here")
def test_grammar_of_orders():
    began = time.process_time()
    grammar = Grammar.load([("orders", COFFEE.read_text())])
    graph = grammar.graph("order")
    assert time.process_time() - began < 1
    assert (graph.n_states, len(graph.arcs)) == (56, 295)
    onward = defaultdict(list)
    for arc in graph.arcs:
        onward[arc.source].append(arc.target)

    @cache
    def sentences_from(state: int) -> int:
        return (state in graph.finals) + sum(sentences_from(target) for target in onward[state])

    assert sentences_from(graph.start) == 200_218_200
    chance = random.Random(5)
    for _ in range(50):
        words, tags = grammar.sample(chance, "order")
        assert tags in [reading.tags for reading in grammar.readings(words, "order")]

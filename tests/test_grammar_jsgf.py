"""Grammar files: text to tree and back, and what a mistake says."""

import string

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import BadGrammar
from assistant.grammar import Grammar
from assistant.grammar.jsgf import parse, write
from assistant.grammar.tree import (
    Import,
    InOrder,
    JsgfFile,
    Maybe,
    OneOf,
    Reference,
    Repeat,
    Rule,
    Tagged,
    Word,
)

HEAD = "#JSGF V1.0;\ngrammar feet;\n"

EXPANSIONS = [
    ("fore", Word("fore")),
    ('"New York"', Word("New York")),
    (r'"a \"b\" \\"', Word('a "b" \\')),
    ("<place>", Reference("place")),
    ("<com.farm.place>", Reference("com.farm.place")),
    ("<NULL>", Reference("NULL")),
    ("a b", InOrder((Word("a"), Word("b")))),
    ("a | b c", OneOf((Word("a"), InOrder((Word("b"), Word("c")))))),
    ("/10/ a | /.5/ b", OneOf((Word("a"), Word("b")), (10.0, 0.5))),
    ("[a | b]", Maybe(OneOf((Word("a"), Word("b"))))),
    ("a*", Repeat(Word("a"), 0)),
    ("(a b)+", Repeat(InOrder((Word("a"), Word("b"))), 1)),
    ("a b*", InOrder((Word("a"), Repeat(Word("b"), 0)))),
    ("a {x} {slot = y}", Tagged(Word("a"), ("x", "slot = y"))),
    ("a b {x}", InOrder((Word("a"), Tagged(Word("b"), ("x",))))),
    ("a* {x}", Tagged(Repeat(Word("a"), 0), ("x",))),
    ("a {x}*", Repeat(Tagged(Word("a"), ("x",)), 0)),
    (r"a {b\}c\\}", Tagged(Word("a"), ("b}c\\",))),
    ("a {| <x> // y}", Tagged(Word("a"), ("| <x> // y",))),
    ("a /* ; | */ b // c ;\n", InOrder((Word("a"), Word("b")))),
    ("public grammar import", InOrder((Word("public"), Word("grammar"), Word("import")))),
    ("i'd o'clock", InOrder((Word("i'd"), Word("o'clock")))),
]


@pytest.mark.parametrize(("text", "expected"), EXPANSIONS)
def test_expansion_is_parsed(text, expected):
    assert parse(f"{HEAD}<r> = {text};", "feet.jsgf").rules[0].expansion == expected


def test_file_parts_are_parsed():
    head = "#JSGF V1.0 UTF-8 en;\n/** Doc. */\ngrammar com.farm.feet;\nimport <com.farm.other.*>;\n"
    text = head + "public <r> = a;\n<s> = b;"
    file = parse(text, "feet.jsgf")
    assert file == JsgfFile(
        "com.farm.feet", (Import("com.farm.other.*"),), (Rule("r", Word("a"), public=True), Rule("s", Word("b")))
    )
    assert [rule.line for rule in file.rules] == [5, 6]


MISTAKES = [
    ("grammar feet;\n<r> = a;", 1, "first line"),
    ("", 1, "first line"),
    ("#JSGF V1.0;\n<r> = a;", 2, "cannot stand here"),
    (HEAD + "<r> = a\n<s> = b;", 4, "cannot stand here"),
    (HEAD + "<r> = a", 3, "ends too early"),
    (HEAD + "<r> = (a;", 3, "brackets do not match"),
    (HEAD + "<r> = [a);", 3, "brackets do not match"),
    (HEAD + "<r> = a);", 3, "brackets do not match"),
    (HEAD + "\n<r> = a | | b;", 4, "alternative is empty"),
    (HEAD + "<r> = a |;", 3, "alternative is empty"),
    (HEAD + "<r> = ;", 3, "alternative is empty"),
    (HEAD + "<r> = ();", 3, "alternative is empty"),
    (HEAD + "<r> = [];", 3, "alternative is empty"),
    (HEAD + "<r> = /x/ a | /1/ b;", 3, "'/x/'"),
    (HEAD + "<r> = /-1/ a | /1/ b;", 3, "'/-1/'"),
    (HEAD + "<r> = /nan/ a | /1/ b;", 3, "'/nan/'"),
    (HEAD + "<r> =\n /2/ a | b;", 4, "either all alternatives have a weight"),
    (HEAD + "<r> = /0/ a | /0/ b;", 3, "above 0"),
    (HEAD + "<r> = a;\n<s> = b;\n<r> = c;", 5, "already on line 3"),
    (HEAD + "<r> = {x} a;", 3, "cannot stand here"),
    (HEAD + "<r> = a {x;\n", 3, "this cannot stand here: '{x;'"),
    (HEAD + "<NULL> = a;", 3, "cannot have this name"),
    (HEAD + '<r> = "";', 3, "holds a word"),
    (HEAD + "import <r>;\n<r> = a;", 3, "<feet.place>"),
    (HEAD + "<r> = a\0b;", 3, "UTF-8"),
    (HEAD + "<r> = a\ufffd;", 3, "UTF-8"),
    (HEAD + "<r> = a\udcff;", 3, "UTF-8"),
    (HEAD + "<r> = " + "(" * 5000 + "a" + ")" * 5000 + ";", 3, "100 brackets"),
    (HEAD + "<r> = a ** b;", 3, "cannot stand here"),
]


@pytest.mark.parametrize(("text", "line", "words"), MISTAKES)
def test_mistake_names_file_line_and_text(text, line, words):
    with pytest.raises(BadGrammar) as caught:
        parse(text, "feet.jsgf")
    assert str(caught.value).startswith(f"feet.jsgf:{line}: ")
    assert words in str(caught.value)


RULE_MISTAKES = [
    ([HEAD + "<r> = a\n <gone>;"], "0.jsgf:4: ", "<gone>"),
    ([HEAD + "import <hands.*>;\n<r> = a;"], "0.jsgf:3: ", "no grammar 'hands'"),
    ([HEAD + "import <hands.x>;\n<r> = a;", "#JSGF V1.0;\ngrammar hands;\n<y> = b;"], "0.jsgf:3: ", "no such rule"),
    ([HEAD + "import <hands.x>;\n<r> = a;", "#JSGF V1.0;\ngrammar hands;\n<x> = b;"], "0.jsgf:3: ", "private"),
    ([HEAD + "<r> = <hands.x>;", "#JSGF V1.0;\ngrammar hands;\n<x> = b;"], "0.jsgf:3: ", "private"),
    ([HEAD + "<r> = <r> a | a;"], "0.jsgf:3: ", "<feet.r>"),
    ([HEAD + "<r> = [b] <r> | a;"], "0.jsgf:3: ", "<feet.r>"),
    ([HEAD + "<r> = a <r> b | a;"], "0.jsgf:3: ", "<feet.r>"),
    ([HEAD + "<r> = (a <r>)* | a;"], "0.jsgf:3: ", "<feet.r>"),
    ([HEAD + "<r> = a <s>;\n<s> = b <r> c | d;"], "0.jsgf:4: ", "<feet.s>"),
    ([HEAD + "".join(f"<r{n}> = <r{n + 1}>;" for n in range(3000)) + "<r3000> = a;"], "0.jsgf:3: ", "in a row"),
    (
        [
            HEAD + "import <hands.*>;\nimport <ears.*>;\n<r> = <x>;",
            "#JSGF V1.0;\ngrammar hands;\npublic <x> = b;",
            "#JSGF V1.0;\ngrammar ears;\npublic <x> = b;",
        ],
        "0.jsgf:5: ",
        "imported twice",
    ),
]


@pytest.mark.parametrize(("texts", "place", "words"), RULE_MISTAKES)
def test_mistake_between_rules_names_file_line_and_text(texts, place, words):
    with pytest.raises(BadGrammar) as caught:
        Grammar.load([(f"{number}.jsgf", text) for number, text in enumerate(texts)])
    assert str(caught.value).startswith(place)
    assert words in str(caught.value)


@given(st.text(alphabet='<>ab=;|()[]{}*+/\\"\n#. 1', max_size=60))
@settings(deadline=None, max_examples=200)
def test_any_text_is_parsed_or_refused_with_its_line(text):
    try:
        file = parse(HEAD + text, "feet.jsgf")
    except BadGrammar as error:
        message = str(error)
    else:
        assert parse(write(file), "again.jsgf") == file
        return
    assert message.startswith("feet.jsgf:")


TOKENS = st.text(alphabet=string.ascii_lowercase + "'é-", min_size=1, max_size=5)
NAMES = st.text(alphabet=string.ascii_letters + "_", min_size=1, max_size=6).filter(
    lambda name: name not in ("NULL", "VOID")
)
TAGS = st.text(alphabet=string.ascii_letters + "={}\\ /|;", max_size=8).map(str.strip)
LEAVES = st.one_of(
    TOKENS.map(Word),
    st.lists(st.text(alphabet='ab;|"\\(', min_size=1, max_size=4), min_size=1, max_size=3).map(
        lambda words: Word(" ".join(words))
    ),
    NAMES.map(Reference),
)


def _larger(items):
    several = st.lists(items, min_size=2, max_size=3).map(tuple)
    weights = st.lists(st.floats(0.001, 1000), min_size=3, max_size=3)
    weighted = st.builds(lambda parts, marks: OneOf(parts, tuple(marks[: len(parts)])), several, weights)
    tagged = st.builds(
        lambda item, tags: Tagged(item.item, item.tags + tags) if isinstance(item, Tagged) else Tagged(item, tags),
        items,
        st.lists(TAGS, min_size=1, max_size=2).map(tuple),
    )
    repeated = st.builds(Repeat, items, st.integers(0, 1))
    return st.one_of(several.map(InOrder), several.map(OneOf), weighted, items.map(Maybe), repeated, tagged)


RULES = st.builds(Rule, NAMES, st.recursive(LEAVES, _larger, max_leaves=8), st.booleans())
FILES = st.builds(
    JsgfFile,
    NAMES,
    st.lists(NAMES.map(lambda name: Import(f"{name}.*")), max_size=2).map(tuple),
    st.lists(RULES, max_size=4, unique_by=lambda rule: rule.name).map(tuple),
)


@given(FILES)
@settings(deadline=None)
def test_written_file_parses_to_the_same(file):
    assert parse(write(file), "written.jsgf") == file

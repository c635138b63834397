"""Graphs as finite state grammar text."""

import pytest

from assistant.grammar import Grammar
from assistant.grammar.export import fsg

RULES = "#JSGF V1.0;\ngrammar g;\n<phrase> = /4/ left [fore] | /1/ right;\n"


def heard(text: str, words: list[str]) -> bool:
    """Whether the grammar text accepts the words, read by the format's own rules."""
    lines = [line.split() for line in text.splitlines()]
    value = {line[0]: line[1] for line in lines if len(line) == 2}
    moves = [(line[1], line[2], line[4] if len(line) > 4 else "") for line in lines if line[0] == "TRANSITION"]

    def silent(states: set[str]) -> set[str]:
        while more := {b for a, b, word in moves if a in states and not word} - states:
            states = states | more
        return states

    states = silent({value["START_STATE"]})
    for said in words:
        states = silent({b for a, b, word in moves if a in states and word == said})
    return value["FINAL_STATE"] in states


@pytest.mark.parametrize(
    ("text", "repeats", "is_heard"),
    [
        ("left", False, True),
        ("left fore", False, True),
        ("fore", False, False),
        ("left right", False, False),
        ("left right", True, True),
        ("left fore left", True, True),
        ("left fore fore", True, False),
    ],
)
def test_text_accepts_what_the_graph_accepts(text, repeats, is_heard):
    graph = Grammar.load([("g.jsgf", RULES)]).graph("phrase")
    assert heard(fsg(graph, "feet", repeats), text.split()) == is_heard


def test_costs_are_written_as_shares():
    text = fsg(Grammar.load([("g.jsgf", RULES)]).graph("phrase"), "feet")
    shares = {line.split()[4]: float(line.split()[3]) for line in text.splitlines() if line.count(" ") == 4}
    assert shares == pytest.approx({"left": 1.0, "fore": 1.0, "right": 0.25}, abs=1e-3)


@pytest.mark.parametrize("repeats", [False, True])
def test_pocketsphinx_reads_the_text(tmp_path, repeats):
    pocketsphinx = pytest.importorskip("pocketsphinx")
    path = tmp_path / "feet.fsg"
    path.write_text(fsg(Grammar.load([("g.jsgf", RULES)]).graph("phrase"), "feet", repeats))
    model = pocketsphinx.FsgModel.readfile(str(path), pocketsphinx.LogMath(), 1.0)
    assert model is not None

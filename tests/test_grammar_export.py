"""Graphs as finite state grammar text."""

import pocketsphinx
import pytest

from assistant.grammar import Grammar
from assistant.grammar.compiling import FINEST_COST
from assistant.grammar.export import fsg

RULES = "#JSGF V1.0;\ngrammar g;\n<phrase> = /4/ left [fore] | /1/ right;\n"


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
def test_pocketsphinx_accepts_what_the_graph_accepts(tmp_path, text, repeats, is_heard):
    path = tmp_path / "feet.fsg"
    path.write_text(fsg(Grammar.load([("g.jsgf", RULES)]).graph("phrase"), "feet", repeats))
    model = pocketsphinx.FsgModel.readfile(str(path), pocketsphinx.LogMath(), 1.0)
    assert model.accept(text) == is_heard


def test_costs_are_written_as_shares():
    text = fsg(Grammar.load([("g.jsgf", RULES)]).graph("phrase"), "feet")
    shares = {line.split()[4]: float(line.split()[3]) for line in text.splitlines() if line.count(" ") == 4}
    assert shares == pytest.approx({"left": 1.0, "fore": 1.0, "right": 0.25}, abs=FINEST_COST)

"""The graph of a few given sentences."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from assistant.hearing.sentences import only
from assistant.values import WordGraph

WORDS = st.lists(st.sampled_from(["left", "hind", "fore", "sound"]), min_size=1, max_size=4).map(" ".join)


def sentences(graph: WordGraph) -> list[str]:
    """Every sentence of a graph without a loop."""
    found, open_ends = [], [(graph.start, ())]
    while open_ends:
        state, words = open_ends.pop()
        if state in graph.finals:
            found.append(" ".join(words))
        open_ends += [(arc.target, (*words, arc.word)) for arc in graph.arcs if arc.source == state]
    return found


@given(st.lists(WORDS, max_size=6))
def test_the_graph_has_each_given_sentence_once_and_no_other(given_sentences) -> None:
    assert sorted(sentences(only(given_sentences))) == sorted(set(given_sentences))


def test_no_sentence_is_a_graph_without_an_end() -> None:
    assert (sentences(only([])), sentences(only([""]))) == ([], [])

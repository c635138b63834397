"""Moonshine as a listener, on remarks of the demonstration recording; only where its wheel is installed."""

from functools import cache

import numpy as np
import pytest
from listener_stage import REMARKS, check_nothing_is_left, check_readings, check_times, check_weighing, graph, said

from assistant.errors import BadAudio, ListenerMissing
from assistant.hearing import moonshine_model
from assistant.hearing.agreement import MEASURED
from assistant.hearing.moonshine_listener import MoonshineListener
from assistant.hearing.sentences import only
from assistant.values import Sound


@pytest.fixture(autouse=True)
def _only_where_installed(request):
    if "missing" not in request.node.name:
        pytest.importorskip("onnxruntime")
        pytest.importorskip("moonshine_voice")


@cache
def listener():
    return MoonshineListener(graph())


@pytest.mark.parametrize("words", REMARKS)
def test_remarks_are_heard(words):
    assert listener().hear(said(words)).readings[0].text == words


def test_readings_are_sentences_best_first_each_once():
    check_readings(listener().hear(said(REMARKS[1])))


def test_word_times_are_in_order_and_inside_the_sound():
    hearing = listener().hear(said(REMARKS[1]))
    check_times(hearing, said(REMARKS[1]))


def test_strain_tells_a_sentence_of_the_grammar_from_another():
    """The same sound, once with its own grammar and once with one that lacks the sentence."""
    strange = MoonshineListener(graph("tag")).hear(said(REMARKS[1])).strain
    assert strange is None or strange > 2 * listener().hear(said(REMARKS[1])).strain


@pytest.mark.parametrize("beginning", ["left", "left hind"])
def test_a_beginning_that_leaves_most_of_the_speech_out_strains(beginning):
    """It may fit ever so well for as long as it goes: what comes after it is not told."""
    cut_short = MoonshineListener(only([beginning])).hear(said(REMARKS[1]))
    assert cut_short.strain > MEASURED["moonshine"].most_strain
    whole = MoonshineListener(only([beginning, REMARKS[1]]))
    assert whole.weighed(said(REMARKS[1]), cut_short, [REMARKS[1]]).strain < 1


def test_a_sound_leaves_nothing_behind_for_the_next():
    check_nothing_is_left(listener())


def test_nothing_is_heard_in_nothing():
    assert not listener().hear(Sound(np.zeros(0, np.float32), 16_000)).readings


def test_another_rate_is_refused():
    with pytest.raises(BadAudio, match="8000"):
        listener().hear(Sound(np.zeros(8000, np.float32), 8000))


def test_a_missing_package_is_named(monkeypatch):
    monkeypatch.setattr(moonshine_model, "find_spec", lambda name: None)
    with pytest.raises(ListenerMissing, match="moonshine-voice"):
        MoonshineListener(graph())


def test_given_sentences_are_weighed_and_its_best_reading_stays_first():
    check_weighing(listener())

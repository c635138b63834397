"""Moonshine as a listener, on remarks of the demonstration recording; only where its wheel is installed."""

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.errors import BadAudio, ListenerMissing
from assistant.grammar.grammar import Grammar
from assistant.hearing import moonshine_model
from assistant.hearing.moonshine_listener import MoonshineListener
from assistant.values import Sound

DEMO = Path(__file__).parent.parent / "demo_audio"
GRAMMAR = """#JSGF V1.0;
grammar small;
public <remark> = <foot> <finding>+ | tag <digit>+;
public <tag> = tag <digit>+;
<foot> = (left | right) (fore | hind) | both (fores | hinds);
<finding> = overgrown | trimmed | hollow wall again | cut out | spray | sound;
<digit> = one | two | three | four | five | six | seven | eight | nine | oh;
"""
REMARKS = ["tag four one seven", "left hind hollow wall again cut out spray", "both fores overgrown trimmed"]


@pytest.fixture(autouse=True)
def _only_where_installed(request):
    if "missing" not in request.node.name:
        pytest.importorskip("onnxruntime")
        pytest.importorskip("moonshine_voice")


@cache
def graph(rule="remark"):
    return Grammar.load([("small.jsgf", GRAMMAR)]).graph(rule)


@cache
def listener():
    return MoonshineListener(graph())


@cache
def said(words):
    """The stretch of the demonstration recording where the words are said."""
    script = [json.loads(line) for line in (DEMO / "script.jsonl").read_text(encoding="utf-8").splitlines()]
    line = next(line for line in script if line["words"] == words)
    samples, rate_hz = soundfile.read(DEMO / "session.flac", dtype="float32")
    piece = samples[round((line["start_s"] - 0.1) * rate_hz) : round((line["end_s"] + 0.1) * rate_hz)]
    return Sound(piece, rate_hz)


def key(hearing):
    return [(reading.text, reading.score) for reading in hearing.readings]


@pytest.mark.parametrize("words", REMARKS)
def test_remarks_are_heard(words):
    assert listener().hear(said(words)).readings[0].text == words


def test_readings_are_sentences_best_first_each_once():
    sentences = Grammar.load([("small.jsgf", GRAMMAR)])
    readings = listener().hear(said(REMARKS[1])).readings
    scores = [reading.score for reading in readings]
    assert scores == sorted(scores, reverse=True)
    assert len({reading.text for reading in readings}) == len(readings)
    assert all(sentences.readings([word.text for word in reading.words], "remark") for reading in readings)


def test_word_times_are_in_order_and_inside_the_sound():
    sound = said(REMARKS[1])
    words = listener().hear(sound).readings[0].words
    times = [time for word in words for time in (word.start_s, word.end_s)]
    assert times == sorted(times)
    assert times[0] >= 0
    assert times[-1] <= sound.length_s


def test_strain_tells_a_sentence_of_the_grammar_from_another():
    """The same sound, once with its own grammar and once with one that lacks the sentence."""
    strange = MoonshineListener(graph("tag")).hear(said(REMARKS[1])).strain
    assert strange is None or strange > 2 * listener().hear(said(REMARKS[1])).strain


def test_a_sound_leaves_nothing_behind_for_the_next():
    first = key(listener().hear(said(REMARKS[0])))
    listener().hear(said(REMARKS[2]))
    assert key(listener().hear(said(REMARKS[0]))) == first


def test_nothing_is_heard_in_nothing():
    assert not listener().hear(Sound(np.zeros(0, np.float32), 16_000)).readings


def test_another_rate_is_refused():
    with pytest.raises(BadAudio, match="8000"):
        listener().hear(Sound(np.zeros(8000, np.float32), 8000))


def test_a_missing_package_is_named(monkeypatch):
    monkeypatch.setattr(moonshine_model, "find_spec", lambda name: None)
    with pytest.raises(ListenerMissing, match="moonshine-voice"):
        MoonshineListener(graph())


OTHERS = [REMARKS[1], "left hind hollow wall again cut out", "right hind hollow wall again cut out spray", "tag one"]


def test_given_sentences_are_weighed_and_its_best_reading_stays_first():
    sound = said(REMARKS[1])
    hearing = listener().hear(sound)
    weighed = listener().weighed(sound, hearing, OTHERS)
    scores = {reading.text: reading.score for reading in weighed.readings}
    assert weighed.readings[0].text == hearing.readings[0].text
    assert len(scores) == len(weighed.readings)
    assert max(scores, key=scores.get) == REMARKS[1]
    assert {OTHERS[1], OTHERS[2]} <= set(scores)
    assert weighed.strain == hearing.strain

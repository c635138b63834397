"""PocketSphinx as a listener, and the sound made ready for it, on remarks of the demonstration recording."""

import subprocess
import threading
import time
from functools import cache

import numpy as np
import pytest
from listener_stage import REMARKS, check_nothing_is_left, check_times, graph, key, said

from assistant.errors import BadAudio, ListenerMissing, UnknownWord
from assistant.grammar.grammar import Grammar
from assistant.hearing.conditioning import FLOOR_DB, MARGIN_S, RATE_HZ, conditioned
from assistant.hearing.pocketsphinx_listener import PocketSphinxListener, shared_out
from assistant.hearing.pronunciation import Lexicon
from assistant.values import Arc, Sound, WordGraph


@cache
def listener():
    return PocketSphinxListener(graph(), Lexicon())


@pytest.mark.parametrize("words", REMARKS)
def test_remarks_are_heard(words):
    assert listener().hear(said(words)).readings[0].text == words


@pytest.mark.parametrize("words", REMARKS)
def test_words_are_in_order_and_inside_the_sound(words):
    check_times(listener().hear(said(words)), said(words))


def test_a_hearing_does_not_depend_on_what_was_heard_before():
    check_nothing_is_left(listener())
    fresh = PocketSphinxListener(graph(), Lexicon())
    assert key(fresh.hear(said(REMARKS[0]))) == key(listener().hear(said(REMARKS[0])))


def test_other_sentences_are_expected_from_then_on():
    own = PocketSphinxListener(graph("tag"), Lexicon())
    assert all(reading.text.startswith("tag") for reading in own.hear(said(REMARKS[2])).readings)
    own.expect(graph())
    assert own.hear(said(REMARKS[2])).readings[0].text == REMARKS[2]
    own.expect(graph("tag"))
    assert own.hear(said(REMARKS[0])).readings[0].text == REMARKS[0]


def test_an_unknown_word_is_named_and_leaves_the_listener_as_it_was():
    own = PocketSphinxListener(graph(), Lexicon())
    with pytest.raises(UnknownWord, match="xqz3"):
        own.expect(graph("made_up"))
    assert own.hear(said(REMARKS[0])).readings[0].text == REMARKS[0]


def test_others_go_on_while_it_searches():
    """The library would keep the interpreter to itself, and the other listeners would wait for it."""
    listener().hear(said(REMARKS[1]))
    search = threading.Thread(target=listener().hear, args=(said(REMARKS[1]),))
    began = last = time.monotonic()
    longest_s = 0.0
    search.start()
    while search.is_alive():
        time.sleep(0.001)
        now = time.monotonic()
        longest_s, last = max(longest_s, now - last), now
    assert longest_s < (last - began) / 2


def test_a_process_that_was_stopped_from_outside_is_begun_again():
    own = PocketSphinxListener(graph(), Lexicon())
    own._process._process.kill()
    assert key(own.hear(said(REMARKS[0]))) == key(listener().hear(said(REMARKS[0])))


def test_a_process_that_is_stopped_each_time_is_told_of(monkeypatch):
    own = PocketSphinxListener(graph(), Lexicon())
    own._process._process.kill()
    monkeypatch.setattr(PocketSphinxListener, "expect", lambda self, graph: setattr(self, "_process", stopped))
    stopped = own._process
    with pytest.raises(ListenerMissing, match=r"its process was stopped\. Is memory short"):
        own.hear(said(REMARKS[0]))


def test_where_no_process_can_be_begun_that_is_told(monkeypatch):
    def refuse(*_, **__):
        raise OSError(11, "Resource temporarily unavailable")

    monkeypatch.setattr(subprocess, "Popen", refuse)
    with pytest.raises(ListenerMissing, match=r"no process can be begun for it .*unavailable.*Close other programs"):
        PocketSphinxListener(graph(), Lexicon())


NOT_HERE = "raise ImportError('made for another system')"
NO_MODEL = """
def get_model_path(): return '/nowhere'
def Decoder(**_): raise RuntimeError('no mdef')
"""


@pytest.mark.parametrize(
    ("library", "told"),
    [
        (NOT_HERE, "not installed: made for another system"),
        (
            NO_MODEL,
            "load its model: no mdef",
        ),
        ("import os\nos._exit(1)", "cannot work here: its process was stopped"),
    ],
    ids=["not installed", "no model", "ends the process"],
)
def test_a_library_that_cannot_work_is_told_of(library, told, tmp_path, monkeypatch):
    (tmp_path / "pocketsphinx.py").write_text(library, encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with pytest.raises(ListenerMissing, match=told):
        PocketSphinxListener(graph(), Lexicon())


@pytest.mark.parametrize("part", [0.4, 0.7])
def test_a_sentence_that_breaks_off_is_no_reading(part):
    whole = said(REMARKS[1])
    cut = Sound(whole.samples[: int(len(whole.samples) * part)], whole.rate_hz)
    only = Grammar.load([("one.jsgf", f"#JSGF V1.0; grammar one; public <remark> = {REMARKS[1]};")]).graph()
    own = PocketSphinxListener(only, Lexicon())
    assert {reading.text for reading in own.hear(cut).readings} <= {REMARKS[1]}
    assert own.hear(whole).readings[0].text == REMARKS[1]


@pytest.mark.parametrize("samples", [np.zeros(0), np.zeros(100), np.zeros(RATE_HZ)], ids=["empty", "click", "silence"])
def test_silence_is_no_sentence(samples, capfd):
    assert listener().hear(Sound(samples.astype(np.float32), RATE_HZ)).readings == ()
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    "sound", [Sound(np.zeros(800, np.float32), 8000), Sound(np.full(800, np.nan, np.float32), 16000)]
)
def test_a_sound_that_cannot_be_heard(sound):
    with pytest.raises(BadAudio):
        listener().hear(sound)


def test_shares_after_a_state_add_up_to_one():
    arcs = (Arc(0, 1, "one"), Arc(0, 1, "two"), Arc(1, 1, "three", 0.7))
    shares = [np.exp(-arc.cost) for arc in shared_out(WordGraph(0, frozenset({1}), arcs, 2)).arcs]
    weight = np.exp(-0.7)
    assert shares == pytest.approx([0.5, 0.5, weight / (1 + weight)])


@pytest.mark.parametrize(("before_s", "after_s"), [(0.0, 0.0), (0.1, 2.0), (1.5, 0.2)])
@pytest.mark.parametrize("gain", [0.01, 0.9])
def test_silence_is_cut_or_put_to_the_margin_and_the_clock_kept(before_s, after_s, gain):
    tone = gain * np.sin(2 * np.pi * 440 * np.arange(RATE_HZ) / RATE_HZ)
    samples = np.pad(tone, (round(before_s * RATE_HZ), round(after_s * RATE_HZ))).astype(np.float32)
    ready = conditioned(Sound(samples, RATE_HZ, start_s=5.0))
    assert ready.length_s == pytest.approx(1 + 2 * MARGIN_S, abs=0.02)
    assert ready.start_s == pytest.approx(5.0 + before_s - MARGIN_S, abs=0.02)
    margin = ready.samples[: round((MARGIN_S - 0.02) * RATE_HZ)]
    assert 20 * np.log10(margin.std()) == pytest.approx(FLOOR_DB, abs=1)

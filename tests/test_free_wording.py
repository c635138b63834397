"""Freely worded remarks in a synthetic voice, from the sound to the meaning; only where all listeners are installed."""

from __future__ import annotations

import json
from functools import cache

import numpy as np
import pytest
import soundfile
from herd import ANIMALS
from make_farm_remarks import with_silence
from synthetic_voices import speak

from assistant.cli.main import ExitStatus, run
from assistant.hearing.listener import Transcribing
from assistant.live.farm import Farm
from assistant.measuring.examining import farm_examiner
from assistant.register.register import Register
from assistant.sound.endpoint import trimmed
from assistant.values import Decision, Sound


@pytest.fixture(autouse=True)
def _only_where_installed():
    for package in ("hama", "hibari", "moonshine_voice", "onnxruntime"):
        pytest.importorskip(package)


@cache
def said(words: str) -> Sound:
    return trimmed(recorded(words))


@cache
def recorded(words: str) -> Sound:
    return with_silence(speak("hibari-us", words), np.random.default_rng(3))


@cache
def examiner():
    return farm_examiner(ANIMALS)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("she's very lame on the near hind", [{"place": "left hind", "finding": "lame", "grade": "severe"}]),
        ("she's limping a little on the right fore", [{"place": "right fore", "finding": "lame", "grade": "slight"}]),
        ("i'd put her lameness at a one", [{"measure": "lameness", "value": 1}]),
    ],
)
def test_a_freely_worded_remark_is_taken_and_said_back(words, expected) -> None:
    verdict = examiner().judge(said(words))
    assert (verdict.decision, verdict.is_close) == (Decision.ACCEPTED, True)
    meaning = Farm(Register(ANIMALS)).interpreter.heard(verdict.choices[0])
    assert ([part.flat() for part in meaning.parts], meaning.unplaced) == (expected, "")


@pytest.mark.parametrize(
    "words", ["he was very lame in his mind about the whole affair", "i told him she would never get down that lane"]
)
def test_other_talk_of_the_same_length_is_not(words) -> None:
    assert examiner().judge(said(words)).decision in (Decision.UNHEARD, Decision.ASIDE)


def test_hear_takes_a_freely_worded_remark_as_a_session_does(tmp_path, capsys) -> None:
    sound = recorded("she's very lame on the near hind")
    soundfile.write(tmp_path / "a.flac", sound.samples, sound.rate_hz)
    (tmp_path / "herd.csv").write_text("tag,name,species,sex\nHB 100417,Tansy,goat,female\n", encoding="utf-8")
    assert run(["hear", "--register", str(tmp_path / "herd.csv"), "--json", str(tmp_path / "a.flac")]) == ExitStatus.OK
    heard = json.loads(capsys.readouterr().out)
    assert heard["decision"] == Decision.ACCEPTED
    assert heard["meaning"] == [{"place": "left hind", "finding": "lame", "grade": "severe"}]


def test_transcripts_differ_in_their_letters_and_what_was_said_is_among_them() -> None:
    (listener,) = Farm(Register(ANIMALS)).ears(["moonshine"]).listeners
    assert isinstance(listener, Transcribing)
    texts = listener.transcripts(said("she's very lame on the near hind"))
    plain = ["".join(filter(str.isalpha, text.lower())) for text in texts]
    assert "shesverylameonthenearhind" in plain
    assert len(set(plain)) == len(plain) > 1


def test_nothing_is_written_of_nothing() -> None:
    (listener,) = Farm(Register(ANIMALS)).ears(["moonshine"]).listeners
    assert isinstance(listener, Transcribing)
    assert listener.transcripts(Sound(np.zeros(0, np.float32), 16_000)) == ()

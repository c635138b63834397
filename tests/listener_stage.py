"""What the tests of the listeners share: a small grammar, remarks of the demonstration, what any listener keeps to."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import soundfile

from assistant.grammar.grammar import Grammar
from assistant.hearing.listener import Listener, Weighing
from assistant.values import Hearing, Sound, WordGraph

DEMO = Path(__file__).parent.parent / "demo_audio"
GRAMMAR = """#JSGF V1.0;
grammar small;
public <remark> = <foot> <finding>+ | tag <digit>+;
public <tag> = tag <digit>+;
public <made_up> = tag xqz3;
<foot> = (left | right) (fore | hind) | both (fores | hinds);
<finding> = overgrown | trimmed | hollow wall again | cut out | spray | sound;
<digit> = one | two | three | four | five | six | seven | eight | nine | oh;
"""
SMALL = Grammar.load([("small.jsgf", GRAMMAR)])
REMARKS = ["tag four one seven", "left hind hollow wall again cut out spray", "both fores overgrown trimmed"]
MARGIN_S = 0.1


@cache
def graph(rule: str = "remark") -> WordGraph:
    return SMALL.graph(rule)


@cache
def said(words: str) -> Sound:
    """The stretch of the demonstration recording where the words are said."""
    script = [json.loads(line) for line in (DEMO / "script.jsonl").read_text(encoding="utf-8").splitlines()]
    line = next(line for line in script if line["words"] == words)
    samples, rate_hz = soundfile.read(DEMO / "session.flac", dtype="float32")
    piece = samples[round((line["start_s"] - MARGIN_S) * rate_hz) : round((line["end_s"] + MARGIN_S) * rate_hz)]
    return Sound(piece, rate_hz)


def key(hearing: Hearing) -> list[tuple[str, float]]:
    return [(reading.text, reading.score) for reading in hearing.readings]


def check_readings(hearing: Hearing) -> None:
    """They are sentences of the grammar, best first, each once."""
    scores = [reading.score for reading in hearing.readings]
    assert scores == sorted(scores, reverse=True)
    assert len({reading.text for reading in hearing.readings}) == len(hearing.readings)
    assert all(SMALL.readings([word.text for word in reading.words], "remark") for reading in hearing.readings)


def check_times(hearing: Hearing, sound: Sound) -> None:
    """The words of the best reading stand in order, inside the sound."""
    times = [time for word in hearing.readings[0].words for time in (word.start_s, word.end_s)]
    assert times == sorted(times)
    assert times[0] >= 0
    assert times[-1] <= sound.length_s


def check_nothing_is_left(listener: Listener) -> None:
    """A sound leaves nothing behind that changes what is heard in the next."""
    first = key(listener.hear(said(REMARKS[0])))
    listener.hear(said(REMARKS[2]))
    assert key(listener.hear(said(REMARKS[0]))) == first


OTHERS = [REMARKS[1], "left hind hollow wall again cut out", "right hind hollow wall again cut out spray", "tag one"]


def check_weighing(listener: Weighing) -> None:
    """Given sentences are weighed, the right one best, and the listener's own best reading stays first."""
    sound = said(REMARKS[1])
    hearing = listener.hear(sound)
    weighed = listener.weighed(sound, hearing, OTHERS)
    scores = {reading.text: reading.score for reading in weighed.readings}
    assert weighed.readings[0].text == hearing.readings[0].text
    assert len(scores) == len(weighed.readings)
    assert max(scores, key=scores.__getitem__) == REMARKS[1]
    assert {OTHERS[1], OTHERS[2]} <= set(scores)
    assert weighed.strain == hearing.strain

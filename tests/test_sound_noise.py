"""Noise is mixed at the ratio that is asked for."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import BadAudio
from assistant.sound.noise import FRAME, mixed
from assistant.values import Sound


def white(length: int, level: float, seed: int = 0) -> Sound:
    return Sound(np.random.default_rng(seed).normal(0, level, length).astype(np.float32), 16000)


def largest_energy(samples: np.ndarray) -> float:
    frames = samples[: len(samples) // FRAME * FRAME].reshape(-1, FRAME).astype(float)
    return float((frames**2).sum(axis=1).max())


@given(snr_db=st.floats(-6, 40), level=st.floats(0.001, 0.3), length=st.integers(FRAME, 30000))
def test_the_ratio_is_that_of_the_largest_frames(snr_db: float, level: float, length: int) -> None:
    speech = white(length, level)
    noise = Sound(white(length, 0.02, 1).samples, 16000)  # as long as the speech: the piece is all of it
    mixture = mixed(speech, noise, snr_db, np.random.default_rng(0)).samples.astype(float)
    assert np.abs(mixture).max() == pytest.approx(0.5, abs=1e-6)
    basis = np.stack([speech.samples, noise.samples], axis=1).astype(float)
    (a, b), *_ = np.linalg.lstsq(basis, mixture, rcond=None)
    ratio = largest_energy(a * speech.samples) / largest_energy(b * noise.samples)
    assert 10 * np.log10(ratio) == pytest.approx(snr_db, abs=0.05)


def test_the_piece_is_chosen_by_the_generator_and_short_noise_is_repeated() -> None:
    speech, noise = white(20000, 0.1), white(7000, 0.1, 1)
    one = mixed(speech, noise, 10, np.random.default_rng(1)).samples
    assert np.array_equal(one, mixed(speech, noise, 10, np.random.default_rng(1)).samples)
    assert not np.array_equal(one, mixed(speech, noise, 10, np.random.default_rng(2)).samples)
    assert len(one) == 20000


@pytest.mark.parametrize(
    ("speech", "noise", "words"),
    [
        (Sound(np.zeros(0, np.float32), 16000), white(10, 0.1), "must both hold sound"),
        (white(10, 0.1), Sound(np.zeros(0, np.float32), 16000), "must both hold sound"),
        (white(10, 0.1), Sound(np.ones(10, np.float32), 8000), "8000"),
    ],
)
def test_what_cannot_be_mixed(speech: Sound, noise: Sound, words: str) -> None:
    with pytest.raises(BadAudio, match=words):
        mixed(speech, noise, 10, np.random.default_rng(0))


def test_silence_stays_silence() -> None:
    silence = Sound(np.zeros(3000, np.float32), 16000)
    assert not mixed(silence, silence, 10, np.random.default_rng(0)).samples.any()

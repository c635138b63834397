"""Barn noise: what is asked for is there, and the seed decides it."""

from __future__ import annotations

import time

import numpy as np
import pytest

from assistant.errors import BadSetting
from assistant.sound.barn import SOURCES, barn_noise


def share(samples: np.ndarray, low_hz: float, high_hz: float) -> float:
    power = np.abs(np.fft.rfft(samples)) ** 2
    pitch = np.fft.rfftfreq(len(samples), 1 / 16000)
    return float(power[(pitch >= low_hz) & (pitch < high_hz)].sum() / power.sum())


@pytest.mark.parametrize("rate_hz", [8000, 16000, 44100])
@pytest.mark.parametrize("length_s", [0.01, 0.5, 7.3])
def test_length_rate_and_peak(rate_hz: int, length_s: float) -> None:
    noise = barn_noise(length_s, np.random.default_rng(1), rate_hz)
    assert (len(noise.samples), noise.rate_hz) == (round(length_s * rate_hz), rate_hz)
    assert np.isfinite(noise.samples).all()
    assert np.abs(noise.samples).max() == pytest.approx(0.5)


def test_the_seed_decides() -> None:
    one, same, other = (barn_noise(2, np.random.default_rng(seed)).samples for seed in (1, 1, 2))
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)


@pytest.mark.parametrize(
    ("name", "low_hz", "high_hz", "least"),
    [
        ("clippers", 80, 1200, 0.6),
        ("bleats", 300, 4500, 0.9),
        ("wind", 0, 800, 0.8),
        ("hooves", 50, 1000, 0.4),
        ("gates", 300, 6600, 0.95),
    ],
)
def test_every_source_sounds_where_it_should(name: str, low_hz: float, high_hz: float, least: float) -> None:
    noise = barn_noise(30, np.random.default_rng(3), sources={name: 0.0}).samples
    assert share(noise, low_hz, high_hz) > least


def test_clippers_hum_in_harmonics_of_their_stroke() -> None:
    piece = barn_noise(1, np.random.default_rng(3), sources={"clippers": 0.0}).samples
    spectrum = np.abs(np.fft.rfft(piece))
    peak_hz = int(np.argmax(spectrum[60:140])) + 60
    assert 90 <= peak_hz <= 101
    assert spectrum[2 * peak_hz - 6 : 2 * peak_hz + 7].max() > 5 * np.median(spectrum[60:400])


def test_a_minute_is_made_quickly() -> None:
    start_s = time.process_time()
    barn_noise(60, np.random.default_rng(0))
    assert time.process_time() - start_s < 6.0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0.0,), "length above 0"),
        ((1.0, 4000), "8000 Hz at least"),
        ((1.0, 16000, {"tractor": 0.0}), f"'tractor'. Choose from {', '.join(SOURCES)}"),
    ],
)
def test_what_is_not_allowed(arguments: tuple, words: str) -> None:
    with pytest.raises(BadSetting, match=words):
        barn_noise(arguments[0], np.random.default_rng(0), *arguments[1:])

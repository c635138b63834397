"""The noise of a barn, made from nothing but arithmetic and a seed: for the demonstration and for measuring.

Clippers, bleating, wind, hooves and gates, each a function of length, generator and rate, mixed at fixed levels. No
recording is used, so the noise is free of anybody's rights and the same seed gives the same samples.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from assistant.errors import BadSetting
from assistant.values import Sound

Wave = NDArray[np.float64]
Source = Callable[[int, np.random.Generator, int], Wave]
"""From a length in samples, a generator and a sample rate to samples of any level."""

BLEAT_FORMANTS_HZ = ((650.0, 120.0), (1500.0, 180.0), (2700.0, 300.0), (3600.0, 400.0))
"""Centre and width of the resonances of an open-mouthed call; our choice within what a call of this size shows."""
GATE_MODES_HZ = (410.0, 980.0, 1730.0, 2640.0, 3890.0, 5200.0)
"""Inharmonic modes of a struck metal bar."""


def clippers(length: int, rng: np.random.Generator, rate_hz: int) -> Wave:
    """A mains clipper some way off: a 100 Hz buzz that sags under load, with the hiss of the blades, on and off."""
    load = _slow(length, rng, rate_hz, 1.5)
    pitch_hz = 100.0 - 6.0 * load
    phase = 2 * np.pi * np.cumsum(pitch_hz) / rate_hz
    buzz = np.zeros(length)
    for k in range(1, 30):
        buzz += rng.uniform(0.5, 1.0) * np.exp(-((np.log2(k) - 1.5) ** 2) / 4) * np.sin(k * phase + rng.uniform(0, 6.3))
    hiss = _shaped(rng.normal(size=length), rate_hz, lambda f: np.exp(-(((f - 3200) / 1500) ** 2)))
    hiss *= 1 + 0.7 * np.sin(phase)
    return (_level(buzz) + 0.35 * (1 + load) * _level(hiss)) * _on_and_off(length, rng, rate_hz, 12.0, 18.0)


def bleats(length: int, rng: np.random.Generator, rate_hz: int) -> Wave:
    """Calls of several animals, about one in six seconds."""
    calls = [_bleat(rng, rate_hz) for _ in range(6)]
    return _scattered(length, rng, rate_hz, 6.0, lambda: calls[int(rng.integers(len(calls)))])


def wind(length: int, rng: np.random.Generator, rate_hz: int) -> Wave:
    """Wind about the roof: noise that falls with frequency, in gusts."""
    rumble = _shaped(rng.normal(size=length), rate_hz, lambda f: 1 / (1 + (f / 150) ** 1.5))
    whistle = _shaped(rng.normal(size=length), rate_hz, lambda f: np.exp(-(((f - 600) / 200) ** 2)))
    gusts = 0.4 + _slow(length, rng, rate_hz, 3.0)
    return gusts * (_level(rumble) + 0.3 * gusts * _level(whistle))


def hooves(length: int, rng: np.random.Generator, rate_hz: int) -> Wave:
    """Shuffling on a hard floor: short dull knocks in groups, and straw."""

    def steps() -> Wave:
        group = np.zeros(rate_hz)
        for at in np.sort(rng.uniform(0, 0.8, int(rng.integers(2, 7)))):
            knock = _knock(rng, rate_hz, rng.uniform(120, 400), 0.03)
            start = int(at * rate_hz)
            group[start : start + len(knock)] += rng.uniform(0.4, 1.0) * knock
        return group

    straw = _shaped(rng.normal(size=length), rate_hz, lambda f: np.exp(-(((f - 2500) / 1800) ** 2)))
    rustle = _slow(length, rng, rate_hz, 0.4) ** 3
    return _scattered(length, rng, rate_hz, 3.0, steps) + 0.15 * rustle * _level(straw)


def gates(length: int, rng: np.random.Generator, rate_hz: int) -> Wave:
    """Now and then a gate or bucket: a struck bar that rings and rattles."""

    def clang() -> Wave:
        time_s = np.arange(rate_hz) / rate_hz
        stretch = rng.uniform(0.8, 1.25)
        ring = np.zeros(rate_hz)
        for pitch_hz in (mode * stretch for mode in GATE_MODES_HZ if mode * stretch < rate_hz / 2):
            fading = np.exp(-time_s * rng.uniform(6, 18))
            ring += rng.uniform(0.3, 1.0) * fading * np.sin(2 * np.pi * pitch_hz * time_s)
        again = np.zeros(rate_hz)
        for at in rng.uniform(0, 0.35, int(rng.integers(1, 4))):
            start = int(at * rate_hz)
            again[start:] += rng.uniform(0.3, 1.0) * ring[: rate_hz - start]
        return again

    return _scattered(length, rng, rate_hz, 15.0, clang)


SOURCES: Mapping[str, tuple[Source, float]] = {
    "clippers": (clippers, -6.0),
    "bleats": (bleats, 0.0),
    "wind": (wind, -6.0),
    "hooves": (hooves, -4.0),
    "gates": (gates, -3.0),
}
"""Each source with its level in the barn, in dB of the largest."""


def barn_noise(
    length_s: float, rng: np.random.Generator, rate_hz: int = 16000, sources: Mapping[str, float] | None = None
) -> Sound:
    """A stretch of barn noise.

    Args:
        length_s: in seconds, above 0.
        rng: the seed decides every sample.
        rate_hz: sample rate, 8000 at least.
        sources: names of `SOURCES` with their levels in dB; all of them as listed there if not given.

    Returns:
        Noise with a peak of 0.5.

    Raises:
        BadSetting: no such source, or a length or rate that is not allowed.
    """
    length = round(length_s * rate_hz)
    if length < 1 or rate_hz < 8000:
        raise BadSetting(
            f"Barn noise needs a length above 0 s (not {length_s:g}) and 8000 Hz at least (not {rate_hz})."
        )
    levels = {name: level for name, (_, level) in SOURCES.items()} if sources is None else sources
    if unknown := sorted(set(levels) - set(SOURCES)):
        raise BadSetting(f"There is no barn noise {unknown[0]!r}. Choose from {', '.join(SOURCES)}.")
    total = np.zeros(length)
    for name, level_db in levels.items():
        total += 10 ** (level_db / 20) * _level(SOURCES[name][0](length, rng, rate_hz))
    peak = float(np.abs(total).max())
    return Sound((total * (0.5 / peak if peak else 0.0)).astype(np.float32), rate_hz)


def _bleat(rng: np.random.Generator, rate_hz: int) -> Wave:
    """One call by adding harmonics whose strength follows the formants; the quaver of goats is a fast vibrato."""
    length = int(rng.uniform(0.5, 1.3) * rate_hz)
    time_s = np.arange(length) / rate_hz
    share = time_s / time_s[-1]
    quaver = np.sin(2 * np.pi * rng.uniform(7, 11) * time_s)
    pitch_hz = rng.uniform(180, 420) * (1 + 0.12 * np.sin(np.pi * share)) * (1 + 0.03 * quaver)
    phase = 2 * np.pi * np.cumsum(pitch_hz) / rate_hz
    opening = 0.75 + 0.25 * np.sin(np.pi * np.minimum(1, 2 * share))
    call = np.zeros(length)
    for k in range(1, int(0.45 * rate_hz / pitch_hz.max())):
        strength = sum(1 / (1 + ((k * pitch_hz - f * opening) / width) ** 2) for f, width in BLEAT_FORMANTS_HZ)
        call += strength * k**-0.5 * np.sin(k * phase)
    breath = 0.1 * _level(rng.normal(size=length)) * _level(call)
    envelope = np.minimum(1, share / 0.08) * np.minimum(1, (1 - share) / 0.25) * (1 + 0.35 * quaver)
    return np.asarray(_level(call + breath) * envelope * rng.uniform(0.3, 1.0), np.float64)


def _knock(rng: np.random.Generator, rate_hz: int, pitch_hz: float, decay_s: float) -> Wave:
    time_s = np.arange(int(5 * decay_s * rate_hz)) / rate_hz
    tone = np.sin(2 * np.pi * pitch_hz * time_s) + 0.4 * rng.normal(size=len(time_s))
    return tone * np.exp(-time_s / decay_s)


def _scattered(length: int, rng: np.random.Generator, rate_hz: int, every_s: float, event: Callable[[], Wave]) -> Wave:
    """Events at random moments, on average one in `every_s` seconds; the first comes early enough to be heard."""
    track = np.zeros(length)
    at_s = rng.uniform(0, min(every_s, length / rate_hz / 2))
    while (start := int(at_s * rate_hz)) < length:
        one = event()[: length - start]
        track[start : start + len(one)] += one
        at_s += max(0.2, rng.exponential(every_s))
    return track


def _slow(length: int, rng: np.random.Generator, rate_hz: int, knot_s: float) -> Wave:
    """A curve in [0, 1] that wanders, with a new aim every `knot_s` seconds."""
    knots = rng.uniform(0, 1, int(length / rate_hz / knot_s) + 3)
    return np.asarray(np.interp(np.arange(length) / rate_hz / knot_s, np.arange(len(knots)), knots), np.float64)


def _on_and_off(length: int, rng: np.random.Generator, rate_hz: int, on_s: float, off_s: float) -> Wave:
    """1 while running and 0 while not, with soft edges; begins running."""
    gate = np.zeros(length)
    at, running = 0, True
    while at < length:
        end = at + 1 + int(rng.uniform(0.5, 1.5) * (on_s if running else off_s) * rate_hz)
        gate[at:end] = running
        at, running = end, not running
    edge = np.ones(rate_hz // 10) / (rate_hz // 10)
    return np.convolve(gate, edge, mode="same") if length > len(edge) else gate


def _shaped(samples: Wave, rate_hz: int, response: Callable[[Wave], Wave]) -> Wave:
    """Gives noise a spectrum: `response` takes frequencies in hertz to amplitudes."""
    spectrum = np.fft.rfft(samples) * response(np.fft.rfftfreq(len(samples), 1 / rate_hz).astype(np.float64))
    return np.asarray(np.fft.irfft(spectrum, len(samples)), np.float64)


def _level(samples: Wave) -> Wave:
    """Scaled so that the loudest tenth of a thousand samples is near 1: peaks of rare events count."""
    top = float(np.quantile(np.abs(samples), 0.999))
    return samples / top if top > 0 else samples

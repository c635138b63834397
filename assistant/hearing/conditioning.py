"""What is done to a sound before a listener hears it.

Near silence around the speech makes a listener fill it with words, and a voice far from the microphone is treated
otherwise than one close to it. So silence is cut to a margin, the speech brought to one level, and a faint noise laid
under it all. There is no high-pass: the filter bank of the listener's features begins at 130 Hz.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.errors import BadAudio
from assistant.values import Sound

RATE_HZ = 16_000
FRAME = 160
"""Samples of a frame, 10 ms."""
SILENCE_DB = 35.0
"""A frame this far below the loud frames of the sound is silence."""
LOUD_PERCENTILE = 98
MARGIN_S = 0.3
"""Stretch that is left, or put, before and after the speech."""
SPEECH_DB = -20.0
"""Level of the loud frames, in dB of full scale."""
FLOOR_DB = -60.0
"""Level of the noise laid under the sound, in dB of full scale."""


def conditioned(sound: Sound, margin_s: float = MARGIN_S, floor_db: float = FLOOR_DB) -> Sound:
    """The speech of a sound at one level, with a margin of faint noise on both sides.

    The noise is the same each time, so that the same sound always gives the same result.

    Args:
        sound: 16 kHz mono, any length.
        margin_s: stretch before and after the speech, in seconds.
        floor_db: level of the noise that is added, in dB of full scale.

    Returns:
        A sound whose `start_s` counts from the same zero as that of `sound`; it can be earlier than the start of
        `sound` where margin was put before it.

    Raises:
        BadAudio: another sample rate, or samples that are not finite.
    """
    if sound.rate_hz != RATE_HZ:
        raise BadAudio(f"A listener needs {RATE_HZ} samples a second, this sound has {sound.rate_hz}. Resample it.")
    samples = np.asarray(sound.samples, dtype=np.float64)
    if not np.isfinite(samples).all():
        raise BadAudio("The sound holds samples that are no numbers. Record it again.")
    first, last = speech_bounds(samples)
    margin = round(margin_s * RATE_HZ)
    before, after = max(0, margin - first), max(0, last + margin - len(samples))
    piece = samples[max(0, first - margin) : last + margin]
    level = _loud_level(samples)
    piece = np.pad(piece - piece.mean() if len(piece) else piece, (before, after))
    if level > 0:
        piece = piece * (10 ** (SPEECH_DB / 20) / level)
    noise = np.random.default_rng(0).standard_normal(len(piece)) * 10 ** (floor_db / 20)
    start_s = sound.start_s + (first - margin) / RATE_HZ
    return Sound(np.clip(piece + noise, -1, 1).astype(np.float32), RATE_HZ, start_s)


def speech_bounds(samples: NDArray[np.float64]) -> tuple[int, int]:
    """First and last sample, exclusive, of what is not silence; (0, 0) if there is no whole frame of sound."""
    levels = frame_levels(samples)
    if not levels.any():
        return 0, 0
    loud = np.flatnonzero(levels > np.percentile(levels, LOUD_PERCENTILE) * 10 ** (-SILENCE_DB / 20))
    if not loud.size:
        return 0, 0
    end = len(samples) if loud[-1] == len(levels) - 1 else int(loud[-1] + 1) * FRAME
    return int(loud[0]) * FRAME, end


def frame_levels(samples: NDArray[np.float64]) -> NDArray[np.float64]:
    """Root mean square of every whole frame."""
    whole = len(samples) - len(samples) % FRAME
    levels: NDArray[np.float64] = np.sqrt((samples[:whole].reshape(-1, FRAME) ** 2).mean(axis=1))
    return levels


def _loud_level(samples: NDArray[np.float64]) -> float:
    levels = frame_levels(samples)
    return float(np.percentile(levels, LOUD_PERCENTILE)) if levels.size else 0.0

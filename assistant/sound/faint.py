"""Whether somebody speaks so faintly that no remark is found, as when a microphone is turned far down.

The voice detector goes by loudness, too: of speech whose loudest parts are 70 dB below full scale it finds nothing, so
that there is no remark whose loudness could be judged. Here sound that rises above its own floor for about as long as
words do is raised to an ordinary loudness first, and then the same detector says whether it is speech.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from assistant.sound.endpoint import FRAME, RATE_HZ, Detector, EndpointSettings, silero

QUIET_DB = -46.0
"""Speech whose loudest parts stay below this is near the noise of a cheap microphone (common practice, no source)."""

RISE_DB = 3.0
"""So far words stand above the floor at least. Constant noise varies by a few tenths of that."""

FLOOR_PIECES = 80
"""The floor is what a tenth of the pieces of the last ten seconds stays below."""

PAUSE_PIECES = 3
"""Silence that ends a stretch: between phrases, not between words."""

SHORTEST_PIECES, LONGEST_PIECES = 3, 35
"""What is shorter is a knock; of what is longer so much is judged at a time, for it costs 1 to 3 % of its length."""

RAISED_TO = 0.25
"""Peak of a stretch as the detector has it."""

SPOKEN_FRAMES = 8
"""Frames of 32 ms that the detector must take for speech in a stretch."""

ENOUGH, WITHIN_S = 5, 45.0
"""So many stretches of speech without a remark in so long: single calls of animals are taken for speech, too."""

AFTER_REMARK_S = 180.0
"""A microphone that just gave a remark is not turned down: what is faint then is somebody else, or a radio."""


class Faint:
    """Listens for speech below the loudness at which remarks are found.

    Args:
        detector: makes a voice detector that has heard nothing yet.
    """

    def __init__(self, detector: Callable[[], Detector] = silero) -> None:
        self._detector = detector
        self._levels_db: deque[float] = deque(maxlen=FLOOR_PIECES)
        self._before: deque[NDArray[np.float32]] = deque(maxlen=PAUSE_PIECES)
        self._stretch: list[NDArray[np.float32]] = []
        self._n_up = self._n_down = 0
        self._spoken: deque[float] = deque(maxlen=ENOUGH)
        self._now_s = self._from_s = 0.0

    def push(self, samples: NDArray[np.float32], rms_db: float) -> bool:
        """Takes the next piece, while no remark is being spoken.

        Args:
            samples: 16 kHz mono, about a tenth of a second.
            rms_db: their mean power.

        Returns:
            Whether speech has come by now that was too faint to be found, often enough to be sure.
        """
        self._now_s += len(samples) / RATE_HZ
        self._levels_db.append(rms_db)
        floor_db = sorted(self._levels_db)[len(self._levels_db) // 10]
        if rms_db >= QUIET_DB or self._now_s < self._from_s:
            self.rest()
            return False
        is_up = rms_db >= floor_db + RISE_DB
        if is_up or self._n_up:
            self._take(samples, is_up=is_up)
        else:
            self._before.append(samples)
        return len(self._spoken) == ENOUGH and self._now_s - self._spoken[0] <= WITHIN_S

    def rest(self) -> None:
        """Lets go of what is not complete yet, as while something else is to be heard."""
        self._before.clear()
        self._stretch.clear()
        self._n_up = self._n_down = 0

    def remark(self, *, is_good: bool) -> None:
        """A remark was found; `is_good` if it was loud enough."""
        self.rest()
        self._spoken.clear()
        if is_good:
            self._from_s = self._now_s + AFTER_REMARK_S

    def _take(self, samples: NDArray[np.float32], *, is_up: bool) -> None:
        if not self._n_up:
            self._stretch = [*self._before]
        self._stretch.append(samples)
        self._n_up += is_up
        self._n_down = 0 if is_up else self._n_down + 1
        if self._n_down < PAUSE_PIECES and len(self._stretch) < LONGEST_PIECES:
            return
        if self._n_up >= SHORTEST_PIECES and is_speech(np.concatenate(self._stretch), self._detector()):
            self._spoken.append(self._now_s)
        self.rest()


def is_speech(samples: NDArray[np.float32], detector: Detector) -> bool:
    """Whether sound is speech once it is raised to an ordinary loudness.

    Args:
        samples: 16 kHz mono.
        detector: has heard nothing yet.
    """
    peak = float(np.abs(samples).max(initial=0.0))
    if not peak:
        return False
    raised = samples * np.float32(RAISED_TO / peak)
    whole = len(raised) // FRAME * FRAME
    levels = [detector(raised[start : start + FRAME]) for start in range(0, whole, FRAME)]
    return sum(level >= EndpointSettings.speech_level for level in levels) >= SPOKEN_FRAMES

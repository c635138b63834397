"""How loud the sound is, and whether the microphone is set so that speech can be understood."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.sound.faint import QUIET_DB, Faint
from assistant.values import Sound

METER_S = 0.1
"""The level is told so often."""

FLOOR_DB = -96.0
"""What digital silence counts as: the least step of 16 bits."""

CLIPPED = 0.999
CLIPPED_SAMPLES = 8
"""So many samples at the end of the scale within a remark are heard as distortion (common practice, no source)."""

DEAD_DB = -90.0
DEAD_S = 3.0
"""So long below that is no room, it is a switch that is off."""

STILL_DB, STILL_RANGE_DB, STILL_PIECES = -84.0, 6.0, 240
"""Half a minute below that, and as even as this, is no barn with somebody in it: it is a microphone's own noise, as it
comes when the mixer is turned right down (our choice, no source)."""

TOO_LOUD = "Too loud: the sound is cut off at the top. Turn the microphone down, or hold it further from the mouth."
TOO_QUIET = "Too quiet. Turn the microphone up, or bring it nearer to the mouth."
FAINT = (
    "Speech is too faint to be heard as remarks. If it is yours, turn the microphone up in the system's settings, or "
    "bring it nearer to the mouth."
)
DEAD = "Nothing comes from the microphone. Is it switched off, or muted in the system's settings?"


@dataclass(frozen=True)
class Level:
    """The loudness of the last tenth of a second.

    Attributes:
        rms_db: its mean power, in dB of a full-scale square wave.
        peak_db: its largest sample, in dB of full scale.
        note: what is wrong, in one sentence; empty if nothing is.
    """

    rms_db: float
    peak_db: float
    note: str = ""


class Meter:
    """Measures a stream block by block.

    Warnings are about speech, for between remarks it may be quiet: speech that was found, speech too faint to be found,
    and a line on which nothing can come.

    Args:
        faint: listens for speech too faint to be found.
    """

    def __init__(self, faint: Faint | None = None) -> None:
        self._faint = faint or Faint()
        self._blocks: list[NDArray[np.float32]] = []
        self._dead_s = 0.0
        self._still_db: deque[float] = deque(maxlen=STILL_PIECES)
        self._n_clipped = 0
        self._loudest_db = FLOOR_DB
        self._was_speech = False
        self._note = ""

    def push(self, block: Sound, *, is_speech: bool, may_be_own: bool = False) -> Level | None:
        """Takes a block.

        Args:
            block: 16 kHz mono.
            is_speech: whether a remark is being spoken.
            may_be_own: whether the assistant speaks, so that faint speech may be its voice in the keeper's headset.

        Returns:
            The level, once a tenth of a second is full; else None.
        """
        if is_speech:
            self._n_clipped += int(np.count_nonzero(np.abs(block.samples) >= CLIPPED))
        self._blocks.append(block.samples)
        if sum(map(len, self._blocks)) < METER_S * block.rate_hz:
            return None
        samples = np.concatenate(self._blocks)
        self._blocks.clear()
        rms_db, peak_db = decibels(rms(samples)), decibels(float(np.abs(samples).max()))
        self._judge(rms_db, len(samples) / block.rate_hz, is_speech=is_speech)
        if may_be_own or is_speech:
            self._faint.rest()
        elif self._faint.push(samples, rms_db):
            self._note = FAINT
        return Level(rms_db, peak_db, self._note)

    def rest(self) -> None:
        """Forgets what is not complete yet, as while nothing is heard."""
        self._blocks.clear()
        self._faint.rest()

    def _judge(self, rms_db: float, length_s: float, *, is_speech: bool) -> None:
        """A remark that is over gives the verdict on its loudness; a dead line is seen without any."""
        self._dead_s = self._dead_s + length_s if rms_db < DEAD_DB else 0.0
        self._still_db.append(rms_db)
        if self._dead_s >= DEAD_S or self._is_still:
            self._note = DEAD
        elif self._note == DEAD:
            self._note = ""
        if is_speech:
            self._loudest_db = max(self._loudest_db, rms_db)
            if self._n_clipped >= CLIPPED_SAMPLES:
                self._note = TOO_LOUD
        elif self._was_speech:
            is_loud, is_quiet = self._n_clipped >= CLIPPED_SAMPLES, self._loudest_db < QUIET_DB
            self._note = TOO_LOUD if is_loud else TOO_QUIET if is_quiet else ""
            self._n_clipped, self._loudest_db = 0, FLOOR_DB
            self._faint.remark(is_good=not is_quiet)
        self._was_speech = is_speech

    @property
    def _is_still(self) -> bool:
        """Whether nothing but the microphone's own noise has come for long."""
        if len(self._still_db) < STILL_PIECES or max(self._still_db) >= STILL_DB:
            return False
        return max(self._still_db) - min(self._still_db) < STILL_RANGE_DB


def rms(samples: NDArray[np.float32]) -> float:
    """The root of the mean power, of one sample at least; 1 is a full-scale square wave."""
    return float(np.sqrt(np.square(samples, dtype=np.float64).mean()))


def decibels(amplitude: float) -> float:
    """An amplitude in dB of full scale, `FLOOR_DB` at least."""
    return max(FLOOR_DB, 20 * float(np.log10(amplitude))) if amplitude > 0 else FLOOR_DB

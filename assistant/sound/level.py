"""How loud the sound is, and whether the microphone is set so that speech can be understood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assistant.values import Sound

METER_S = 0.1
"""The level is told so often."""

FLOOR_DB = -96.0
"""What digital silence counts as: the least step of 16 bits."""

CLIPPED = 0.999
CLIPPED_SAMPLES = 8
"""So many samples at the end of the scale within a remark are heard as distortion (common practice, no source)."""

QUIET_DB = -46.0
"""Speech whose loudest parts stay below this is near the noise of a cheap microphone (common practice, no source)."""

DEAD_DB = -90.0
DEAD_S = 3.0
"""So long below that is no room, it is a switch that is off."""

TOO_LOUD = "Too loud: the sound is cut off at the top. Turn the microphone down, or hold it further from the mouth."
TOO_QUIET = "Too quiet. Turn the microphone up, or bring it nearer to the mouth."
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
    """Measures a stream block by block. Warnings are about speech: between remarks it may be quiet."""

    def __init__(self) -> None:
        self._power, self._peak, self._length = 0.0, 0.0, 0
        self._dead_s = 0.0
        self._n_clipped = 0
        self._loudest_db = FLOOR_DB
        self._was_speech = False
        self._note = ""

    def push(self, block: Sound, *, is_speech: bool) -> Level | None:
        """Takes a block.

        Args:
            block: any rate.
            is_speech: whether a remark is being spoken.

        Returns:
            The level, once a tenth of a second is full; else None.
        """
        samples = block.samples
        if not len(samples):
            return None
        self._power += float(np.square(samples, dtype=np.float64).sum())
        self._peak = max(self._peak, float(np.abs(samples).max()))
        self._length += len(samples)
        if is_speech:
            self._n_clipped += int(np.count_nonzero(np.abs(samples) >= CLIPPED))
        if self._length < METER_S * block.rate_hz:
            return None
        rms_db, peak_db = _db(np.sqrt(self._power / self._length)), _db(self._peak)
        self._judge(rms_db, self._length / block.rate_hz, is_speech=is_speech)
        self.rest()
        return Level(rms_db, peak_db, self._note)

    def rest(self) -> None:
        """Forgets what was measured of a tenth that is not full, as while nothing is heard."""
        self._power, self._peak, self._length = 0.0, 0.0, 0

    def _judge(self, rms_db: float, length_s: float, *, is_speech: bool) -> None:
        """A remark that is over gives the verdict on its loudness; a dead line is seen without any."""
        self._dead_s = self._dead_s + length_s if rms_db < DEAD_DB else 0.0
        if self._dead_s >= DEAD_S:
            self._note = DEAD
        elif self._note == DEAD and not self._dead_s:
            self._note = ""
        if is_speech:
            self._loudest_db = max(self._loudest_db, rms_db)
            if self._n_clipped >= CLIPPED_SAMPLES:
                self._note = TOO_LOUD
        elif self._was_speech:
            is_loud, is_quiet = self._n_clipped >= CLIPPED_SAMPLES, self._loudest_db < QUIET_DB
            self._note = TOO_LOUD if is_loud else TOO_QUIET if is_quiet else ""
            self._n_clipped, self._loudest_db = 0, FLOOR_DB
        self._was_speech = is_speech


def _db(amplitude: float) -> float:
    return max(FLOOR_DB, 20 * float(np.log10(amplitude))) if amplitude > 0 else FLOOR_DB

"""Sound as it comes: the same for a microphone and for a recording that is played in real time or faster."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from enum import StrEnum
from pathlib import Path
from typing import Protocol

from assistant.sound.recording import blocks
from assistant.values import Sound

RATE_HZ = 16000
BLOCK_S = 0.032
"""Sound comes in pieces of this length: one frame of the voice detector."""


class Source(Protocol):
    """Where sound comes from, piece by piece, at 16 kHz mono."""

    @property
    def is_live(self) -> bool:
        """Whether it goes on until it is closed, as a microphone does."""

    @property
    def is_over(self) -> bool:
        """Whether no sound will come any more."""

    @property
    def position_s(self) -> float:
        """Seconds since it began: for a recording those given out so far, for a microphone those gone by."""

    @property
    def note(self) -> str:
        """What is wrong with it now, in one sentence; empty if all is well."""

    def next(self, timeout_s: float) -> Sound | None:
        """The next piece, `start_s` counted from the beginning; None if none came in `timeout_s`, or it is over."""

    def close(self) -> None:
        """Lets the device or file go."""


class Pace(StrEnum):
    """How quickly a recording is played."""

    REAL = "real"
    FAST = "fast"


class Played:
    """A recording that comes like sound from a microphone.

    Args:
        recording: the file.
        pace: in real time, or as quickly as it is taken.
        monotonic: a clock in seconds.

    Raises:
        BadAudio: from `next`, as `assistant.sound.recording.blocks`.
    """

    is_live = False
    note = ""

    def __init__(
        self, recording: Path, pace: Pace = Pace.REAL, monotonic: Callable[[], float] = time.monotonic
    ) -> None:
        self._blocks: Iterator[Sound] = blocks(recording, RATE_HZ, BLOCK_S)
        self._pace = pace
        self._monotonic = monotonic
        self._began: float | None = None
        self._ahead: Sound | None = None
        self.is_over = False
        self.position_s = 0.0

    def next(self, timeout_s: float) -> Sound | None:
        """See `Source.next`."""
        if self._began is None:
            self._began = self._monotonic()
        block = self._ahead or self._read()
        if block is None:
            return None
        if self._pace is Pace.REAL:
            early_s = block.end_s - (self._monotonic() - self._began)
            if early_s > 0:
                time.sleep(min(early_s, timeout_s))
            if early_s > timeout_s:
                self._ahead = block
                return None
        self._ahead = None
        self.position_s = block.end_s
        return block

    def _read(self) -> Sound | None:
        try:
            block = next(self._blocks, None)
        except Exception:
            self.is_over = True
            raise
        self.is_over = block is None
        return block

    def close(self) -> None:
        """See `Source.close`."""
        self.is_over = True

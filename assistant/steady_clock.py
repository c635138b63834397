"""Moments that do not jump when somebody sets the clock: a beginning, and the seconds that went by since."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import datetime, timedelta


def steady_s() -> float:
    """Seconds since some moment, by a clock that nobody sets and that goes on while the machine sleeps.

    Source:
        `time.monotonic` stands still in sleep on Linux and macOS; CLOCK_BOOTTIME of Linux and CLOCK_MONOTONIC of macOS
        do not (their manual pages clock_gettime). On Windows `time.monotonic` goes on.
    """
    if sys.platform == "linux":
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":
        return time.clock_gettime(time.CLOCK_MONOTONIC)
    return time.monotonic()


class SteadyClock:
    """The moments of one session.

    Args:
        started: when it began.
        steady: a clock in seconds that nobody sets.
    """

    def __init__(self, started: datetime, steady: Callable[[], float] = steady_s) -> None:
        self._started = started
        self._steady = steady
        self._began_s = steady()

    def __call__(self) -> datetime:
        """Now, to the second."""
        return self._started + timedelta(seconds=int(self._steady() - self._began_s))

"""Inside a process or thread that listens: its listeners, how it begins, and how it ends with the program."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from multiprocessing import connection
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from assistant.values import Sound, Verdict


class Listening(Protocol):
    """A set of listeners: see `assistant.listening.spoken.RemarkEars`."""

    @property
    def names(self) -> tuple[str, ...]:
        """Who is listening, the leader first."""

    @property
    def notices(self) -> tuple[str, ...]:
        """What the keeper should know of them before they listen, each a sentence."""

    def judge(self, sound: Sound) -> Verdict:
        """Hears one remark, 16 kHz mono."""


Start = Callable[[], "Listening"]
"""Makes the listeners of one worker; goes to another process, so that it must be picklable."""

_start: Start | None = None
_ears: Listening | None = None


def remember(start: Start) -> None:
    """What a worker will listen with. It is made with the first task, so that an error reaches who asked for it."""
    global _start, _ears
    _start, _ears = start, None


def begin_apart(start: Start | None) -> None:
    """Begins a process that listens, and that ends with the program, however that ends.

    Ctrl+C at the terminal is for the program and not for its listeners.

    Args:
        start: what to `remember`; None if that comes later.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    program = multiprocessing.parent_process()
    if program is not None:
        # A program that is killed tells its workers nothing, and they would wait for work for ever.
        threading.Thread(target=_end_with, args=(program.sentinel,), daemon=True).start()
    if start is not None:
        remember(start)


def _end_with(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)


def names_and_notices() -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Who listens here, and what is to be known of them; makes the listeners."""
    return _listeners().names, _listeners().notices


def judged(sound: Sound) -> Verdict:
    """What the listeners make of a sound."""
    return _listeners().judge(sound)


def _listeners() -> Listening:
    global _ears  # noqa: PLW0603
    if _ears is None:
        if _start is None:
            raise RuntimeError("a worker listens before it was started")
        _ears = _start()
    return _ears

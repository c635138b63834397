"""Several remarks of a recording are listened to at once, each by its own set of listeners in its own process.

A verdict does not depend on the remarks before it, so a recording need not be heard one remark after the other. Threads
would not do: PocketSphinx keeps the interpreter to itself while it works.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import connection
from types import TracebackType
from typing import Protocol, Self, TypeVar

from assistant.errors import AssistantError, ListenerMissing
from assistant.values import Sound, Verdict

T = TypeVar("T")
B = TypeVar("B")

MOST_WORKERS = 4
"""Each has models of its own in memory."""

SPARING = {"MALLOC_ARENA_MAX": "1", "MALLOC_MMAP_THRESHOLD_": "4194304", "MALLOC_TRIM_THRESHOLD_": "4194304"}
"""How the C library of Linux gives memory to a worker; others do not know these settings.

By itself it would keep, for each thread of a worker, as much as the longest remark ever took: 80 MB more.

Source:
    mallopt(3), Linux manual pages.
"""


class Listening(Protocol):
    """A set of listeners: see `assistant.wiring.RemarkEars`."""

    @property
    def names(self) -> tuple[str, ...]:
        """Who is listening, the leader first."""

    @property
    def notices(self) -> tuple[str, ...]:
        """What the keeper should know of them before they listen, each a sentence."""

    def judge(self, sound: Sound) -> Verdict:
        """Hears one remark, 16 kHz mono."""


class Hearers(Protocol):
    """Whoever listens to several remarks at once: a `ListeningPool`, or a `ListeningCluster` of several machines."""

    @property
    def names(self) -> tuple[str, ...]:
        """Who is listening, the leader first."""

    @property
    def notices(self) -> tuple[str, ...]:
        """What the keeper should know of them, each a sentence."""

    def in_order(self, sounds: Iterable[tuple[T, Sound]]) -> Iterator[tuple[T, Sound, Verdict]]:
        """Listens to them and gives the verdicts in their order."""


class ListeningPool:
    """Workers with listeners.

    Args:
        start: makes the listeners of one worker; must be picklable.
        workers: how many; None for one a core, up to four. A single worker is a thread of this process.
        is_apart: a single worker has a process of its own too, and nobody waits until it is there: `is_ready` says
            when, and what is begun before is heard then.

    Raises:
        ListenerMissing, UnknownWord, BadGrammar: the listeners cannot be started; if apart, with the first verdict.
    """

    def __init__(self, start: Callable[[], Listening], workers: int | None = None, *, is_apart: bool = False) -> None:
        self.workers = workers or max(1, min(MOST_WORKERS, os.cpu_count() or 1))
        self._pool: Executor
        if self.workers == 1 and not is_apart:
            self._pool = ThreadPoolExecutor(1, "listening", _remember, (start,))
        else:
            for name, value in SPARING.items():
                os.environ.setdefault(name, value)
            context = multiprocessing.get_context("spawn")
            self._pool = ProcessPoolExecutor(self.workers, context, _remember_apart, (start,))
        self._started = self._pool.submit(_names_and_notices)
        if not is_apart:
            heard(self._started)

    @property
    def is_ready(self) -> bool:
        """Whether the listeners are there, or cannot be started."""
        return self._started.done()

    @property
    def names(self) -> tuple[str, ...]:
        """Who is listening, the leader first; waits until they are there."""
        return heard(self._started)[0]

    @property
    def notices(self) -> tuple[str, ...]:
        """What the keeper should know of them, each a sentence; waits until they are there."""
        return heard(self._started)[1]

    def begin(self, sound: Sound) -> Future[Verdict]:
        """Begins to listen to one remark, 16 kHz mono; `heard` gives the verdict."""
        try:
            return self._pool.submit(_judged, sound)
        except BrokenProcessPool as error:
            raise _stopped() from error

    def judge(self, sound: Sound) -> Verdict:
        """Listens to one remark and waits for the verdict."""
        return heard(self.begin(sound))

    def in_order(self, sounds: Iterable[tuple[T, Sound]]) -> Iterator[tuple[T, Sound, Verdict]]:
        """Listens to several remarks at once and gives the verdicts in the order of the remarks.

        Args:
            sounds: each with what the caller knows it by. No more of them are taken than keep the workers busy. If they
                break off with an error, what came before comes first.
        """
        return in_order(sounds, self.begin, heard, 2 * self.workers)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._pool.shutdown(wait=True, cancel_futures=True)


def in_order(
    sounds: Iterable[tuple[T, Sound]], begin: Callable[[Sound], B], wait: Callable[[B], Verdict], ahead: int
) -> Iterator[tuple[T, Sound, Verdict]]:
    """Begins sounds some way ahead and waits for their verdicts in order; memory does not grow with their number.

    Args:
        sounds: each with what the caller knows it by. If they break off with an error, what came before comes first.
        begin: begins to listen to one.
        wait: for the verdict of what was begun.
        ahead: how many are begun before the first is waited for.
    """
    source, waiting, fault = iter(sounds), deque[tuple[T, Sound, B]](), None
    while fault is None:
        try:
            name, sound = next(source)
        except StopIteration:
            break
        except AssistantError as error:
            fault = error
        else:
            waiting.append((name, sound, begin(sound)))
        if len(waiting) > ahead:
            name, sound, begun = waiting.popleft()
            yield name, sound, wait(begun)
    for name, sound, begun in waiting:
        yield name, sound, wait(begun)
    if fault is not None:
        raise fault


def heard(verdict: Future[T]) -> T:
    """Waits for a verdict, or for what else a worker gives.

    Raises:
        ListenerMissing: the worker has died, as when memory ran out.
    """
    try:
        return verdict.result()
    except BrokenProcessPool as error:
        raise _stopped() from error


def _stopped() -> ListenerMissing:
    return ListenerMissing(
        "A listening process was stopped from outside, perhaps for want of memory. What was said up to here is kept; "
        "run the command again with --workers 1."
    )


# ------------------------------------------------------------------------------------------------- inside a worker

_start: Callable[[], Listening] | None = None
_ears: Listening | None = None


def _remember(start: Callable[[], Listening]) -> None:
    """What a worker will listen with. It is made with the first task, so that an error reaches who asked for it."""
    global _start, _ears
    _start, _ears = start, None


def _remember_apart(start: Callable[[], Listening]) -> None:
    """The same in a process of its own, which ends with the program, however that ends.

    Ctrl+C at the terminal is for the program and not for its listeners.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    program = multiprocessing.parent_process()
    if program is not None:
        # A program that is killed tells its workers nothing, and they would wait for work for ever.
        threading.Thread(target=_end_with, args=(program.sentinel,), daemon=True).start()
    _remember(start)


def _end_with(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)


def _listeners() -> Listening:
    global _ears  # noqa: PLW0603
    if _ears is None:
        if _start is None:
            raise RuntimeError("a worker listens before it was started")
        _ears = _start()
    return _ears


def _names_and_notices() -> tuple[tuple[str, ...], tuple[str, ...]]:
    return _listeners().names, _listeners().notices


def _judged(sound: Sound) -> Verdict:
    return _listeners().judge(sound)

"""Several remarks of a recording are listened to at once, each by its own set of listeners in its own process.

A verdict does not depend on the remarks before it, so a recording need not be heard one remark after the other. Threads
would not do: part of each listener's search is Python, which one interpreter does for one of them at a time.

A process that dies, as when memory runs out, is started again, and hears again what it had.
"""

from __future__ import annotations

import logging
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from threading import Lock
from types import TracebackType
from typing import Generic, NoReturn, Protocol, Self, TypeVar

from assistant.errors import AssistantError, ListenerMissing
from assistant.listening.process import Prepared, let_go, processes
from assistant.listening.worker import Start, judged, names_and_notices, remember
from assistant.values import Decision, Sound, Verdict

T = TypeVar("T")
B = TypeVar("B")

_log = logging.getLogger(__name__)

MOST_WORKERS = 4
"""Each has models of its own in memory."""

MOST_DEATHS = 2
"""A remark over which so many processes died is not tried again: it stays as sound, for the review."""


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


@dataclass(eq=False)
class _Crew:
    """Workers that live and die together, and how many of the oldest tasks one that died may have had at hand."""

    pool: Executor
    n_suspects: int


@dataclass(eq=False)
class _Task(Generic[T]):
    """Something asked of a worker, and what is given for it in the end, however often it is tried."""

    call: Callable[[], T]
    give_up: Callable[[], T]
    given: Future[T] = field(default_factory=Future)
    n_deaths: int = 0


class ListeningPool:
    """Workers with listeners.

    Args:
        start: makes the listeners of one worker.
        workers: how many; None for one a core, up to four. A single worker is a thread of this process.
        is_apart: a single worker has a process of its own too, and nobody waits until it is there: `is_ready` says
            when, and what is begun before is heard then.
        prepared: the process of that single worker, if there is one already.

    Attributes:
        n_restarts: how often workers had to be started again, because one was stopped from outside.

    Raises:
        ListenerMissing, UnknownWord, BadGrammar: the listeners cannot be started; if apart, with the first verdict.
    """

    def __init__(
        self, start: Start, workers: int | None = None, *, is_apart: bool = False, prepared: Prepared | None = None
    ) -> None:
        self.workers = workers or max(1, min(MOST_WORKERS, os.cpu_count() or 1))
        self.n_restarts = 0
        self._start, self._lock, self._is_closed = start, Lock(), False
        pool: Executor
        if is_apart or self.workers > 1:
            pool = processes(self.workers, start)
        else:
            pool = ThreadPoolExecutor(1, "listening", remember, (start,))
        if prepared is not None and self.workers == 1:
            with suppress(BrokenProcessPool, OSError):
                prepared.pool.submit(remember, start)
                pool = prepared.pool
        self._crew = _Crew(pool, self.workers)
        self._started = self._begun(_Task(names_and_notices, _not_started))
        if not is_apart:
            self._started.result()

    @property
    def is_ready(self) -> bool:
        """Whether the listeners are there, or cannot be started."""
        return self._started.done()

    @property
    def names(self) -> tuple[str, ...]:
        """Who is listening, the leader first; waits until they are there."""
        return self._started.result()[0]

    @property
    def notices(self) -> tuple[str, ...]:
        """What the keeper should know of them, each a sentence; waits until they are there."""
        return self._started.result()[1]

    def begin(self, sound: Sound) -> Future[Verdict]:
        """Begins to listen to one remark, 16 kHz mono."""
        return self._begun(_Task(partial(judged, sound), _given_up))

    def judge(self, sound: Sound) -> Verdict:
        """Listens to one remark and waits for the verdict."""
        return self.begin(sound).result()

    def in_order(self, sounds: Iterable[tuple[T, Sound]]) -> Iterator[tuple[T, Sound, Verdict]]:
        """Listens to several remarks at once and gives the verdicts in the order of the remarks.

        Args:
            sounds: each with what the caller knows it by. No more of them are taken than keep the workers busy. If they
                break off with an error, what came before comes first.
        """
        return in_order(sounds, self.begin, Future.result, 2 * self.workers)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._is_closed = True
        self._crew.pool.shutdown(wait=True, cancel_futures=True)

    # ------------------------------------------------------------------------------- also in a thread of the executor

    def _begun(self, task: _Task[T]) -> Future[T]:
        while True:
            crew = self._crew
            try:
                done = crew.pool.submit(task.call)
                break
            except BrokenProcessPool:
                self._replace(crew)
            except OSError as error:
                task.given.set_exception(_no_process(error))
                return task.given
        done.add_done_callback(partial(self._came, task, crew))
        task.given.add_done_callback(lambda _: done.cancel())
        return task.given

    def _came(self, task: _Task[T], crew: _Crew, done: Future[T]) -> None:
        """Hands on what a worker gave; what one died over is tried again."""
        if done.cancelled():
            task.given.cancel()
            return
        is_broken = isinstance(done.exception(), BrokenProcessPool)
        if is_broken:
            let_go(crew.pool)
        if is_broken and not self._is_closed:
            self._replace(crew)
            if self._was_at_hand(crew):
                task.n_deaths += 1
            if task.n_deaths < MOST_DEATHS:
                self._begun(task)
                return
            done = _outcome(task.give_up)
        if task.given.set_running_or_notify_cancel():
            try:
                task.given.set_result(done.result())
            except Exception as error:  # noqa: BLE001 - handed on to whoever waits
                task.given.set_exception(error)

    def _replace(self, crew: _Crew) -> None:
        with self._lock:
            if self._crew is crew and not self._is_closed:
                self.n_restarts += 1
                _log.warning("a listening process was stopped from outside; it is started again")
                self._crew = _Crew(processes(self.workers, self._start), self.workers)

    def _was_at_hand(self, crew: _Crew) -> bool:
        """Whether a task of workers that died may have been in work; the oldest are told of first."""
        with self._lock:
            crew.n_suspects -= 1
            return crew.n_suspects >= 0


def _outcome(call: Callable[[], T]) -> Future[T]:
    done: Future[T] = Future()
    try:
        done.set_result(call())
    except AssistantError as error:
        done.set_exception(error)
    return done


def _not_started() -> NoReturn:
    raise ListenerMissing(
        "The listeners were stopped from outside while they started, perhaps for want of memory. What was said up to "
        "here is kept. Close other programs and run the command again with --workers 1."
    )


def _no_process(error: OSError) -> ListenerMissing:
    return ListenerMissing(
        f"A listening process cannot be started: {error.strerror or error}. What was said up to here is kept. Close "
        "other programs, see that you may start some, and run the command again."
    )


def _given_up() -> Verdict:
    return Verdict(Decision.UNHEARD, "the listeners were stopped over it", (), ())


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

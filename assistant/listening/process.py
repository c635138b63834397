"""Processes that listen, as they are begun: early, and with little memory.

This needs nothing else of the program, so that a process can begin before the program has loaded what it needs.
"""

from __future__ import annotations

import ctypes
import multiprocessing
import os
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import suppress
from types import TracebackType
from typing import TYPE_CHECKING, Self

from assistant.listening.worker import begin_apart

if TYPE_CHECKING:
    from assistant.listening.worker import Start

SPARING = {"MALLOC_ARENA_MAX": "1", "MALLOC_MMAP_THRESHOLD_": "4194304", "MALLOC_TRIM_THRESHOLD_": "4194304"}
"""How the C library of Linux gives memory to a worker; others do not know these settings.

By itself it would keep, for each thread of a worker, as much as the longest remark ever took: 80 MB more.

Source:
    mallopt(3), Linux manual pages.
"""

_OPTIONS = {-8: 1, -3: 4_194_304, -1: 4_194_304}
"""The same for a process that runs already: M_ARENA_MAX, M_MMAP_THRESHOLD, M_TRIM_THRESHOLD of malloc.h."""


def be_sparing() -> None:
    """This process holds less memory from now on, if the C library is that of Linux: the voice's threads keep none."""
    with suppress(OSError, AttributeError, TypeError):
        library = ctypes.CDLL(None)
        for option, value in _OPTIONS.items():
            library.mallopt(option, value)


class Prepared:
    """A process that will listen, and loads what it needs anyway while it is not known yet for what.

    Args:
        load: loads it; must be picklable. If it fails, the listeners will say so when they are made.
    """

    def __init__(self, load: Callable[[], None]) -> None:
        before = set(multiprocessing.active_children())
        self.pool = processes(1, None)
        with suppress(OSError):  # no process can be made: whoever needs one is told
            self.pool.submit(load)
        self._made = set(multiprocessing.active_children()) - before

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        # Whoever listened with it has let it go by now; else nobody waits for what it still loads.
        for process in self._made:
            with suppress(ValueError):  # its end is known already
                process.kill()
        let_go(self.pool)
        self.pool.shutdown(wait=False, cancel_futures=True)


def processes(workers: int, start: Start | None) -> ProcessPoolExecutor:
    """Processes that are started when something is asked of them.

    Args:
        workers: how many.
        start: makes the listeners of one; None if it is told later.
    """
    for name, value in SPARING.items():
        os.environ.setdefault(name, value)
    return ProcessPoolExecutor(workers, multiprocessing.get_context("spawn"), begin_apart, (start,))


def let_go(pool: Executor) -> None:
    """What is still being sent to processes that died is given up; without that, Python 3.11.2 waits for it for ever.

    Source:
        https://github.com/python/cpython/issues/94777; later versions do the same themselves.
    """
    queue = getattr(pool, "_call_queue", None)
    if queue is not None:
        with suppress(OSError):
            queue._reader.close()

"""A library at work in a process of its own, asked from this one; see `assistant.hearing.answering`."""

from __future__ import annotations

import pickle
import subprocess
import sys
import weakref
from contextlib import suppress
from pathlib import Path
from typing import Any


class LibraryEnded(Exception):
    """No process can be made, or it ended before it had answered; says why, as far as is known."""


class LibraryRefused(Exception):
    """The library refuses what it was given; says what it says."""


class LibraryProcess:
    """The process, which ends with this object.

    Args:
        worker: the file with the class `Worker` that works there.

    Raises:
        LibraryEnded: see there.
    """

    def __init__(self, worker: Path) -> None:
        command = [sys.executable, "-P", str(Path(__file__).with_name("answering.py")), str(worker)]
        pipe = subprocess.PIPE
        try:
            self._process = subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL)
        except OSError as error:
            raise LibraryEnded(f"no process can be begun for it ({error})") from error
        self.close = weakref.finalize(self, _end, self._process)

    def ask(self, name: str, *arguments: Any) -> Any:
        """Calls a method of the worker and waits for what it gives. Other threads go on meanwhile.

        Raises:
            ImportError: the library is not installed, or not made for this system.
            LibraryRefused, LibraryEnded: see there.
        """
        requests, answers = self._process.stdin, self._process.stdout
        if requests is None or answers is None:
            raise RuntimeError("the process has no pipes")
        try:
            pickle.dump((name, arguments), requests)
            requests.flush()
            is_well, answer = pickle.load(answers)
        except (EOFError, OSError, ValueError, pickle.UnpicklingError) as error:
            self.close()
            raise LibraryEnded("its process was stopped") from error
        if is_well:
            return answer
        is_refused, reason = answer
        if is_refused:
            raise LibraryRefused(reason)
        raise ImportError(reason)


def _end(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            with suppress(OSError):  # what was not flushed has no reader any more
                pipe.close()

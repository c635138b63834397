"""Which sessions are being recorded by a program that runs, so that another one does not finish them for it.

A lock of the system on a file for each session, in a folder beside the store: a program that is killed holds none.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from assistant.store.fault import faults_told


def folder_of(store: Path) -> Path:
    """Where the locks of a store are."""
    return store.with_name(f"{store.stem}_going")


class Claims:
    """The sessions that this program records.

    Args:
        store: the store file.
    """

    def __init__(self, store: Path) -> None:
        self._folder = folder_of(store)
        self._held: dict[str, FileLock] = {}

    def claim(self, session: str) -> bool:
        """Takes a session until `release`; False if another program has it.

        Raises:
            BadStore: the folder of the store cannot be written to.
        """
        if session in self._held:
            return True
        with faults_told(self._folder):
            self._folder.mkdir(mode=0o700, exist_ok=True)
            name = hashlib.sha256(session.encode()).hexdigest()[:32]
            lock = FileLock(self._folder / f"{name}.lock", thread_local=False)
            try:
                lock.acquire(blocking=False)
            except Timeout:
                return False
        self._held[session] = lock
        return True

    def release(self) -> None:
        """Lets all sessions go."""
        while self._held:
            _, lock = self._held.popitem()
            with faults_told(self._folder):
                Path(lock.lock_file).unlink(missing_ok=True)
                lock.release()


@contextmanager
def claims(store: Path) -> Iterator[Claims]:
    """Claims that are released at the end of the block."""
    held = Claims(store)
    try:
        yield held
    finally:
        held.release()

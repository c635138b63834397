"""Several remarks heard at once: the order, the errors, and the death of a worker."""

from __future__ import annotations

import ctypes
import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import ListenerMissing
from assistant.listening.pool import ListeningPool
from assistant.listening.process import SPARING, Prepared
from assistant.values import Decision, Sound, Verdict


@dataclass
class Counting:
    """Tells how long a remark is; one without samples kills whoever hears it."""

    unit: str
    names: tuple[str, ...] = ("counting",)
    notices: tuple[str, ...] = ("It counts only.",)

    def judge(self, sound: Sound) -> Verdict:
        if not len(sound.samples):
            os._exit(3)
        return Verdict(Decision.ACCEPTED, "", (f"{len(sound.samples)} {self.unit}",), ())


def refuse() -> Counting:
    raise ListenerMissing("There is no listener 'bat'.")


def sound(length: int) -> Sound:
    return Sound(np.zeros(length, np.float32), 16_000)


@pytest.mark.parametrize("workers", [1, 2])
def test_verdicts_belong_to_their_remarks(workers: int) -> None:
    with ListeningPool(partial(Counting, "samples"), workers) as pool:
        assert (pool.names, pool.notices) == (("counting",), ("It counts only.",))
        begun = [pool.begin(sound(n)) for n in range(1, 9)]
        assert [one.result().choices for one in begun] == [(f"{n} samples",) for n in range(1, 9)]
        assert pool.judge(sound(3)).choices == ("3 samples",)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_listener_that_cannot_start_is_said_at_once(workers: int) -> None:
    with pytest.raises(ListenerMissing, match="no listener 'bat'"):
        ListeningPool(refuse, workers)


def frugal() -> Counting:
    return Counting("samples", (os.environ.get("MALLOC_ARENA_MAX", "none"),))


def nothing() -> None:
    """Loads nothing."""


def until(is_so: Callable[[], bool]) -> bool:
    end = time.monotonic() + 60
    while not is_so() and time.monotonic() < end:
        time.sleep(0.01)
    return is_so()


@dataclass
class Writing(Counting):
    """Writes down which process hears, and gives time to kill the first; one of a single sample may be killed over."""

    folder: Path = Path()

    def judge(self, sound: Sound) -> Verdict:
        if len(sound.samples) == 1 and not list(self.folder.iterdir()):
            (self.folder / str(os.getpid())).touch()
            time.sleep(60)
        return super().judge(sound)


@pytest.mark.skipif(os.name != "posix", reason="kills a process by its number")
def test_a_process_that_is_killed_is_started_again_and_hears_again_what_it_had(tmp_path: Path) -> None:
    with ListeningPool(partial(Writing, "samples", folder=tmp_path), 1, is_apart=True) as pool:
        begun = [pool.begin(sound(n)) for n in (1, 2, 3)]
        assert until(lambda: any(tmp_path.iterdir()))
        os.kill(int(next(tmp_path.iterdir()).name), signal.SIGKILL)
        assert [one.result(60).choices for one in begun] == [("1 samples",), ("2 samples",), ("3 samples",)]
        assert pool.n_restarts == 1


@pytest.mark.skipif(os.name != "posix", reason="kills a process by its number")
def test_nobody_waits_for_what_was_being_sent_to_a_process_that_is_killed(tmp_path: Path) -> None:
    """More than a pipe holds: without help, Python 3.11.2 would never end after that."""
    before = {thread for thread in threading.enumerate() if thread.name == "QueueFeederThread"}
    with ListeningPool(partial(Writing, "samples", folder=tmp_path), 1, is_apart=True) as pool:
        begun = [pool.begin(sound(n)) for n in (1, 1_000_000, 1_000_001, 1_000_002)]
        assert until(lambda: any(tmp_path.iterdir()))
        time.sleep(0.5)
        os.kill(int(next(tmp_path.iterdir()).name), signal.SIGKILL)
        assert begun[-1].result(60).choices == ("1000002 samples",)
    assert until(lambda: not {t for t in threading.enumerate() if t.name == "QueueFeederThread"} - before)


@pytest.mark.parametrize(("workers", "is_apart"), [(1, True), (2, False)])
def test_a_remark_over_which_they_always_die_is_left_for_the_review(workers: int, is_apart: bool) -> None:
    with ListeningPool(partial(Counting, "samples"), workers, is_apart=is_apart) as pool:
        assert [one.result().choices for one in [pool.begin(sound(5)) for _ in range(9)]] == [("5 samples",)] * 9
        begun = [pool.begin(sound(n)) for n in (5, 0)]
        assert begun[0].result().choices == ("5 samples",)
        assert begun[1].result().decision is Decision.UNHEARD
        assert pool.judge(sound(6)).choices == ("6 samples",)
        assert pool.n_restarts == 2


def die() -> Counting:
    os._exit(3)


@pytest.mark.parametrize("workers", [1, 2])
def test_listeners_that_die_when_they_are_made_are_said_in_a_sentence(workers: int) -> None:
    with ListeningPool(die, workers, is_apart=True) as pool, pytest.raises(ListenerMissing, match="--workers 1"):
        pool.names  # noqa: B018


def test_a_process_that_cannot_be_made_is_said_in_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse_process(*_: object) -> None:
        raise BlockingIOError(11, "Resource temporarily unavailable")

    monkeypatch.setattr("multiprocessing.util.spawnv_passfds", refuse_process)
    with Prepared(nothing) as prepared, ListeningPool(frugal, 1, is_apart=True, prepared=prepared) as pool:
        for asked in (lambda: pool.names, lambda: pool.judge(sound(3))):
            with pytest.raises(ListenerMissing, match="cannot be started: Resource temporarily unavailable"):
                asked()


@pytest.mark.parametrize("load", [nothing, die], ids=["loaded", "died while it loaded"])
def test_a_process_that_was_prepared_listens(load: Callable[[], None]) -> None:
    with Prepared(load) as prepared, ListeningPool(frugal, 1, is_apart=True, prepared=prepared) as pool:
        assert pool.names == (SPARING["MALLOC_ARENA_MAX"],)
        assert pool.judge(sound(4)).choices == ("4 samples",)
        assert pool.n_restarts == (load is die)


def test_a_worker_apart_takes_memory_sparingly() -> None:
    """What that saves is measured by `python tests/bench memory`."""
    with ListeningPool(frugal, 1, is_apart=True) as pool:
        assert pool.names == (SPARING["MALLOC_ARENA_MAX"],)


def load_for_ever() -> None:
    time.sleep(600)


def test_a_process_that_nobody_listened_with_ends_at_once() -> None:
    """As when there is no microphone: the command does not wait for models that nobody needs."""
    before = set(multiprocessing.active_children())
    with Prepared(load_for_ever):
        (made,) = set(multiprocessing.active_children()) - before
    until_s = time.monotonic() + 30
    # The pool's own thread waits for it as well; whoever comes second is told for a moment that it lives.
    while made.is_alive() and time.monotonic() < until_s:
        time.sleep(0.05)
    assert not made.is_alive()


PROGRAM = """
import os, time
from functools import partial
from test_listening_pool import Counting, sound
from assistant.listening.pool import ListeningPool

if __name__ == "__main__":
    with ListeningPool(partial(Counting, "samples"), 2) as pool:
        pool.judge(sound(3))
        print(*pool._crew.pool._processes, flush=True)
        time.sleep(60)
"""


@pytest.mark.skipif(os.name != "posix", reason="looks at processes by their number")
def test_workers_end_with_a_program_that_is_killed(tmp_path: Path) -> None:
    """Else each crash would leave two sets of listeners in memory."""
    (tmp_path / "program.py").write_text(PROGRAM, encoding="utf-8")
    paths = os.pathsep.join([str(Path(__file__).parent), str(Path(__file__).parent.parent)])
    program = subprocess.Popen(
        [sys.executable, str(tmp_path / "program.py")],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": paths},
    )
    assert program.stdout is not None
    workers = [int(word) for word in program.stdout.readline().split()]
    assert workers
    assert all(is_running(worker) for worker in workers)
    program.kill()
    program.communicate()
    end = time.monotonic() + 20
    while any(is_running(worker) for worker in workers) and time.monotonic() < end:
        time.sleep(0.05)
    assert not any(is_running(worker) for worker in workers)


def is_running(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{process}/stat")
    return not state.exists() or state.read_text().rpartition(")")[2].split()[0] != "Z"


HEAPS = """
import ctypes, sys, tempfile, threading
from assistant.listening.process import be_sparing
if sys.argv[1] == "sparing":
    be_sparing()
library = ctypes.CDLL(None)
library.malloc.restype = library.fopen.restype = ctypes.c_void_p
together = threading.Barrier(4)
def ask():
    together.wait()
    library.malloc(5000)
    together.wait()
threads = [threading.Thread(target=ask) for _ in range(4)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
with tempfile.NamedTemporaryFile() as file:
    stream = ctypes.c_void_p(library.fopen(file.name.encode(), b"w"))
    library.malloc_info(0, stream)
    library.fclose(stream)
    print(file.read().count(b"<heap nr="))
"""


@pytest.mark.skipif(not hasattr(ctypes.CDLL(None), "malloc_info"), reason="the C library of Linux alone can tell")
@pytest.mark.parametrize(("how", "is_one"), [("sparing", True), ("as usual", False)])
def test_a_sparing_process_has_one_heap_for_all_its_threads(how: str, is_one: bool) -> None:
    words = [sys.executable, "-c", HEAPS, how]
    # Workers of the tests before leave their settings in the environment.
    usual = {name: value for name, value in os.environ.items() if name not in SPARING}
    told = subprocess.run(words, capture_output=True, text=True, check=True, env=usual).stdout
    assert (int(told) == 1) == is_one

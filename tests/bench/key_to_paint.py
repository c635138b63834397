"""Key to paint: how long the screens take from a key to the last byte of what is drawn, on a large herd.

Run by hand: python tests/bench/key_to_paint.py [--animals 1000] [--entries 20000] [--keys 100]

A real pseudo-terminal of 120×40 is typed into. Beside the clock it counts how long the thread that takes keys and
draws had a processor for each key: what a machine with nothing else to do would need.
"""

from __future__ import annotations

import argparse
import os
import random
import select
import signal
import statistics
import sys
import time
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from assistant.session.events import AnimalCaught, AnimalLeft, EntryMade, Said, flat_event
from assistant.session.state import Outcome, OutcomeKind
from assistant.store.store import Store
from assistant.values import (
    FEET,
    ActionPart,
    Animal,
    Entry,
    FindingPart,
    Meaning,
    MeasurePart,
    Part,
    Remark,
    SessionInfo,
    State,
)

START = datetime(2026, 9, 1, 6, 0, tzinfo=UTC)
QUIET_S = 0.06
"""A frame is whole when nothing more comes for so long; it is not counted."""

DOWN, PAGE_DOWN, END, HOME, ESCAPE = b"\x1b[B", b"\x1b[6~", b"\x1b[F", b"\x1b[H", b"\x1b"
ROUNDS: dict[str, tuple[Sequence[str], Sequence[bytes]]] = {
    "review, cursor down": (("review",), [DOWN]),
    "review, page down": (("review",), [PAGE_DOWN]),
    "review, first and last line": (("review",), [END, HOME]),
    "review, accept and next": (("review",), [b"a", DOWN]),
    "review, withdraw and undo": (("review",), [b"x", b"u"]),
    "review, list of animals, typed into": (("review",), [b"n", b"4", b"1", b"7", ESCAPE]),
    "look back, animals": (("summary",), [DOWN]),
    "register, typed into": (("register",), [b"/", b"4", b"1", b"\x7f", b"\x7f", ESCAPE]),
    "live, a letter": (("type",), [b"a", b"\x7f"]),
}
FIRST = {"look back, animals": [b"a"], "review, cursor down": [], "live, a letter": []}


def filled(path: Path, n_animals: int, n_entries: int) -> None:
    """A herd and one session in which each animal has its share of the entries."""
    rng = random.Random(5)
    animals = [Animal(f"a{n}", number=str(1000 + n), name=f"Goat {n}", group=f"pen {n % 8}") for n in range(n_animals)]
    facts: list[Part] = [
        *(FindingPart(foot, finding) for foot in FEET for finding in ("overgrown", "hollow wall", "crack", "sound")),
        *(ActionPart(foot, action) for foot in FEET for action in ("trimmed", "cut out", "sprayed")),
        MeasurePart("condition", 2.5),
    ]
    with Store.open(path) as store:
        store.save_animals(animals, START)
        store.begin(SessionInfo("s1", START, planned=tuple(animal.id for animal in animals)))
        each = n_entries // n_animals
        for n, animal in enumerate(animals):
            now = START + timedelta(seconds=30 * n)
            events = [flat_event(AnimalCaught(now, animal.id, f"r{n}"))]
            remark = Remark(f"r{n}", "s1", now, "all that was said", Meaning(tuple(facts)))
            events.append(flat_event(Said(remark)))
            events += [
                flat_event(EntryMade(Entry(f"e{n}-{k}", animal.id, rng.choice(facts), State.HEARD, f"r{n}", "s1", now)))
                for k in range(each)
            ]
            if n % 2:
                events.append(flat_event(AnimalLeft(now, animal.id, Outcome(OutcomeKind.DONE), f"r{n}")))
            store.append("s1", store.version("s1"), events)


class Screen:
    """The program in a pseudo-terminal."""

    def __init__(self, store: Path, words: Sequence[str]) -> None:
        import fcntl
        import pty
        import struct
        import termios

        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            os.environ.update(TERM="xterm-256color", COLUMNS="120", LINES="40")
            os.execv(sys.executable, [sys.executable, "-m", "assistant", "--store", str(store), *words])
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))

    def drawn_s(self, at_most_s: float, quiet_s: float = QUIET_S) -> float:
        """Until the last byte of what is drawn now, in seconds; 0 if nothing was."""
        began = last = time.perf_counter()
        while time.perf_counter() - began < at_most_s:
            ready, _, _ = select.select([self.fd], [], [], quiet_s if last != began else at_most_s)
            if not ready:
                break
            try:
                os.read(self.fd, 1 << 20)
            except OSError:  # the program was left
                break
            last = time.perf_counter()
        return last - began

    def processor_s(self) -> float:
        """How long the thread that takes keys and draws had a processor, in seconds."""
        return int(Path(f"/proc/{self.pid}/schedstat").read_text().split()[0]) / 1e9

    def press(self, key: bytes) -> tuple[float, float]:
        """Clock and processor time of one key, in seconds."""
        before = self.processor_s()
        os.write(self.fd, key)
        took = self.drawn_s(5)
        return took, self.processor_s() - before

    def close(self) -> None:
        """Leaves the program."""
        os.write(self.fd, b"\x11")
        ends = time.monotonic() + 10
        while time.monotonic() < ends:
            if os.waitpid(self.pid, os.WNOHANG)[0]:
                return
            self.drawn_s(0.1)
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)


def measured(store: Path, name: str, n_keys: int) -> tuple[list[float], list[float]]:
    """Clock and processor times of a round, in milliseconds."""
    words, keys = ROUNDS[name]
    screen = Screen(store, words)
    while screen.drawn_s(60, quiet_s=6) > 0.001:
        pass
    for key in FIRST.get(name, []):
        screen.press(key)
    times = [screen.press(keys[n % len(keys)]) for n in range(n_keys)]
    screen.close()
    return [1000 * clock for clock, _ in times], [1000 * processor for _, processor in times]


def percentile(values: Sequence[float], share: int) -> float:
    """The value below which this share of a hundred lies."""
    return statistics.quantiles(values, n=100)[share - 1]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--animals", type=int, default=1000)
    parser.add_argument("--entries", type=int, default=20_000)
    parser.add_argument("--keys", type=int, default=100)
    parser.add_argument("--only", default="", help="rounds whose name holds this")
    asked = parser.parse_args()
    with TemporaryDirectory() as folder:
        store = Path(folder) / "herd.db"
        filled(store, asked.animals, asked.entries)
        click.echo(f"{'milliseconds':38} clock p50   p95   processor p50   p95")
        for name in ROUNDS:
            if asked.only in name:
                clock, processor = measured(store, name, asked.keys)
                click.echo(
                    f"{name:38} {percentile(clock, 50):9.1f} {percentile(clock, 95):5.1f} "
                    f"{percentile(processor, 50):15.1f} {percentile(processor, 95):5.1f}"
                )


if __name__ == "__main__":
    main()

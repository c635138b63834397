"""Key to paint: how long the screens take from a key to the last byte of what is drawn, on a large herd.

Run by hand: python tests/bench/key_to_paint.py [--animals 1000] [--entries 20000] [--keys 40] [--only review]

A real pseudo-terminal of 120×40 is typed into; each kind of key is a row, printed once it is had. Before the rows of a
screen stands how long it took to come up, by the clock. Beside the clock of a key it counts how long the thread that
takes keys and draws had a processor: what a machine with nothing else to do would need.
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
from collections.abc import Iterator, Sequence
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
IDLE_SHARE = 0.05
"""A program that has had less of a processor than this over a second is ready for keys."""

DOWN, PAGE_DOWN, END, HOME = b"\x1b[B", b"\x1b[6~", b"\x1b[F", b"\x1b[H"
NAMED_ESCAPE = b"\x1b[27u"
"""Esc as terminals send it that name it; of a bare one it is waited 25 ms for what may follow."""
ESCAPE, ENTER, BACK = b"\x1b", b"\r", b"\x7f"
Cycle = Sequence[tuple[str, bytes]]
"""Keys that are pressed in turn, each with the row that it counts for; none if it only leads to the next."""

SCREENS: dict[str, tuple[Sequence[str], Sequence[Cycle]]] = {
    "review": (
        ("review",),
        [
            [("cursor down", DOWN)],
            [("all keys", b"\x1bOP"), ("all keys left by a bare Esc", ESCAPE)],
            [("page down", PAGE_DOWN)],
            [("last line", END), ("first line", HOME)],
            [("accept", b"a"), ("next line", DOWN)],
            [("withdraw", b"x"), ("undo", b"u"), ("redo", b"U"), ("", b"u"), ("", DOWN)],
            [
                ("list of findings opened", b"f"),
                ("a letter in it", b"s"),
                ("chosen", ENTER),
                ("", b"u"),
                ("", DOWN),
            ],
            [
                ("list of animals opened", b"n"),
                ("a digit in it", b"4"),
                ("a digit in it", b"1"),
                ("a digit in it", b"7"),
                ("list left by Esc", NAMED_ESCAPE),
            ],
        ],
    ),
    "look back": (
        ("summary",),
        [
            [("the session", b"s"), ("what is due", b"d"), ("charts", b"c"), ("animals", b"a")],
            [("cursor down in animals", DOWN)],
        ],
    ),
    "register": (
        ("register",),
        [
            [("cursor down", DOWN)],
            [
                ("search opened", b"/"),
                ("a digit in it", b"4"),
                ("a digit in it", b"1"),
                ("a digit taken back", BACK),
                ("search left by Esc", NAMED_ESCAPE),
            ],
        ],
    ),
    "live": (
        ("type",),
        [
            [("a letter", b"a"), ("a letter taken back", BACK)],
            [("", b"1017"), ("an animal caught", ENTER), ("", b"left hind crack"), ("a finding sent", ENTER)],
        ],
    ),
}


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

        self._last = b""
        self._began = time.perf_counter()
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
                self._last = os.read(self.fd, 1 << 20) or self._last
            except OSError as error:
                told = self._last.decode(errors="replace")
                raise SystemExit(f"the program was left; the last that it wrote: {told}") from error
            last = time.perf_counter()
        return last - began

    def seen_s(self, text: str) -> float:
        """When a text has been drawn, in seconds since the program was begun."""
        so_far = b""
        while text.encode() not in so_far:
            if not select.select([self.fd], [], [], 20)[0]:
                raise SystemExit(f"{text!r} was not drawn; what was: {so_far.decode(errors='replace')}")
            so_far += os.read(self.fd, 1 << 20)
        return time.perf_counter() - self._began

    def processor_s(self) -> float:
        """How long the thread that takes keys and draws had a processor, in seconds."""
        return int(Path(f"/proc/{self.pid}/schedstat").read_text().split()[0]) / 1e9

    def all_processor_s(self) -> float:
        """How long all threads of the program have had a processor, in seconds."""
        fields = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

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
            time.sleep(0.05)
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)


def ready(screen: Screen) -> None:
    """Waits until the program has drawn its screen and has nothing more to do."""
    while screen.all_processor_s() < 0.2:
        screen.drawn_s(0.2)
    spent = -1.0
    while screen.all_processor_s() - spent > IDLE_SHARE:
        spent = screen.all_processor_s()
        ends = time.monotonic() + 1
        while time.monotonic() < ends:
            screen.drawn_s(max(0.01, ends - time.monotonic()))


def measured(screen: Screen, cycle: Cycle, n_keys: int) -> dict[str, list[tuple[float, float]]]:
    """Row → clock and processor times, in milliseconds; at least so many keys of each row."""
    rows: dict[str, list[tuple[float, float]]] = {name: [] for name, _ in cycle if name}
    while min(map(len, rows.values())) < n_keys:
        for name, key in cycle:
            clock_s, processor_s = screen.press(key)
            if name:
                rows[name].append((1000 * clock_s, 1000 * processor_s))
    return rows


def every_row(store: Path, n_keys: int, only: str) -> Iterator[tuple[str, list[tuple[float, float]]]]:
    """Each row as soon as it is had."""
    for name, (words, cycles) in SCREENS.items():
        if only not in name:
            continue
        screen = Screen(store, words)
        for what, text in (("first paint", "One moment"), ("all that it shows at first", "all keys")):
            click.echo(f"{name + ': ' + what:38} {1000 * screen.seen_s(text):9.0f}")
        ready(screen)
        for cycle in cycles:
            for row, times in measured(screen, cycle, n_keys).items():
                yield f"{name}: {row}", times
        screen.close()


def percentile(values: Sequence[float], share: int) -> float:
    """The value below which this share of a hundred lies."""
    return statistics.quantiles(values, n=100)[share - 1]


def told(name: str, times: Sequence[tuple[float, float]]) -> None:
    """Prints a row: by the clock and of the processor, in milliseconds."""
    clock, processor = zip(*times, strict=True)
    click.echo(
        f"{name:38} {percentile(clock, 50):9.1f} {percentile(clock, 95):5.1f} "
        f"{percentile(processor, 50):15.1f} {percentile(processor, 95):5.1f}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--animals", type=int, default=1000)
    parser.add_argument("--entries", type=int, default=20_000)
    parser.add_argument("--keys", type=int, default=40, help="of each row")
    parser.add_argument("--only", default="", help="the screen whose name holds this")
    asked = parser.parse_args()
    with TemporaryDirectory() as folder:
        store = Path(folder) / "herd.db"
        filled(store, asked.animals, asked.entries)
        click.echo(f"load {os.getloadavg()[0]:.2f}")
        click.echo(f"{'milliseconds':38} clock p50   p95   processor p50   p95")
        every: list[tuple[float, float]] = []
        for name, times in every_row(store, asked.keys, asked.only):
            told(name, times)
            every += times[: asked.keys]  # some are had more often: each kind counts as much as another
        told("all of these keys", every)
        click.echo(f"load {os.getloadavg()[0]:.2f}")


if __name__ == "__main__":
    main()

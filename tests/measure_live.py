"""Measures the live path on a recording: end of speech to reply, processor time, memory. Run by hand, not by pytest.

    python tests/measure_live.py RECORDING [--pace real|fast] [--listeners NAMES] [--say voice] [--pause SECONDS]
                                 [--register FILE] [--times N --until SECONDS]

The store is a temporary one with the register of the demonstration. Figures are printed as one JSON object: times in
seconds, memory in MB. "shown" is counted from the end of speech to the moment at which the words stand on the screen,
as heard so far or as recorded; "reply" from the end of speech to the moment at which the reply is handed to the voice
and the screen; "closed" from the moment at which the silence after it was long enough. "own" is what a process has for
itself at every hundredth remark, the session's first: shares of pages of libraries change with other programs.

An hour of one session is the demonstration up to the remark that ends it, twelve times over: after "that's the lot"
nothing is recorded any more.

    python tests/measure_live.py demo_audio/session.flac --pace fast --times 12 --until 305
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import soundfile
from bench.processes import family, held_mb, own_mb

from assistant.cli.holding import opened
from assistant.cli.main import run as run_command
from assistant.live.beginning import live_session
from assistant.live.happening import Came, Happening, HeardSoFar, Kept, Ready
from assistant.live.loop import LiveLoop
from assistant.settings import Aloud
from assistant.sound.endpoint import EndpointSettings
from assistant.sound.stream import Pace, Played

DEMO = Path(__file__).parent.parent / "demo_audio"
STARTED = datetime(2026, 5, 26, 9, 0, tzinfo=UTC)


class Watch:
    """Notes when what happens; sees how much memory is in use every ten seconds of wall time."""

    def __init__(self, source: Played, tail_s: float) -> None:
        self.began = time.monotonic()
        self.source = source
        self._tail_s = tail_s
        self.replies_s: list[float] = []
        self.closed_s: list[float] = []
        self.shown_s: list[float] = []
        self._so_far: tuple[str, float] = ("", 0.0)
        self.memory_mb: list[float] = []
        self.ready_s = 0.0
        self.own_mb: list[list[float]] = []
        self._kept: list[float] = []
        self._looked = 0.0

    def __call__(self, what: Happening) -> None:
        now = time.monotonic()
        if now - self._looked > 10:
            self._looked = now
            self.memory_mb.append(round(held_mb(os.getpid())))
        if isinstance(what, Ready):
            self.ready_s = now - self.began
        elif isinstance(what, HeardSoFar):
            self._so_far = what.words, now
        elif isinstance(what, Kept):
            self._kept.append(now)
        elif isinstance(what, Came) and not what.is_old and self.source._began is not None:
            spoken_until = self.source._began + what.outcome.remark.end_s - self._tail_s
            self.replies_s.append(now - spoken_until)
            self.closed_s.append(now - self._kept.pop(0))
            words, at = self._so_far
            self.shown_s.append((at if words and words == what.outcome.remark.words else now) - spoken_until)
            self._so_far = "", 0.0
            if len(self.replies_s) % 100 == 0:
                self.own_mb.append([round(own_mb(one), 1) for one in family(os.getpid())])


def at(values: list[float], share: float) -> float | None:
    """The value below which that share of them lies."""
    return round(sorted(values)[min(len(values) - 1, int(share * len(values)))], 3) if values else None


def main() -> None:
    """Runs one measurement."""
    parser = argparse.ArgumentParser()
    parser.add_argument("recording", type=Path)
    parser.add_argument("--pace", choices=["real", "fast"], default="real")
    parser.add_argument("--listeners")
    parser.add_argument("--say", default="nothing")
    parser.add_argument("--pause", type=float, default=EndpointSettings.silence_s, metavar="SECONDS")
    parser.add_argument("--times", type=int, default=1)
    parser.add_argument("--until", type=float, metavar="SECONDS")
    parser.add_argument("--register", type=Path, default=DEMO / "register.csv")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder) / "herd.db"
        if run_command(["--store", str(store), "register", "import", str(chosen.register)]):
            sys.exit(1)
        names = chosen.listeners.split(",") if chosen.listeners else None
        recording = chosen.recording
        if chosen.until:
            samples, rate_hz = soundfile.read(recording, dtype="int16")
            recording = Path(folder) / "over_and_over.flac"
            soundfile.write(recording, np.tile(samples[: round(chosen.until * rate_hz)], chosen.times), rate_hz)
        source = Played(recording, Pace(chosen.pace))
        aloud = Aloud(say=chosen.say, pause_s=chosen.pause)
        begun = time.monotonic()
        with opened(store, None, STARTED, "measured") as run, live_session(run, source, aloud, names) as session:
            watch = Watch(source, EndpointSettings.after(chosen.pause).tail_s)
            watch.began = begun
            LiveLoop(session, watch).run()
            wall_s = time.monotonic() - begun
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    heard_s = source.position_s
    cpu_s = sum(one.ru_utime + one.ru_stime for one in used)
    print(  # noqa: T201 - its only output
        json.dumps(
            {
                "remarks": len(watch.replies_s),
                "sound_s": round(heard_s, 1),
                "wall_s": round(wall_s, 1),
                "cpu_s": round(cpu_s, 1),
                "cpu_s_per_hour": round(cpu_s / heard_s * 3600),
                "main_cpu_s": round(used[0].ru_utime + used[0].ru_stime, 1),
                "reply_median_s": at(watch.replies_s, 0.5),
                "reply_95_s": at(watch.replies_s, 0.95),
                "shown_median_s": at(watch.shown_s, 0.5),
                "shown_95_s": at(watch.shown_s, 0.95),
                "closed_median_s": at(watch.closed_s, 0.5),
                "closed_95_s": at(watch.closed_s, 0.95),
                "listeners_ready_s": round(watch.ready_s, 2),
                "memory_mb": watch.memory_mb,
                "own_mb": watch.own_mb,
                "cores": sorted(os.sched_getaffinity(0)),
            }
        )
    )


if __name__ == "__main__":
    main()

"""Measures of the live path: where remarks are cut, and how long the keeper waits for a reply."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from asked import DEMO, ROOT, Asked, Figure, Figures, percent
from processes import used_s

from assistant.sound.endpoint import remarks
from assistant.sound.recording import blocks

SLACK_S = 0.1
"""The script has the beginning and end of the sound of a line; so much of its fading may be lost."""


def start(_: Asked) -> Figures:
    """A session at a microphone from the command on, by `starting.py`: the median of five but the first."""
    with TemporaryDirectory() as folder:
        # As it is where the program is installed: its modules are compiled.
        environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        environment |= {"PYTHONPYCACHEPREFIX": folder, "PYTHONPATH": str(ROOT)}
        store = str(Path(folder, "herd.db"))
        own = [sys.executable, "-m", "assistant", "--store", store, "register", "import", str(DEMO / "register.csv")]
        subprocess.run(own, check=True, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL)
        turns = [_start(store, environment) for _ in range(6)][1:]
        shutil.rmtree(Path(folder, "worked_out"))
        anew = _start(store, environment)
    ready, sound, processor = (median(values) for values in zip(*turns, strict=True))
    return {
        "start": Figure(ready, "14 animals"),
        "start, until sound is taken from the microphone, in s": Figure(sound, "14 animals"),
        "start, processor time of all processes in s": Figure(processor, "14 animals"),
        "start with a changed register, in s": Figure(anew[0], "14 animals, once"),
    }


def _start(store: str, environment: Mapping[str, str]) -> tuple[float, float, float]:
    """Seconds until the listeners are there, until sound is taken, and of processor time until the former."""
    began, sound, ready, processor = time.monotonic(), 0.0, 0.0, 0.0
    words = [sys.executable, str(Path(ROOT, "tests", "bench", "starting.py")), store, str(began)]
    with subprocess.Popen(words, env=environment, stderr=subprocess.PIPE, stdout=-3, text=True) as session:
        for line in session.stderr or ():
            if line.startswith("sound "):
                sound = float(line.split()[1])
            if line.startswith("Listening: "):
                ready, processor = time.monotonic() - began, used_s(session.pid)
                break
        session.send_signal(signal.SIGINT)
        session.communicate()
    if not ready:
        raise SystemExit("The session has ended before it listened.")
    return ready, sound, processor


def endpointing(_: Asked) -> Figures:
    """The demonstration against its script: remarks cut whole, split, joined to another, lost; and what is none."""
    lines = [json.loads(line) for line in (DEMO / "script.jsonl").read_text(encoding="utf-8").splitlines()]
    found = {}
    for name, file in (("quiet", "session.flac"), ("15 dB", "session_noisy.flac")):
        cut = [(sound.start_s, sound.start_s + sound.length_s) for sound in remarks(blocks(DEMO / file))]
        counts = cut_as([(line["start_s"], line["end_s"]) for line in lines], cut)
        for what in ("whole", "clipped", "split", "joined", "lost"):
            found[f"endpointing {name}: {what}"] = percent(counts[what], len(lines))
        found[f"endpointing {name}: stretches that are no remark"] = Figure(counts["none"], f"{len(cut)} stretches")
    return found


def cut_as(said: list[tuple[float, float]], cut: list[tuple[float, float]]) -> Counter[str]:
    """What became of each line: (start, end) in seconds of what was said, and of what was cut out."""
    counts: Counter[str] = Counter()
    for start, end in said:
        own = [one for one in cut if _overlap(one, (start, end)) > SLACK_S]
        if not own:
            counts["lost"] += 1
        elif len(own) > 1:
            counts["split"] += 1
        elif sum(_overlap(own[0], other) > SLACK_S for other in said) > 1:
            counts["joined"] += 1
        elif own[0][0] > start + SLACK_S or own[0][1] < end - SLACK_S:
            counts["clipped"] += 1
        else:
            counts["whole"] += 1
    counts["none"] = sum(all(_overlap(one, other) <= SLACK_S for other in said) for one in cut)
    return counts


def _overlap(one: tuple[float, float], other: tuple[float, float]) -> float:
    return min(one[1], other[1]) - max(one[0], other[0])


def reply(asked: Asked) -> Figures:
    """A live session from the demonstration in real time, by `tests/measure_live.py`; another recording in --folder."""
    recording = asked.folder or DEMO / "session.flac"
    words = [sys.executable, str(Path(ROOT, "tests", "measure_live.py")), str(recording)]
    told = subprocess.run(words, check=True, cwd=ROOT, capture_output=True, text=True).stdout
    live = json.loads(told.splitlines()[-1])
    n = f"{live['remarks']} remarks"
    return {
        "reply median": Figure(live["reply_median_s"], n),
        "reply p95": Figure(live["reply_95_s"], n),
        "words shown as heard so far or recorded, median in s": Figure(live["shown_median_s"], n),
        "words shown as heard so far or recorded, 95th percentile in s": Figure(live["shown_95_s"], n),
        "reply after the pause, median in s": Figure(live["closed_median_s"], n),
        "reply after the pause, 95th percentile in s": Figure(live["closed_95_s"], n),
        "live, processor time for an hour in s": Figure(live["cpu_s_per_hour"], f"{live['sound_s']:.0f} s"),
        "live, most memory in MB": Figure(max(live["memory_mb"]), "shared pages by their share"),
    }

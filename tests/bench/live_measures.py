"""Measures of the live path: where remarks are cut, and how long the keeper waits for a reply."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

from asked import DEMO, ROOT, Asked, Figure, Figures, percent

from assistant.sound.endpoint import remarks
from assistant.sound.recording import blocks

SLACK_S = 0.1
"""The script has the beginning and end of the sound of a line; so much of its fading may be lost."""


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
        "reply after the pause, median in s": Figure(live["closed_median_s"], n),
        "reply after the pause, 95th percentile in s": Figure(live["closed_95_s"], n),
        "live, processor time for an hour in s": Figure(live["cpu_s_per_hour"], f"{live['sound_s']:.0f} s"),
        "live, most memory in MB": Figure(max(live["memory_mb"]), "shared pages by their share"),
    }

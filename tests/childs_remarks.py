"""The demonstration as a child would say it, for tests of a voice that listeners were not made for."""

from __future__ import annotations

import json

import numpy as np
import soundfile
import soxr
from listener_stage import DEMO

from assistant.values import Sound

SHORTER = 0.85
"""The length of a child's mouth and throat against a grown-up's, roughly: its sounds lie so much higher."""


def childs_remarks(n: int) -> list[tuple[Sound, str]]:
    """The first remarks of the demonstration as a child would say them, with their words."""
    lines = map(json.loads, (DEMO / "script.jsonl").read_text(encoding="utf-8").splitlines())
    samples, rate_hz = soundfile.read(DEMO / "session.flac", dtype="float32")
    found = []
    for line in [one for one in lines if one["expect"]][:n]:
        piece = samples[round((line["start_s"] - 0.2) * rate_hz) : round((line["end_s"] + 0.2) * rate_hz)]
        higher = soxr.resample(piece, rate_hz, rate_hz * SHORTER)
        found.append((Sound(higher.astype(np.float32), rate_hz), line["words"]))
    return found

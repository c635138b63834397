"""Each listener by itself: what it hears rightly at first, and how long it takes."""

from __future__ import annotations

from math import inf

from asked import Asked, Figure, Figures, bench_barn, needed, percent, score

from assistant.errors import ListenerMissing
from assistant.listening import spoken
from assistant.measuring.evaluate import Examiner
from assistant.measuring.examining import farm_examiner, slot_examiner
from assistant.records.held_register import read_register
from assistant.sound.recording import read

LEVELS_DB = (inf, 15, 6)


def alone(asked: Asked) -> Figures:
    """Each listener by itself: a folder as for `farm`, or as for `coffee`; quiet, 15 and 6 dB, or --db."""
    found: dict[str, Figure] = {}
    slowest = 0.0
    kitchen = needed(asked) / "kitchen.flac"
    noise, which = (read(kitchen), "coffee") if kitchen.exists() else (bench_barn(), "farm")
    for name in spoken.LISTENERS:
        try:
            examiner = _examiner(asked, name)
        except ListenerMissing:
            continue
        for snr_db in asked.levels_db or LEVELS_DB:
            heard = score(asked, examiner, noise if snr_db < inf else None, snr_db)
            level = f"{snr_db:g} dB" if snr_db < inf else "quiet"
            right = heard.right_labelled if which == "coffee" else heard.right
            found[f"{which} {level}, {name} by itself: right"] = percent(right, heard.n)
            if snr_db == inf:
                factor = heard.flat()["real_time_factor"]
                slowest = max(slowest, factor)
                found[f"{which} quiet, {name} by itself: time for a second of sound"] = Figure(factor, f"{heard.n}")
    if slowest and which == "farm":
        found["real-time factor of the slowest"] = Figure(slowest, "each listener on one core")
    return found


def _examiner(asked: Asked, name: str) -> Examiner:
    grammar = needed(asked) / "grammar.jsgf"
    if grammar.exists():
        return slot_examiner(grammar, [name])
    return farm_examiner(read_register(needed(asked) / "register.csv").animals, [name])

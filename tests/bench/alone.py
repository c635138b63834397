"""Each listener by itself: what it hears rightly at first, and how long it takes to hear it."""

from __future__ import annotations

import time
from math import inf
from pathlib import Path

from asked import Asked, Figure, Figures, bench_barn, needed, percent, score

from assistant.errors import ListenerMissing
from assistant.listening import spoken
from assistant.live.farm import Farm
from assistant.measuring import manifest as listing
from assistant.measuring.evaluate import Case, Examiner
from assistant.measuring.examining import farm_examiner, slot_examiner
from assistant.records.held_register import read_register
from assistant.register.register import Register
from assistant.sound.endpoint import trimmed
from assistant.sound.recording import read

LEVELS_DB = (inf, 15, 6)


def alone(asked: Asked) -> Figures:
    """Each listener by itself: a folder as for `farm`, or as for `coffee`; quiet, 15 and 6 dB, or --db.

    The time is that of hearing a remark. By itself a listener is always in doubt, so what is done in doubt is left out.
    """
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
        if which == "farm":
            cases = listing.cases(needed(asked) / "manifest.jsonl")[:: asked.every]
            factor = _time(name, needed(asked), cases)
            slowest = max(slowest, factor)
            found[f"farm quiet, {name} by itself: time for a second of sound"] = Figure(factor, f"{len(cases)}")
    if slowest:
        found["real-time factor of the slowest"] = Figure(slowest, "each listener on one core")
    return found


def _time(name: str, folder: Path, cases: tuple[Case, ...]) -> float:
    """Seconds for a second of remarks that were cut out, with nothing else at work."""
    (listener,) = Farm(Register(read_register(folder / "register.csv").animals)).ears([name]).listeners
    sounds = [trimmed(sound) for _, sound in listing.sounds(folder / "manifest.jsonl", cases, None, inf)]
    listener.hear(sounds[-1])  # what is made with the first sound is there from then on
    began = time.perf_counter()
    for sound in sounds:
        listener.hear(sound)
    return (time.perf_counter() - began) / sum(sound.length_s for sound in sounds)


def _examiner(asked: Asked, name: str) -> Examiner:
    grammar = needed(asked) / "grammar.jsgf"
    if grammar.exists():
        return slot_examiner(grammar, [name])
    return farm_examiner(read_register(needed(asked) / "register.csv").animals, [name])

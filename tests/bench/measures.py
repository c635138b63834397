"""The measures: each gives figures by key. Sound that is not in the repository comes from a folder that is named."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from math import inf
from pathlib import Path
from statistics import fmean
from tempfile import TemporaryDirectory

from alone import alone
from asked import DEMO, ROOT, Asked, Figure, Figures, bench_barn, needed, percent, score
from baselines import baselines
from live_measures import endpointing, reply, start
from processes import held_mb
from rehear_measure import rehear
from store_measures import matching, store

from assistant.measuring.examining import farm_examiner, slot_examiner
from assistant.records.held_register import read_register
from assistant.sound.recording import read

COFFEE_DB = (6, 9, 12, 15, 18, 21, 24)
FARM_DB = (inf, 15, 6)


def farm(asked: Asked) -> Figures:
    """Remarks of the trade from `tests/make_farm_remarks.py`: quiet, and in synthetic barn noise."""
    return _remarks("farm", asked)


def sampled(asked: Asked) -> Figures:
    """The same of remarks that `tests/make_farm_remarks.py --sampled` drew from the grammar, voices as in `farm`."""
    return _remarks("sampled", asked)


def unseen(asked: Asked) -> Figures:
    """The same in voices that nothing was fitted to (`tests/make_farm_remarks.py --unseen`)."""
    return _remarks("unseen voices", asked)


def chatty(asked: Asked) -> Figures:
    """The same of freely worded remarks, which no grammar has (`tests/make_farm_remarks.py --chatty`)."""
    return _remarks("chatty", asked)


def _remarks(which: str, asked: Asked) -> Figures:
    examiner = farm_examiner(read_register(needed(asked) / "register.csv").animals)
    noise = bench_barn()
    found: dict[str, Figure] = {}
    for snr_db in asked.levels_db or FARM_DB:
        heard = score(asked, examiner, noise if snr_db < inf else None, snr_db)
        name = f"{which} {snr_db:g} dB" if snr_db < inf else f"{which} quiet"
        found |= {
            f"{name} wrong": percent(heard.accepted_wrong, heard.n),
            f"{name} accepted": percent(heard.accepted, heard.n),
            f"{name} accepted and not said back": percent(heard.silent, heard.n),
            f"{name} wrong and not said back": percent(heard.silent_wrong, heard.n),
            f"{name} right": percent(heard.right, heard.n),
            f"{name} recorded in part before the answer": percent(heard.in_part, heard.n),
            f"{name} recorded in part and wrong": percent(heard.in_part_wrong, heard.n),
        }
        if snr_db == inf and not asked.kept:
            flat, n = heard.flat(), f"{heard.n} remarks"
            found["latency median"] = Figure(flat["latency_p50_s"], n)
            found["latency p95"] = Figure(flat["latency_p95_s"], n)
            found["real-time factor"] = Figure(flat["real_time_factor"], n)
    return found


def coffee(asked: Asked) -> Figures:
    """Open human commands: a folder with `manifest.jsonl`, `grammar.jsgf` and `kitchen.flac`; all levels, or --db."""
    examiner = slot_examiner(needed(asked) / "grammar.jsgf")
    noise = read(needed(asked) / "kitchen.flac")
    found, shares, n = {}, [], 0
    for snr_db in asked.levels_db or COFFEE_DB:
        heard = score(asked, examiner, noise if snr_db < inf else None, snr_db)
        shares.append(100 * heard.right_labelled / heard.n)
        n += heard.n
        found[f"coffee {snr_db:g} dB"] = percent(heard.right_labelled, heard.n)
        found[f"coffee {snr_db:g} dB accepted"] = percent(heard.accepted, heard.n)
        found[f"coffee {snr_db:g} dB wrong"] = percent(heard.accepted_wrong, heard.n)
    # The target is the mean of all levels; some of them say nothing about it.
    return found if asked.levels_db else {"coffee right": Figure(fmean(shares), f"{n} commands"), **found}


def talk(asked: Asked) -> Figures:
    """Talk that means nothing, from `tests/make_other_talk.py`: what was accepted or asked about, in an hour."""
    examiner = farm_examiner(read_register(DEMO / "register.csv").animals)
    heard = score(asked, examiner, None, 0.0)
    hours = heard.audio_s / 3600
    n = f"{60 * hours:.0f} minutes"
    return {
        "talk, taken or asked about, in an hour": Figure((heard.accepted + heard.asked) / hours, n),
        "talk accepted": Figure(heard.accepted / hours, n),
    }


def asides(asked: Asked) -> Figures:
    """What is said to the animal or a helper, alone and in one breath with a remark (`tests/make_asides.py`).

    Quiet and at 15 dB, or --db.
    """
    noise, found = bench_barn(), {}
    for which in ("known", "unseen", "one_breath"):
        folder = needed(asked) / which
        register = folder if (folder / "register.csv").is_file() else DEMO
        examiner = farm_examiner(read_register(register / "register.csv").animals)
        for snr_db in asked.levels_db or (inf, 15.0):
            heard = score(replace(asked, folder=folder), examiner, noise if snr_db < inf else None, snr_db)
            name = f"asides {which.replace('_', ' ')} {f'{snr_db:g} dB' if snr_db < inf else 'quiet'}"
            found |= {
                f"{name}: recorded": percent(heard.accepted, heard.n),
                f"{name}: recorded and wrong": percent(heard.accepted_wrong, heard.n),
                f"{name}: asked about": percent(heard.asked, heard.n),
                f"{name}: let go without a word": percent(heard.aside, heard.n),
                f"{name}: right": percent(heard.right, heard.n),
            }
    return found


def memory(_: Asked) -> Figures:
    """The demonstration in real time, answered aloud: the most memory of all processes together (Linux)."""
    with TemporaryDirectory() as folder:
        own = [sys.executable, "-m", "assistant", "--store", str(Path(folder) / "herd.db")]
        subprocess.run([*own, "register", "import", str(DEMO / "register.csv")], check=True, cwd=ROOT, stdout=-3)
        words = [*own, "session", "--from", str(DEMO / "session.flac"), "--pace", "real", "--say", "voice"]
        most = 0.0
        with subprocess.Popen(words, cwd=ROOT, stdout=-3, stderr=-3) as session:
            while session.poll() is None:
                most = max(most, held_mb(session.pid))
                time.sleep(0.1)
    return {"memory": Figure(most, "shared pages by their share")}


def summary(_: Asked) -> Figures:
    """The slow test of `tests/test_store_speed.py`, which prints what it took."""
    told = _slow("tests/test_store_speed.py")
    took = [int(ms) / 1000 for ms in re.findall(r"': '(\d+) ms'", told)]
    return {"summary": Figure(max(took), f"{len(took)} questions")}


def lost(_: Asked) -> Figures:
    """The slow tests that kill a program 1,000 times each; they fail with the first remark that is lost."""
    _slow("tests/test_store_kill.py", "tests/test_live_kill.py")
    return {"lost": Figure(0, "1,000 kills of a recording program and 1,000 of a live session")}


def _slow(*files: str) -> str:
    words = [sys.executable, "-m", "pytest", "-q", "-s", "-m", "slow", *files]
    return subprocess.run(words, check=True, cwd=ROOT, capture_output=True, text=True).stdout


MEASURES: Mapping[str, Callable[[Asked], Figures]] = {
    one.__name__: one
    for one in (
        *(farm, sampled, unseen, chatty, coffee, alone, talk, asides, baselines, endpointing, reply),
        *(start, memory, matching, store, summary, lost, rehear),
    )
}

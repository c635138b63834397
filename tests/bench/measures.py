"""The measures: each gives figures by key. Sound that is not in the repository comes from a folder that is named."""

from __future__ import annotations

import json
import os
import re
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean, median
from tempfile import TemporaryDirectory

import numpy as np

from assistant import manifest as listing
from assistant import wiring
from assistant.evaluate import Examiner, Score, evaluate
from assistant.sound.barn import barn_noise
from assistant.sound.recording import read
from assistant.values import Sound

ROOT = Path(__file__).parent.parent.parent
DEMO = ROOT / "demo_audio"
COFFEE_DB = (6, 9, 12, 15, 18, 21, 24)


@dataclass(frozen=True)
class Figure:
    """A figure that was measured; `n` says of how many cases, empty where that says nothing."""

    value: float
    n: str = ""


Figures = Mapping[str, Figure]


@dataclass(frozen=True)
class Asked:
    """What is asked for.

    Attributes:
        folder: with recordings, for the measures that need some.
        every: only each so-manieth recording.
    """

    folder: Path | None = None
    every: int = 1


def _score(asked: Asked, examiner: Examiner, noise: Sound | None, snr_db: float) -> Score:
    manifest = _needed(asked) / "manifest.jsonl"
    cases = listing.cases(manifest)[:: asked.every]
    return evaluate(listing.sounds(manifest, cases, noise, snr_db), examiner)


def _needed(asked: Asked) -> Path:
    if asked.folder is None:
        raise SystemExit("This measure needs recordings: --folder")
    return asked.folder


def farm(asked: Asked) -> Figures:
    """Remarks of the trade from `tests/make_farm_remarks.py`: quiet, and in synthetic barn noise."""
    examiner = wiring.farm_examiner(wiring.read_register(_needed(asked) / "register.csv").animals)
    noise = barn_noise(120.0, np.random.default_rng(5))
    found: dict[str, Figure] = {}
    for name, snr_db in (("quiet", None), ("15 dB", 15.0), ("6 dB", 6.0)):
        score = _score(asked, examiner, noise if snr_db is not None else None, snr_db or 0.0)
        for what, count in (("wrong", score.accepted_wrong), ("accepted", score.accepted), ("right", score.right)):
            found[f"farm {name} {what}"] = Figure(100 * count / score.n, f"{count} of {score.n}")
        if snr_db is None:
            flat, n = score.flat(), f"{score.n} remarks"
            found["latency median"] = Figure(flat["latency_p50_s"], n)
            found["latency p95"] = Figure(flat["latency_p95_s"], n)
            found["real-time factor"] = Figure(flat["real_time_factor"], n)
    return found


def coffee(asked: Asked) -> Figures:
    """Open human commands: a folder with `manifest.jsonl`, `grammar.jsgf` and `kitchen.flac`."""
    examiner = wiring.slot_examiner(_needed(asked) / "grammar.jsgf")
    noise = read(_needed(asked) / "kitchen.flac")
    shares, n = {}, 0
    for snr_db in COFFEE_DB:
        score = _score(asked, examiner, noise, snr_db)
        shares[snr_db], n = 100 * score.right_labelled / score.n, n + score.n
    each = {f"coffee {snr_db} dB": Figure(share, f"{n // len(COFFEE_DB)} commands") for snr_db, share in shares.items()}
    return {"coffee right": Figure(fmean(shares.values()), f"{n} commands"), **each}


def talk(asked: Asked) -> Figures:
    """Talk that means nothing, from `tests/make_other_talk.py`: what was accepted or asked about, in an hour."""
    examiner = wiring.farm_examiner(wiring.read_register(DEMO / "register.csv").animals)
    score = _score(asked, examiner, None, 0.0)
    hours = score.audio_s / 3600
    return {
        "talk taken": Figure((score.accepted + score.asked) / hours, f"{60 * hours:.0f} minutes"),
        "talk accepted": Figure(score.accepted / hours, f"{60 * hours:.0f} minutes"),
    }


def start(_: Asked) -> Figures:
    """A fresh process until all its listeners are there: the median of three."""
    probe = (
        "import sys; from pathlib import Path; from assistant import wiring;"
        "from assistant.register.register import Register;"
        "wiring.RemarkEars(wiring.Farm(Register(wiring.read_register(Path(sys.argv[1])).animals)))"
    )
    clock, processor = [], []
    for _turn in range(3):
        began, used = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-c", probe, str(DEMO / "register.csv")], check=True, cwd=ROOT)
        clock.append(time.perf_counter() - began)
        now = resource.getrusage(resource.RUSAGE_CHILDREN)
        processor.append(now.ru_utime + now.ru_stime - used.ru_utime - used.ru_stime)
    return {
        "start": Figure(median(clock), "14 animals"),
        "start, processor time in s": Figure(median(processor), "14 animals"),
    }


def memory(_: Asked) -> Figures:
    """The demonstration as if from a microphone: the most resident memory of all processes together (Linux)."""
    with TemporaryDirectory() as folder:
        own = [sys.executable, "-m", "assistant", "--store", str(Path(folder) / "herd.db")]
        subprocess.run([*own, "register", "import", str(DEMO / "register.csv")], check=True, cwd=ROOT, stdout=-3)
        words = [*own, "session", "--from", str(DEMO / "session.flac"), "--pace", "fast", "--json"]
        most = 0.0
        with subprocess.Popen(words, cwd=ROOT, stdout=-3, stderr=-3) as session:
            while session.poll() is None:
                most = max(most, sum(_resident_mb(process) for process in _family(session.pid)))
                time.sleep(0.1)
    return {"memory": Figure(most, "shared pages counted in each process")}


def _family(process: int) -> Iterator[int]:
    yield process
    for task in Path(f"/proc/{process}/task").glob("*/children"):
        for child in task.read_text().split():
            yield from _family(int(child))


def _resident_mb(process: int) -> float:
    try:
        pages = int(Path(f"/proc/{process}/statm").read_text().split()[1])
    except FileNotFoundError:
        return 0.0
    return pages * os.sysconf("SC_PAGESIZE") / 1e6


def number(_: Asked) -> Figures:
    """Mentions in a register of 100,000, by `tests/bench/register_growth.py`."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "growth.jsonl"
        words = [sys.executable, str(ROOT / "tests/bench/register_growth.py"), str(file), "--animals", "100000"]
        subprocess.run(words, check=True, cwd=ROOT, stdout=-3)
        grown = json.loads(file.read_text().splitlines()[-1])
    return {"number": Figure(grown["mention_p95_ms"], "300 mentions")}


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
    one.__name__: one for one in (farm, coffee, talk, start, memory, number, summary, lost)
}

"""Measures of the register and of the store."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from asked import ROOT, Asked, Figure, Figures, percent

from assistant.session.events import EntryMade, flat_event
from assistant.store.store import Store
from assistant.values import Entry, FindingPart, SessionInfo, Sound, State

N_KEPT = 300
START = datetime(2026, 5, 26, 9, 0, tzinfo=UTC)


def matching(_: Asked) -> Figures:
    """Mentions in a register of 100,000, by `tests/bench/register_growth.py`: how long, and who is found."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "growth.jsonl"
        words = [sys.executable, str(ROOT / "tests/bench/register_growth.py"), str(file), "--animals", "100000"]
        subprocess.run(words, check=True, cwd=ROOT, stdout=-3)
        grown = json.loads(file.read_text(encoding="utf-8").splitlines()[-1])
    n = grown["mentions"]
    return {
        "mention p95": Figure(grown["mention_p95_ms"], f"{n} mentions"),
        "mention, median in ms": Figure(grown["mention_median_ms"], f"{n} mentions"),
        "mention, right animal among the candidates": percent(grown["offered"], n),
        "mention, another animal taken without a question": percent(grown["taken_wrong"], n),
    }


def store(_: Asked) -> Figures:
    """Keeping the sound of a remark, adding an entry, reading a session: by the clock, with the disk's own time."""
    sound = Sound(np.random.default_rng(1).normal(0, 0.05, 3 * 16000).astype(np.float32), 16000)
    with TemporaryDirectory() as folder, Store.open(Path(folder) / "herd.db") as held:
        at = held.begin(SessionInfo("s1", START, planned=("a1",)))
        keeps = [_took_ms(lambda: held.keep_sound("s1", sound, START)) for _ in range(N_KEPT)]
        appends = [_took_ms(lambda n=n: held.append("s1", at + n, [_made(n)])) for n in range(N_KEPT)]
        reads = [_took_ms(lambda: list(held.events("s1"))) for _ in range(9)]
        entries = [_took_ms(lambda: held.entries("s1")) for _ in range(9)]
    return {
        "store, keep 3 s of sound, median in ms": Figure(_at(keeps, 0.5), f"{N_KEPT} remarks"),
        "store, keep 3 s of sound, 95th percentile in ms": Figure(_at(keeps, 0.95), f"{N_KEPT} remarks"),
        "store, add an entry, median in ms": Figure(_at(appends, 0.5), f"{N_KEPT} entries"),
        "store, add an entry, 95th percentile in ms": Figure(_at(appends, 0.95), f"{N_KEPT} entries"),
        "store, read the events of a session, median in ms": Figure(_at(reads, 0.5), f"{N_KEPT} entries"),
        "store, read the entries of a session, median in ms": Figure(_at(entries, 0.5), f"{N_KEPT} entries"),
    }


def _made(n: int) -> dict[str, object]:
    part = FindingPart("left hind", "crack")
    return flat_event(EntryMade(Entry(f"e{n}", "a1", part, State.HEARD, f"r{n}", "s1", START)))


def _took_ms(deed: Callable[[], object]) -> float:
    began = time.perf_counter()
    deed()
    return 1000 * (time.perf_counter() - began)


def _at(times: Sequence[float], share: float) -> float:
    return sorted(times)[int(share * (len(times) - 1))]

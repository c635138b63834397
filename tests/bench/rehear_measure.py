"""How much quicker kept sounds are heard again by two workers of a cluster than by one."""

from __future__ import annotations

import os
import time
from itertools import islice
from pathlib import Path
from typing import Any

from asked import DEMO, Asked, Figure, Figures

from assistant.listening.cluster import ListeningCluster
from assistant.live.farm import Farm
from assistant.records.held_register import read_register
from assistant.register.register import Register
from assistant.sound.endpoint import remarks
from assistant.sound.recording import blocks

MOST = 40


def rehear(asked: Asked) -> Figures:
    """Remarks of the demonstration on one and on two workers of a Dask scheduler here, once they are ready."""
    from distributed import LocalCluster

    farm = Farm(Register(read_register(DEMO / "register.csv").animals))
    sounds = [(n, one) for n, one in enumerate(islice(remarks(blocks(DEMO / "session.flac")), 0, MOST, asked.every))]
    spoken_s = sum(sound.length_s for _, sound in sounds)
    found, clock = {}, {}
    for workers in (1, 2):
        how = {"n_workers": workers, "threads_per_worker": 1, "dashboard_address": None, "silence_logs": 50}
        with LocalCluster(**how) as cluster, ListeningCluster(farm.spoken, cluster.scheduler_address) as there:
            before, began = _processor_s(cluster), time.perf_counter()
            heard = list(there.in_order(sounds))
            clock[workers] = time.perf_counter() - began
            used = _processor_s(cluster) - before
            n = f"{len(heard)} remarks, {spoken_s:.0f} s of speech, {', '.join(there.names)}"
        found[f"rehear, workers: {workers}, clock in s for a minute of speech"] = Figure(
            60 * clock[workers] / spoken_s, n
        )
        found[f"rehear, workers: {workers}, processor in s for a minute of speech"] = Figure(60 * used / spoken_s, n)
    return {**found, "rehear, two workers quicker than one, times": Figure(clock[1] / clock[2], n)}


def _processor_s(cluster: Any) -> float:
    """Processor time of all workers up to now (Linux: user and system of /proc/PID/stat)."""
    ticks = 0
    for worker in cluster.workers.values():
        ticks += sum(map(int, Path(f"/proc/{worker.pid}/stat").read_text().rpartition(")")[2].split()[11:13]))
    return ticks / os.sysconf("SC_CLK_TCK")

"""Memory and processor time of a process and all that it has started (Linux)."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path


def family(process: int) -> Iterator[int]:
    """The ids of a process, of those that it has started, and of theirs; none of one that has ended."""
    yield process
    for task in Path(f"/proc/{process}/task").glob("*/children"):
        try:
            young = task.read_text(encoding="ascii").split()
        except OSError:
            continue
        for child in map(int, young):
            yield from family(child)


def held_mb(process: int) -> float:
    """Memory of a process and its family in MB of 1024² bytes, shared pages by their share (Pss)."""
    return sum(map(_own_kb, family(process))) / 1024


def own_mb(process: int) -> float:
    """Memory that a single process has for itself: that is not of a file, so that no other program changes it."""
    return _kb(process, "Pss_Anon:") / 1024


def used_s(process: int) -> float:
    """Processor time that a process and its family have used, in seconds."""
    return sum(map(_own_ticks, family(process))) / os.sysconf("SC_CLK_TCK")


def _own_ticks(process: int) -> int:
    try:
        fields = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    except OSError:
        return 0
    return int(fields[11]) + int(fields[12])


def _own_kb(process: int) -> int:
    return _kb(process, "Pss:")


def _kb(process: int, field: str) -> int:
    try:
        lines = Path(f"/proc/{process}/smaps_rollup").read_text(encoding="ascii").splitlines()
    except OSError:
        return 0
    return sum(int(line.split()[1]) for line in lines if line.startswith(field))

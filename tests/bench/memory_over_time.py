"""How long a command takes, and what all its processes hold in memory meanwhile: `python memory_over_time.py COMMAND…`.

Linux only: shared pages count by their share (Pss of /proc/PID/smaps_rollup).
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import click

EVERY_S = 10


def held_kb(process: int) -> int:
    """Kilobytes of a process and those that it has started; 0 if it has ended."""
    folder = Path("/proc") / str(process)
    try:
        lines = (folder / "smaps_rollup").read_text().splitlines()
        young = (folder / "task" / str(process) / "children").read_text().split()
    except OSError:
        return 0
    own = sum(int(line.split()[1]) for line in lines if line.startswith("Pss:"))
    return own + sum(held_kb(int(one)) for one in young)


def main() -> None:
    began = time.monotonic()
    program = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL)
    while program.poll() is None:
        click.echo(f"{time.monotonic() - began:6.0f} s  {held_kb(program.pid) // 1024:6d} MB")
        time.sleep(EVERY_S)
    click.echo(f"{time.monotonic() - began:6.0f} s  ended with status {program.returncode}")


if __name__ == "__main__":
    main()

"""How long a command takes, and what all its processes hold in memory meanwhile: `python memory_over_time.py COMMAND…`.

Linux only: shared pages count by their share (Pss of /proc/PID/smaps_rollup).
"""

from __future__ import annotations

import subprocess
import sys
import time

import click
from processes import held_mb

EVERY_S = 10


def main() -> None:
    began = time.monotonic()
    program = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL)
    while program.poll() is None:
        click.echo(f"{time.monotonic() - began:6.0f} s  {held_mb(program.pid):6.0f} MB")
        time.sleep(EVERY_S)
    click.echo(f"{time.monotonic() - began:6.0f} s  ended with status {program.returncode}")


if __name__ == "__main__":
    main()

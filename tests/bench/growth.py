"""A program that measures how something grows: each size in a process of its own, one JSON line a size, and a plot."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click

Rows = Sequence[dict[str, Any]]


def main(
    about: str | None,
    sizes: Sequence[int],
    measured: Callable[[int], dict[str, Any]],
    plot: Callable[[Rows, Path], None],
) -> None:
    """Appends one JSON line a size to a file, then plots all that is in it.

    Args:
        about: what `--help` says.
        sizes: numbers of animals, if none are named.
        measured: the figures of one size.
        plot: draws figures, by size, into a file.
    """
    options = argparse.ArgumentParser(description=about)
    options.add_argument("figures", type=Path)
    options.add_argument("--animals", type=int, nargs="*", default=sizes)
    options.add_argument("--one", type=int, help=argparse.SUPPRESS)
    options.add_argument("--plot", type=Path)
    asked = options.parse_args()
    if asked.one:
        click.echo(json.dumps(measured(asked.one)))
        return
    for n in asked.animals:
        command = [sys.executable, sys.argv[0], str(asked.figures), "--one", str(n)]
        line = subprocess.run(command, check=True, capture_output=True, text=True).stdout
        with asked.figures.open("a", encoding="utf-8") as file:
            file.write(line)
        click.echo(line, nl=False)
    if asked.plot:
        rows = [json.loads(line) for line in asked.figures.read_text(encoding="utf-8").splitlines()]
        plot(sorted(rows, key=lambda row: row["animals"]), asked.plot)

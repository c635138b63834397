"""Measures, keeps the figures, and writes them beside their targets into docs/measurements.md.

python tests/bench [MEASURE …] [--folder FOLDER] [--every N] [--db LEVEL …] [--kept FILE]

Without a measure only the document is written again. A folder of recordings goes with one measure at a time: `farm`,
`sampled`, `unseen` and `chatty` with one that tests/make_farm_remarks.py made, `talk` with one of
tests/make_other_talk.py, `asides` with one of tests/make_asides.py, `coffee` with the development split of open human
commands, `baselines` with that or the first. With --kept what was heard is heard once, and times are not taken.
"""

from __future__ import annotations

import argparse
import json
import platform
import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from os import cpu_count
from pathlib import Path
from typing import Any

from asked import Asked
from measures import MEASURES
from targets import TARGETS

HERE = Path(__file__).parent
RESULTS = HERE / "results.json"
DOCUMENT = HERE.parent.parent / "docs" / "measurements.md"
BEGIN, END = "<!-- figures: python tests/bench -->", "<!-- end of figures -->"

Results = dict[str, dict[str, Any]]


def kept() -> Results:
    """The figures that were measured last, by key."""
    return json.loads(RESULTS.read_text(encoding="utf-8")) if RESULTS.exists() else {}


def measured(name: str, asked: Asked) -> Results:
    """The figures of one measure, each with how it came about."""
    shown = " ".join([name, *(["--folder", "FOLDER"] if asked.folder else [])])
    shown += f" --every {asked.every}" if asked.every > 1 else ""
    shown += "".join([" --db", *(f" {level:g}" for level in asked.levels_db)]) if asked.levels_db else ""
    shown += " --kept FILE" if asked.kept else ""
    how = {
        "command": f"python tests/bench {shown}",
        "day": datetime.now(UTC).date().isoformat(),
        "machine": f"{cpu_count()} cores {platform.machine()}",
    }
    return {key: {"value": round(one.value, 4), "n": one.n, **how} for key, one in MEASURES[name](asked).items()}


def written(results: Results) -> str:
    """The table of targets with the figures beside them, then the other figures."""
    lines = [
        "| what | target | measured | met | of | command | day, machine |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for target in TARGETS:
        one = results.get(target.key)
        if one is None:
            lines.append(f"| {target.what} | {target.text} | not yet | | | | |")
        else:
            met = "yes" if target.is_met(one["value"]) else "**no**"
            lines.append(f"| {target.what} | {target.text} | {one['value']:.4g} {target.unit} | {met} | {_how(one)} |")
    others = {key: one for key, one in results.items() if key not in {target.key for target in TARGETS}}
    if others:
        lines += ["", "| figure | measured | of | command | day, machine |", "| --- | --- | --- | --- | --- |"]
        lines += [f"| {key} | {one['value']:.4g} | {_how(one)} |" for key, one in others.items()]
    return "\n".join(lines)


def _how(one: Mapping[str, Any]) -> str:
    return f"{one['n']} | `{one['command']}` | {one['day']}, {one['machine']}"


def document(results: Results, before: str) -> str:
    """The document with its figures brought up to date; what stands around them stays."""
    head, _, rest = before.partition(BEGIN)
    _, _, tail = rest.partition(END)
    return f"{head}{BEGIN}\n{written(results)}\n{END}{tail}"


def main() -> None:
    """Measures what is asked for, and writes."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("measures", nargs="*", choices=[*MEASURES, []], metavar="MEASURE", help=", ".join(MEASURES))
    options.add_argument("--folder", type=Path, help="recordings")
    options.add_argument("--every", type=int, default=1, metavar="N", help="only each N-th recording")
    options.add_argument("--db", type=float, nargs="+", default=[], metavar="LEVEL", help="above the noise, in dB")
    options.add_argument("--kept", type=Path, metavar="FILE", help="what was heard is kept here, and not heard again")
    given = options.parse_args()
    for name in given.measures:
        figures = measured(name, Asked(given.folder, given.every, tuple(given.db), given.kept))
        # Read again: another measure may have ended while this one ran.
        RESULTS.write_text(json.dumps(kept() | figures, indent=1) + "\n", encoding="utf-8")
        for key, one in figures.items():
            sys.stdout.write(f"{key}: {one['value']:.4g} ({one['n']})\n")
    DOCUMENT.write_text(document(kept(), DOCUMENT.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()

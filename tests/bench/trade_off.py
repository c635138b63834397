"""Draws how many remarks are accepted against how many of those are wrong, as the limit of acceptance moves.

    python tests/bench/trade_off.py docs/trade_off.svg --run LABEL MANIFEST KNOWN NOISE SNR [--run …] [--kept FILE]

KNOWN is a grammar (.jsgf, for slots) or a register (.csv, for remarks); NOISE is a recording, "barn" for the noise that
the measures of remarks use, or "-" for none. Each run is heard once, or taken from what the measures kept; then the
verdicts are formed anew for each limit. Crosses show what a single listener would do that is
believed in all it hears. Needs the extra `bench`.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from asked import bench_barn
from kept_hearings import keeping

from assistant.hearing.agreement import Limits, verdict
from assistant.measuring import manifest as listing
from assistant.measuring.examining import farm_examiner, slot_examiner
from assistant.records.held_register import read_register
from assistant.sound.recording import read
from assistant.values import Decision, Hearing, Sound, Verdict

IN_USE = Limits().least_lead
LEADS = sorted({0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 8.0, 10.0, np.inf, IN_USE})
MARKS = ("o", "s", "^", "D", "v", "P")


@dataclass(frozen=True)
class Heard:
    """One case: what every listener heard, and which words have the meaning that was expected."""

    verdict: Verdict
    meaning_of: Callable[[str], Hashable | None]
    expected: Hashable


@dataclass(frozen=True)
class Point:
    """Shares of the cases in percent; `label` is a limit or a listener."""

    label: str
    accepted: float
    wrong: float


def heard(manifest: Path, known: Path, noise: str, snr_db: float, every: int, kept: Path | None) -> list[Heard]:
    """The cases of a manifest, or one in so many, as the listeners of the program hear them."""
    wanted = listing.cases(manifest)[::every]
    examiner = slot_examiner(known) if known.suffix == ".jsgf" else farm_examiner(read_register(known).animals)
    if kept:
        examiner = keeping(examiner, kept)
    return [
        Heard(examiner.judge(examiner.cut(sound)), examiner.meaning_of, examiner.key(case.kind, case.expected))
        for case, sound in listing.sounds(manifest, wanted, _noise(noise), snr_db)
    ]


def _noise(which: str) -> Sound | None:
    return None if which == "-" else bench_barn() if which == "barn" else read(Path(which))


def curve(cases: Sequence[Heard]) -> list[Point]:
    """A point for each limit."""
    return [_point(f"{lead:g}", [_accepted(case, lead) for case in cases]) for lead in LEADS]


def _accepted(case: Heard, lead: float) -> bool | None:
    """Whether what is accepted is right; None if nothing is."""
    again = verdict(case.verdict.hearings, case.meaning_of, limits=Limits(least_lead=lead))
    return case.meaning_of(again.choices[0]) == case.expected if again.decision is Decision.ACCEPTED else None


def alone(cases: Sequence[Heard]) -> list[Point]:
    """A point for each listener that is believed in everything."""
    names = [hearing.listener for hearing in cases[0].verdict.hearings]
    return [_point(name, [_best(case, case.verdict.hearings[at]) for case in cases]) for at, name in enumerate(names)]


def _best(case: Heard, hearing: Hearing) -> bool | None:
    return case.meaning_of(hearing.readings[0].text) == case.expected if hearing.readings else None


def _point(label: str, outcomes: Sequence[bool | None]) -> Point:
    accepted = [is_right for is_right in outcomes if is_right is not None]
    return Point(label, 100 * len(accepted) / len(outcomes), 100 * accepted.count(False) / len(outcomes))


def draw(runs: dict[str, list[Heard]], out: Path) -> None:
    """The plot, as SVG."""
    import matplotlib as mpl

    mpl.use("Agg")
    mpl.rcParams["svg.hashsalt"] = "trade-off"
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(figsize=(8, 5), layout="constrained")
    for at, (label, cases) in enumerate(runs.items()):
        points = curve(cases)
        (line,) = axes.plot([p.accepted for p in points], [p.wrong for p in points], marker="", label=label)
        [here] = [p for p in points if p.label == f"{IN_USE:g}"]
        axes.plot(here.accepted, here.wrong, marker=MARKS[at % len(MARKS)], color=line.get_color(), markersize=8)
        for single in alone(cases):
            axes.plot(single.accepted, single.wrong, marker="x", color=line.get_color(), linestyle="")
            axes.annotate(single.label, (single.accepted, single.wrong), fontsize=6, ha="right", va="bottom")
    axes.set_xlabel("accepted without a question, % of remarks")
    axes.set_ylabel("accepted and wrong, % of remarks")
    axes.set_yscale("symlog", linthresh=1.0)
    axes.set_ylim(bottom=-0.05)
    axes.set_title("Lines: limit from none to all must agree; marks: the limit in use; crosses: one listener alone")
    axes.title.set_fontsize(9)
    axes.grid(alpha=0.3)
    axes.legend()
    figure.savefig(out, metadata={"Date": None})


def main() -> None:
    parser = argparse.ArgumentParser(description="Draw accepted remarks against wrong ones.")
    parser.add_argument("out", type=Path, help="SVG file to write")
    parser.add_argument("--every", type=int, default=1, help="hear one case in so many (all)")
    parser.add_argument("--kept", type=Path, metavar="FILE", help="what was heard is kept here, and not heard again")
    parser.add_argument(
        "--run", nargs=5, action="append", required=True, metavar=("LABEL", "MANIFEST", "KNOWN", "NOISE", "SNR")
    )
    arguments = parser.parse_args()
    runs = {}
    for label, manifest, known, noise, snr_db in arguments.run:
        runs[label] = heard(Path(manifest), Path(known), noise, float(snr_db), arguments.every, arguments.kept)
        table = [[p.label, round(p.accepted, 1), round(p.wrong, 2)] for p in (*curve(runs[label]), *alone(runs[label]))]
        sys.stdout.write(f"{label} {json.dumps(table)}\n")
    draw(runs, arguments.out)


if __name__ == "__main__":
    main()

"""What a measure is asked for, and what it gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from kept_hearings import keeping

from assistant.measuring import manifest as listing
from assistant.measuring.evaluate import Examiner, Score, evaluate
from assistant.sound.barn import barn_noise
from assistant.values import Sound

ROOT = Path(__file__).parent.parent.parent
DEMO = ROOT / "demo_audio"


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
        levels_db: how far above the noise the recordings are, where it is not what the measure takes by itself; inf
            for no noise.
        kept: the file that what the listeners heard is kept in, and taken from where it is there already.
    """

    folder: Path | None = None
    every: int = 1
    levels_db: tuple[float, ...] = ()
    kept: Path | None = None


def bench_barn() -> Sound:
    """The barn noise that remarks are heard in, the same each time."""
    return barn_noise(120.0, np.random.default_rng(5))


def needed(asked: Asked) -> Path:
    """The folder with recordings; without one the program ends with a sentence."""
    if asked.folder is None:
        raise SystemExit("This measure needs recordings: --folder")
    return asked.folder


def score(asked: Asked, examiner: Examiner, noise: Sound | None, snr_db: float) -> Score:
    """How an examiner hears the recordings of the folder, in noise if there is some."""
    manifest = needed(asked) / "manifest.jsonl"
    cases = listing.cases(manifest)[:: asked.every]
    if asked.kept:
        examiner = keeping(examiner, asked.kept)
    return evaluate(listing.sounds(manifest, cases, noise, snr_db), examiner)


def percent(count: int, n: int) -> Figure:
    """A share with the counts that it comes from."""
    return Figure(100 * count / n if n else 0.0, f"{count} of {n}")

"""Lists of recordings with known meanings: JSON lines that `assistant evaluate` reads."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from assistant.errors import BadManifest
from assistant.measuring.evaluate import KINDS, Case
from assistant.sound.noise import mixed
from assistant.sound.recording import read
from assistant.values import Sound

_FORMS: Mapping[str, Callable[[Any], bool]] = {
    "slots": lambda value: isinstance(value, dict) and not any(isinstance(one, list | dict) for one in value.values()),
    "expect": lambda value: isinstance(value, list) and all(isinstance(one, dict) for one in value),
    "words": lambda value: isinstance(value, str),
    "animal": lambda value: isinstance(value, str),
}
"""What each kind of expectation has to be."""


def cases(manifest: Path) -> tuple[Case, ...]:
    """The lines of a manifest.

    Raises:
        BadManifest: it cannot be read, or a line is not an object with `audio` and one of the kinds of expectation.
    """
    try:
        lines = manifest.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise BadManifest(f"{manifest} cannot be read ({error}); give a text file of JSON lines.") from error
    found = tuple(_case(manifest, number, line) for number, line in enumerate(lines, 1) if line.strip())
    if not found:
        raise BadManifest(f"{manifest} has no line; give one JSON object a line.")
    return found


def _case(manifest: Path, number: int, line: str) -> Case:
    try:
        flat = json.loads(line)
    except (json.JSONDecodeError, RecursionError) as error:
        raise BadManifest(f"{manifest}:{number}: not JSON ({error}); one object a line.") from error
    kinds = [kind for kind in KINDS if isinstance(flat, dict) and kind in flat]
    if not kinds or not isinstance(flat.get("audio"), str):
        raise BadManifest(f"{manifest}:{number}: needs `audio` and one of {', '.join(KINDS)}.")
    kind = kinds[0]
    value = str(flat[kind]) if kind == "animal" and isinstance(flat[kind], int) else flat[kind]
    if not _FORMS[kind](value):
        raise BadManifest(f"{manifest}:{number}: {kind} is {value!r}, which is not of the right form.")
    return Case(flat["audio"], kind, value)


def sounds(
    manifest: Path, wanted: tuple[Case, ...], noise: Sound | None, snr_db: float
) -> Iterator[tuple[Case, Sound]]:
    """Each case with its sound, in noise if one is given; the noise's offsets come from a fixed seed."""
    rng = np.random.default_rng(0)
    for case in wanted:
        sound = read(manifest.parent / case.audio)
        yield case, mixed(sound, noise, snr_db, rng) if noise is not None else sound

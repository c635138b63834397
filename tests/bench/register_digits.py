"""Digits of real people, joined to the numbers of animals: who is found, in registers of several sizes.

Run by hand: python tests/bench/register_digits.py FOLDER [--animals 40 400 4000] [--numbers 20] [--rule mention]

FOLDER has `manifest.jsonl` with lines such as {"audio": "0_jackson_0.wav", "digit": "0", "speaker": "jackson"}, as the
Free Spoken Digit Dataset (Jakobovski, CC BY-SA 4.0) can be laid out.
"""

from __future__ import annotations

import argparse
import json
import random
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path

import click
import numpy as np
import soundfile
import soxr

from assistant.listening.ears import Ears
from assistant.live.farm import Farm
from assistant.register.mention import Matched
from assistant.register.register import Register
from assistant.sound.endpoint import trimmed
from assistant.values import Animal, Decision, Sound

RATE_HZ = 16_000
GAP_S, PAD_S, NOISE, PEAK = 0.08, 0.3, 1e-3, 0.3

Clips = dict[tuple[str, str], list[Path]]


def clips(folder: Path) -> Clips:
    """(speaker, digit) → recordings."""
    found: Clips = defaultdict(list)
    for line in (folder / "manifest.jsonl").read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        found[row["speaker"], row["digit"]].append(folder / row["audio"])
    return found


def spoken(number: str, speaker: str, recordings: Clips, rng: random.Random) -> Sound:
    """The digits of a number one after the other, with faint noise, at one level for all speakers."""
    pad, gap = np.zeros(int(PAD_S * RATE_HZ)), np.zeros(int(GAP_S * RATE_HZ))
    pieces = [pad]
    for digit in number:
        samples, rate = soundfile.read(rng.choice(recordings[speaker, digit]))
        pieces += [soxr.resample(samples, rate, RATE_HZ), gap]
    joined = np.concatenate([*pieces, pad])
    noise = np.random.default_rng(rng.randrange(2**32)).normal(0, NOISE, len(joined))
    return Sound((joined / np.abs(joined).max() * PEAK + noise).astype(np.float32), RATE_HZ)


def herd(n: int, rng: random.Random) -> list[Animal]:
    """Animals with numbers of three digits, of four where three do not suffice."""
    span = range(100, 1000) if n <= 900 else range(1000, 10_000)
    return [Animal(f"a{at}", number=str(number)) for at, number in enumerate(rng.sample(span, n))]


def outcome(farm: Farm, ears: Ears, sound: Sound, wanted: str) -> Iterator[str]:
    """Which of the things that are counted are true of one recording."""
    interpreter = farm.interpreter
    verdict = ears.judge(trimmed(sound), interpreter.key)
    offered: list[str] = []
    decisions = []
    for words in verdict.choices:
        said = next((p.flat()["animal"] for p in interpreter.heard(words).parts if p.flat().get("animal")), "")
        if said:
            match = interpreter.match(said)
            decisions.append(match.decision)
            offered += [item.animal.id for item in match.candidates]
    ranked = list(dict.fromkeys(offered))
    is_taken = verdict.decision is Decision.ACCEPTED and decisions[:1] == [Matched.ONE]
    yield "said"
    if ranked[:1] == [wanted]:
        yield "right first"
    if wanted in ranked[:3]:
        yield "in the first three"
    if is_taken:
        yield "taken, right" if ranked[0] == wanted else "wrong silently"
    else:
        yield "asked" if ranked else "not heard"


def main() -> None:
    """Prints one line of a table for each register and speaker."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("folder", type=Path)
    options.add_argument("--animals", type=int, nargs="+", default=[40, 400, 4000])
    options.add_argument("--numbers", type=int, default=20)
    options.add_argument("--rule", default="mention", choices=["mention", "remark"])
    options.add_argument("--listeners", nargs="+")
    asked = options.parse_args()
    recordings = clips(asked.folder)
    columns = ("right first", "in the first three", "taken, right", "asked", "not heard", "wrong silently")
    click.echo(f"| animals | speaker | said | {' | '.join(columns)} |")
    for n in asked.animals:
        rng = random.Random(n)
        animals = herd(n, rng)
        farm = Farm(Register(animals))
        ears = farm.ears(asked.listeners, asked.rule)
        for speaker in sorted({speaker for speaker, _ in recordings}):
            counts: Counter[str] = Counter()
            for animal in rng.sample(animals, min(asked.numbers, n)):
                sound = spoken(animal.number, speaker, recordings, rng)
                counts.update(outcome(farm, ears, sound, animal.id))
            figures = " | ".join(str(counts[column]) for column in columns)
            click.echo(f"| {n} | {speaker} | {counts['said']} | {figures} |")
        click.echo(f"listeners: {', '.join(ears.names)}", err=True)


if __name__ == "__main__":
    main()

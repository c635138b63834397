"""Makes recordings of what is said to the animal or a helper: `python tests/make_asides.py FOLDER REMARKS`.

Writes three folders with a `manifest.jsonl` each: `known` and `unseen` hold the asides of other_talk.py in several
synthetic voices, each expected to mean nothing; `one_breath` every third remark of REMARKS, a folder that
tests/make_farm_remarks.py made, said anew with an aside before or after it and a quarter of a second between.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf
from make_farm_remarks import with_silence
from other_talk import ASIDES_UNSEEN, TO_THE_ANIMAL
from synthetic_voices import RATE_HZ, VOICES, speak

from assistant.values import Sound

ALSO_FOR_THE_RECORD = ("off you go", "all right", "okay", "right")
"""The same words are an order or a finding: what comes of them is no mistake."""

BETWEEN_S = 0.25
"""Between a remark and an aside; a longer pause would end the remark."""

Clip = tuple[Sound, dict[str, Any]]


def main() -> None:
    parser = argparse.ArgumentParser(description="Make recordings of what is said to the animal or a helper.")
    parser.add_argument("folder", type=Path, help="where to write; made if it is not there")
    parser.add_argument("remarks", type=Path, help="a folder that tests/make_farm_remarks.py made")
    arguments = parser.parse_args()
    known = [one for one in TO_THE_ANIMAL if one not in ALSO_FOR_THE_RECORD]
    made = {
        "known": asides(known, turns=4, seed=12),
        "unseen": asides(ASIDES_UNSEEN, turns=3, seed=13),
        "one_breath": one_breath(arguments.remarks, [one for one in known if " " in one], seed=14),
    }
    for name, clips in made.items():
        sys.stdout.write(f"{name}: {_write(arguments.folder / name, clips)} recordings\n")
    shutil.copy(arguments.remarks / "register.csv", arguments.folder / "one_breath")


def asides(said: Sequence[str], turns: int, seed: int) -> Iterator[Clip]:
    """Each said so many times, in other voices."""
    rng, voices = np.random.default_rng(seed), list(VOICES)
    for turn in range(turns):
        for at, words in enumerate(said):
            voice = voices[(at + 2 * turn) % len(voices)]
            sound = with_silence(speak(voice, words, float(rng.uniform(0.95, 1.1))), rng)
            yield sound, {"expect": [], "voice": voice, "said": words}


def one_breath(remarks: Path, said: Sequence[str], seed: int) -> Iterator[Clip]:
    """Remarks with an aside after the first, before the second, and so on."""
    rng, chance = np.random.default_rng(seed), random.Random(seed)
    lines = [json.loads(line) for line in (remarks / "manifest.jsonl").read_text(encoding="utf-8").splitlines()]
    for at, line in enumerate(lines[::3]):
        aside = chance.choice(said)
        order = [line["words"], aside] if at % 2 == 0 else [aside, line["words"]]
        first, second = (speak(line["voice"], words) for words in order)
        samples = np.concatenate([first, np.zeros(round(BETWEEN_S * RATE_HZ), np.float32), second])
        yield with_silence(samples, rng), {"expect": line["expect"], "voice": line["voice"], "said": ", ".join(order)}


def _write(folder: Path, clips: Iterator[Clip]) -> int:
    folder.mkdir(parents=True, exist_ok=True)
    lines = []
    for at, (sound, line) in enumerate(clips):
        name = f"{at:04}_{line['voice']}.flac"
        sf.write(folder / name, sound.samples, sound.rate_hz, subtype="PCM_16")
        lines.append(json.dumps({"audio": name, **line}))
    (folder / "manifest.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return len(lines)


if __name__ == "__main__":
    main()

"""Makes demo_audio/ again from the table in demo_script.py: `python tests/make_demo.py`.

With the voices of demo_audio/README.md the result is the same every time.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile as sf
from demo_script import LINES, REGISTER, Line
from numpy.typing import NDArray
from synthetic_voices import RATE_HZ, speak

from assistant.sound.barn import barn_noise
from assistant.sound.noise import mixed
from assistant.values import Sound

FOLDER = Path(__file__).parent.parent / "demo_audio"
SEED = 20
SNR_DB = 15.0
ROOM_LEVEL = 10 ** (-77 / 20)
"""Noise of a quiet shed, below full scale."""
GAPS_S = (1.3, 1.9)
"""Shortest and longest silence between two remarks; a new animal takes longer."""
CATCHING_S = 2.5
LOUDEST = 0.14
"""Peak of the quiet session: room for a shout, and fewer bits to store."""
NOISY_SHARE = 0.12
"""Of the mixture's level: what is noise does not compress, so it is kept small."""


def words_of(say: str) -> str:
    """A line as words only: lower case, no punctuation but apostrophes inside words."""
    return " ".join(re.findall(r"[a-z']+", say.lower()))


def laid_out(rng: np.random.Generator) -> Iterator[tuple[Line, NDArray[np.float32], float]]:
    """Each line with its sound and the moment at which it begins, in seconds."""
    at_s, before = 0.0, LINES[0]
    for line in LINES:
        is_new = line.table != before.table and line.table is not None
        at_s = round(at_s + (CATCHING_S if is_new else float(rng.uniform(*GAPS_S))), 2)
        samples = speak(line.voice, line.say) * rng.uniform(0.7, 1.0)
        yield line, samples, at_s
        at_s += len(samples) / RATE_HZ
        before = line


def main() -> None:
    """Writes the register, the script and the two recordings."""
    rng = np.random.default_rng(SEED)
    placed = list(laid_out(rng))
    _, last, last_s = placed[-1]
    length = round((last_s + 2.0) * RATE_HZ) + len(last)
    quiet = room(length, rng)
    script = []
    for line, samples, at_s in placed:
        start = round(at_s * RATE_HZ)
        quiet[start : start + len(samples)] += LOUDEST / 0.5 * samples
        times = {"start_s": at_s, "end_s": round(at_s + len(samples) / RATE_HZ, 2)}
        said = {"voice": line.voice, "words": words_of(line.say), "animal": line.table, "expect": line.expect}
        script.append(json.dumps(times | said, ensure_ascii=False))
    session = Sound(quiet, RATE_HZ)
    noisy = mixed(session, barn_noise(session.length_s, rng), SNR_DB, rng)
    FOLDER.mkdir(exist_ok=True)
    (FOLDER / "register.csv").write_text(REGISTER, encoding="utf-8")
    (FOLDER / "script.jsonl").write_text("\n".join(script) + "\n", encoding="utf-8")
    write(FOLDER / "session.flac", session.samples)
    write(FOLDER / "session_noisy.flac", noisy.samples * NOISY_SHARE)
    sys.stdout.write(f"{len(script)} remarks in {session.length_s:.0f} s\n")


def room(length: int, rng: np.random.Generator) -> NDArray[np.float32]:
    """A quiet shed: faint hiss and, far off, some shuffling."""
    hiss = rng.normal(0, ROOM_LEVEL, length).astype(np.float32)
    shuffling = barn_noise(length / RATE_HZ, rng, sources={"hooves": 0.0}).samples
    return hiss + 0.006 * shuffling[:length]


def write(path: Path, samples: NDArray[np.float32]) -> None:
    """FLAC at the strongest compression: the folder is part of the install."""
    sf.write(path, samples, RATE_HZ, subtype="PCM_16", compression_level=1.0)


if __name__ == "__main__":
    main()

"""Makes development recordings of farm remarks: `python tests/make_farm_remarks.py FOLDER [--count 350]`.

Every sentence of farm_sentences.py is said, each time by another synthetic voice and at another speed, until the count
is reached. With `--sampled` remarks are made up from the tables of vocabulary_forms.py instead, with `--chatty FILE`
those of a file such as tests/chatty_remarks.jsonl are said; with `--unseen` the voices are those that nothing was tuned
on. Writes FLAC files, `manifest.jsonl` (audio, expect, words, voice) and `register.csv`. The same count and seed give
the same remarks. For the voices see demo_audio/README.md, and espeak-ng, flite and (unseen) festival as commands.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import soundfile as sf
from farm_sentences import SENTENCES, register
from make_demo import words_of
from meaning_table import Flats
from numpy.typing import NDArray
from remark_sampler import Remark, remarks
from synthetic_voices import RATE_HZ, UNSEEN, VOICES, speak

from assistant.values import Sound

SPEEDS = (0.9, 1.15)
SILENCE_S = 0.4
"""Before and after each remark, with faint noise: recognisers behave oddly in digital silence."""


def planned(
    sentences: Sequence[Remark], voices: Sequence[str], count: int, rng: np.random.Generator
) -> Iterator[tuple[str, Flats, str]]:
    """Sentence, meaning and voice, such that no sentence comes twice in the same voice before all voices had it."""
    order = rng.permutation(len(sentences))
    for i in range(count):
        turn, at = divmod(i, len(order))
        words, expect = sentences[order[at]]
        yield words, expect, voices[(at + turn) % len(voices)]


def with_silence(samples: NDArray[np.float32], rng: np.random.Generator) -> Sound:
    pad = round(SILENCE_S * RATE_HZ)
    padded = np.pad(samples, pad) + rng.normal(0, 0.0005, len(samples) + 2 * pad)
    return Sound(padded.astype(np.float32), RATE_HZ)


def main() -> None:
    parser = argparse.ArgumentParser(description="Make development recordings of farm remarks.")
    parser.add_argument("folder", type=Path, help="where to write; made if it is not there")
    parser.add_argument("--count", type=int, default=350, help="how many recordings (350)")
    parser.add_argument("--seed", type=int, default=7, help="another gives other voices and speeds (7)")
    parser.add_argument("--sampled", action="store_true", help="remarks made up by chance from the vocabulary")
    parser.add_argument("--chatty", type=Path, metavar="FILE", help="freely worded remarks, one object a line")
    parser.add_argument("--unseen", action="store_true", help="by voices that nothing was tuned on")
    arguments = parser.parse_args()
    folder: Path = arguments.folder
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(arguments.seed)
    sentences = list(remarks(arguments.count, arguments.seed)) if arguments.sampled else SENTENCES
    if arguments.chatty:
        lines = map(json.loads, arguments.chatty.read_text(encoding="utf-8").splitlines())
        sentences = [(line["words"], line["expect"]) for line in lines]
    voices, listed = list(UNSEEN if arguments.unseen else VOICES), []
    for i, (say, expect, voice) in enumerate(planned(sentences, voices, arguments.count, rng)):
        name = f"{i:04}_{voice}.flac"
        sound = with_silence(speak(voice, say, float(rng.uniform(*SPEEDS))), rng)
        sf.write(folder / name, sound.samples, sound.rate_hz, subtype="PCM_16")
        listed.append(json.dumps({"audio": name, "expect": expect, "words": words_of(say), "voice": voice}))
    (folder / "manifest.jsonl").write_text("\n".join(listed) + "\n", encoding="utf-8")
    (folder / "register.csv").write_text(register(), encoding="utf-8")
    sys.stdout.write(f"{len(listed)} recordings of {len(sentences)} sentences in {len(voices)} voices\n")


if __name__ == "__main__":
    main()

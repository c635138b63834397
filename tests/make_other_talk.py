"""Makes recordings of talk that is no remark: `python tests/make_other_talk.py FOLDER [--minutes 30]`.

Every sentence of other_talk.py is said in one synthetic voice after the other until the time is reached. Writes FLAC
files and a `manifest.jsonl` in which each is expected to mean nothing (`"expect": []`). Voices: see
demo_audio/README.md, and espeak-ng and flite as commands.
"""

from __future__ import annotations

import argparse
import json
import sys
from itertools import count
from pathlib import Path

import numpy as np
import soundfile as sf
from make_farm_remarks import with_silence
from other_talk import TALK
from synthetic_voices import VOICES, speak


def main() -> None:
    parser = argparse.ArgumentParser(description="Make recordings of talk that is no remark.")
    parser.add_argument("folder", type=Path, help="where to write; made if it is not there")
    parser.add_argument("--minutes", type=float, default=30.0, help="how much in all (30)")
    arguments = parser.parse_args()
    folder: Path = arguments.folder
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(11)
    voices, lines, length_s = list(VOICES), [], 0.0
    for i in count():
        if length_s > 60 * arguments.minutes:
            break
        turn, at = divmod(i, len(TALK))
        voice = voices[(at + turn) % len(voices)]
        sound = with_silence(speak(voice, TALK[at], float(rng.uniform(0.95, 1.1))), rng)
        name = f"{i:04}_{voice}.flac"
        sf.write(folder / name, sound.samples, sound.rate_hz, subtype="PCM_16")
        lines.append(json.dumps({"audio": name, "expect": [], "voice": voice, "said": TALK[at]}))
        length_s += sound.length_s
    (folder / "manifest.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
    sys.stdout.write(f"{len(lines)} recordings, {length_s / 60:.1f} minutes, in {len(voices)} voices\n")


if __name__ == "__main__":
    main()

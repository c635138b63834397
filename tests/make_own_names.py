"""Makes recordings of an invented keeper's own ways: `tests/own_names` and `tests/own_words`.

Bryony is "bree-OH-nee" there, and scald "skayld".

    python tests/make_own_names.py

Needs espeak-ng (1.52 made those in the folder). The other remarks are said as anybody would.
"""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import numpy as np
import soundfile
import soxr

HERE = Path(__file__).parent
RATE_HZ, PAD_S, HISS, PEAK = 16_000, 0.2, 0.002, 0.3
OWN_WAY = "[[bri:'oUni]]"
REMARKS = {
    **{f"own_names/bryony_{n}": (OWN_WAY, 135 + 5 * n, 40 + 3 * n) for n in range(6)},
    "own_names/next_is_yarrow": ("next is yarrow", 150, 45),
    "own_names/left_hind_crack": ("left hind crack", 145, 50),
    **{f"own_words/scald_{n}": ("left hind [[sk'eIld]]", 135 + 5 * n, 40 + 3 * n) for n in range(6)},
}
"""Name of the file → what eSpeak is given, words a minute, pitch."""


def spoken(text: str, words_a_minute: int, pitch: int) -> np.ndarray:
    """One remark with a little hiss."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "said.wav"
        how = ["-v", "en-gb", "-s", str(words_a_minute), "-p", str(pitch), "-w", str(file)]
        subprocess.run(["espeak-ng", *how, text], check=True)
        samples, rate = soundfile.read(file)
    samples = soxr.resample(samples, rate, RATE_HZ)
    pad = np.zeros(round(PAD_S * RATE_HZ))
    joined = np.concatenate([pad, samples / np.abs(samples).max() * PEAK, pad])
    return joined + np.random.default_rng(words_a_minute).normal(0, HISS, len(joined))


def main() -> None:
    """Writes every recording."""
    for name, said in REMARKS.items():
        (HERE / name).parent.mkdir(exist_ok=True)
        soundfile.write(HERE / f"{name}.flac", spoken(*said), RATE_HZ, subtype="PCM_16")


if __name__ == "__main__":
    main()

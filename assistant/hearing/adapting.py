"""Adapts PocketSphinx's acoustic model to a voice and a place: maximum likelihood linear regression of its means.

In each stream of features one transform, the same for all sounds, brings the means nearest to what was heard. It has
few numbers, so that a few remarks are enough, and sounds that did not occur in them are moved with the others.

Source:
    C. J. Leggetter and P. C. Woodland, Maximum likelihood linear regression for speaker adaptation of continuous
    density hidden Markov models, Computer Speech & Language 9, 1995.
"""

from __future__ import annotations

import struct
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.hearing import clearing
from assistant.hearing.acoustic_model import CEPSTRA, STREAMS, AcousticModel, Array, features
from assistant.hearing.conditioning import conditioned
from assistant.hearing.pocketsphinx_listener import (
    MOST_CLEARED_DB,
    SETTINGS,
    dictionary_of,
    model_folder,
    new_decoder,
    pcm16,
)
from assistant.hearing.pronunciation import Lexicon
from assistant.values import Sound

TURNS = 3
"""After so many the transform hardly changes."""
LEAST_S = 15.0
"""Speech that a transform is made from; with less it would learn single words by heart."""

Said = tuple[Sound, str]
"""A remark, 16 kHz mono, and the words that were said in it."""


@dataclass(frozen=True)
class Voice:
    """How the means of the model are changed.

    Attributes:
        matrices: shape (3, 13, 13), one for each stream.
        offsets: shape (3, 13), added after it.
    """

    matrices: Array
    offsets: Array

    @property
    def text(self) -> str:
        """The file that PocketSphinx's setting `mllr` takes; the variances stay as they are."""
        lines = ["1", str(STREAMS)]
        for matrix, offset in zip(self.matrices, self.offsets, strict=True):
            lines += [str(CEPSTRA), *(_numbers(row) for row in matrix), _numbers(offset), _numbers(np.ones(CEPSTRA))]
        return "\n".join(lines) + "\n"

    def of(self, model: AcousticModel) -> Array:
        """The means of a model as they are with it, shape (phones, streams, distributions, cepstra)."""
        means: Array = np.einsum("sij,psdj->psdi", self.matrices, model.means) + self.offsets[:, None]
        return means


NOBODYS = Voice(np.tile(np.eye(CEPSTRA), (STREAMS, 1, 1)), np.zeros((STREAMS, CEPSTRA)))
"""Changes nothing."""


def _numbers(row: Array) -> str:
    return " ".join(f"{value:.6f}" for value in row)


def learnt_voice(said: Sequence[Said], lexicon: Lexicon) -> Voice | None:
    """The transform under which what was said is likeliest; None if less than `LEAST_S` can be followed.

    Args:
        said: remarks with their words; one whose words do not fit its sound is left out.
        lexicon: how the words sound.

    Raises:
        ListenerMissing: PocketSphinx or its model is not installed.
        UnknownWord: a word has no pronunciation.
    """
    model = AcousticModel.load(model_folder())
    frames: defaultdict[int, list[Array]] = defaultdict(list)
    for phone, piece in _followed(said, lexicon):
        if phone in model.phones:
            frames[model.phones.index(phone)].append(piece)
    heard = {phone: np.concatenate(pieces) for phone, pieces in frames.items()}
    return fitted(model, heard) if sum(map(len, heard.values())) >= 100 * LEAST_S else None


def fitted(model: AcousticModel, heard: Mapping[int, Array]) -> Voice:
    """The transform for what was heard.

    Args:
        model: its means are to be changed.
        heard: number of a sound → features of the frames in which it was said, shape (frames, 3, 13).
    """
    voice = NOBODYS
    for _ in range(TURNS):
        voice = _nearer(model, heard, voice.of(model))
    return voice


def _nearer(model: AcousticModel, heard: Mapping[int, Array], means: Array) -> Voice:
    """One turn: which distribution each frame is of, with the means as they are now, and the transform for that."""
    matrices, offsets = np.empty((STREAMS, CEPSTRA, CEPSTRA)), np.empty((STREAMS, CEPSTRA))
    for stream in range(STREAMS):
        # For row i of the transform, w: (sum of n/v * m m') w = sum of o/v * m, over the distributions m of all sounds.
        left, right = np.zeros((CEPSTRA, CEPSTRA + 1, CEPSTRA + 1)), np.zeros((CEPSTRA, CEPSTRA + 1))
        for phone, frames in heard.items():
            seen, variances = frames[:, stream], model.variances[phone, stream]
            shares = _shares(seen, means[phone, stream], variances)
            wide = np.hstack([model.means[phone, stream], np.ones((len(variances), 1))])
            left += np.einsum("di,da,db->iab", shares.sum(axis=0)[:, None] / variances, wide, wide, optimize=True)
            right += np.einsum("di,da->ia", (shares.T @ seen) / variances, wide)
        rows = np.linalg.solve(left, right[..., None])[..., 0]
        matrices[stream], offsets[stream] = rows[:, :CEPSTRA], rows[:, CEPSTRA]
    return Voice(matrices, offsets)


def _shares(seen: Array, means: Array, variances: Array) -> Array:
    """How likely each frame is of each distribution, all alike before it was seen; shape (frames, distributions)."""
    distance = ((seen[:, None] - means) ** 2 / variances).sum(axis=2) + np.log(variances).sum(axis=1)
    shares: Array = np.exp(-0.5 * (distance - distance.min(axis=1, keepdims=True)))
    shares /= shares.sum(axis=1, keepdims=True)
    return shares


# ------------------------------------------------------------------------------------- which sound was said when


def _followed(said: Sequence[Said], lexicon: Lexicon) -> Iterator[tuple[str, Array]]:
    """Name and features of each sound of the remarks, as the decoder follows their words through them."""
    with TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        words = Path(folder, "words.dict")
        words.write_text(dictionary_of({word for _, text in said for word in text.split()}, lexicon), encoding="utf-8")
        following = new_decoder(SETTINGS | {"dict": str(words), "mfclogdir": folder})
        for sound, text in said:
            samples = pcm16(conditioned(clearing.cleared(sound, MOST_CLEARED_DB)))
            if sounds := _sounds(following, text, samples):
                seen = features(_cepstra(Path(folder)))
                yield from ((name, seen[start:end]) for name, start, end in sounds if end > start)
        del following


def _sounds(following: Any, text: str, samples: bytes) -> list[tuple[str, int, int]]:
    """Name, first frame and frame after the last of each sound; none if the words do not fit the sound."""
    try:
        following.set_align_text(text)
        _pass(following, samples)
        following.set_alignment()  # from words to sounds
        _pass(following, samples)
    except RuntimeError:
        return []
    found = following.get_alignment()
    return [(one.name, one.start, one.start + one.duration) for one in found.phones()] if found else []


def _pass(following: Any, samples: bytes) -> None:
    following.reinit_feat()
    following.start_utt()
    following.process_raw(samples, full_utt=True)
    following.end_utt()


def _cepstra(folder: Path) -> Array:
    """Those of the last remark, shape (frames, 13): of its first pass, whose file is whole since the second began."""
    *older, written, _ = sorted(folder.glob("*.mfc"))
    for file in older:
        file.unlink()
    data = written.read_bytes()
    numbers: NDArray[Any] = np.frombuffer(data, ">f4", offset=4)
    if struct.unpack(">i", data[:4])[0] != len(numbers):
        numbers = np.frombuffer(data, "<f4", offset=4)
    return numbers.reshape(-1, CEPSTRA).astype(np.float64)

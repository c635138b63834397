"""PocketSphinx's acoustic model as numbers: its sounds, and the normal distributions that each is made of.

The model is phonetically tied: all states of one sound share its distributions, of which there is a set for each of
three streams of features, the cepstra and their first and second differences.

Source:
    Files and features of CMU Sphinx, as its decoder reads them (`ms_gauden.c`, `bin_mdef.c`, `feat.c`).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.errors import ListenerMissing

CEPSTRA = 13
STREAMS = 3
LEAST_VARIANCE = 1e-4
"""Smaller ones are taken for this, as the decoder does (`-varfloor`)."""
_BYTE_ORDER = 0x11223344
_COUNTS_OF_DEFINITION = 10
"""Whole numbers between the head of the definition and the names of the sounds; the first says how many sounds."""

Array = NDArray[np.float64]


@dataclass(frozen=True)
class AcousticModel:
    """The distributions of the sounds.

    Attributes:
        phones: names of the sounds, as the dictionary has them.
        means, variances: shape (phones, streams, distributions, cepstra).
    """

    phones: tuple[str, ...]
    means: Array
    variances: Array

    @classmethod
    def load(cls, folder: Path) -> AcousticModel:
        """Reads the files `mdef`, `means` and `variances` of a model.

        Raises:
            ListenerMissing: a file cannot be read, or is of a model of another kind.
        """
        try:
            means, variances = (_distributions((folder / name).read_bytes()) for name in ("means", "variances"))
            phones = _phones((folder / "mdef").read_bytes())[: len(means)]
        except (OSError, ValueError, IndexError, struct.error) as error:
            raise ListenerMissing(
                f"The model in {folder} cannot be read: {error}. Install pocketsphinx again."
            ) from error
        return cls(phones, means, np.maximum(variances, LEAST_VARIANCE))


def _distributions(data: bytes) -> Array:
    at = data.index(b"endhdr\n") + len(b"endhdr\n")
    order = "<" if struct.unpack_from("<I", data, at)[0] == _BYTE_ORDER else ">"
    sounds, streams, each = struct.unpack_from(f"{order}3i", data, at + 4)
    lengths = struct.unpack_from(f"{order}{streams}i", data, at + 16)
    if lengths != (CEPSTRA,) * STREAMS:
        raise ValueError(f"its streams have {lengths} features")
    first = at + 16 + 4 * streams + 4
    values: NDArray[Any] = np.frombuffer(data, f"{order}f4", sounds * streams * each * CEPSTRA, first)
    return values.reshape(sounds, streams, each, CEPSTRA).astype(np.float64)


def _phones(data: bytes) -> tuple[str, ...]:
    if data[:4] != b"BMDF":
        raise ValueError("its definition is of another form")
    (told,) = struct.unpack_from("<i", data, 8)
    at = 12 + told
    (count,) = struct.unpack_from("<i", data, at)
    names = data[at + 4 * _COUNTS_OF_DEFINITION :].split(b"\0", count)[:count]
    return tuple(name.decode("ascii") for name in names)


def features(cepstra: Array) -> Array:
    """What the model looks at, as its decoder makes it of the cepstra of one utterance (`1s_c_d_dd`).

    Args:
        cepstra: shape (frames, 13), 100 frames a second.

    Returns:
        Cepstra around their mean, first and second differences, shape (frames, 3, 13).
    """
    frames = len(cepstra)
    wide = np.pad(cepstra - cepstra.mean(axis=0), ((3, 3), (0, 0)), mode="edge")

    def later(by: int) -> Array:
        return wide[3 + by : 3 + by + frames]

    first = later(2) - later(-2)
    second = (later(3) - later(-1)) - (later(1) - later(-3))
    return np.stack([later(0), first, second], axis=1)

"""Short tones for what a reply is, told apart by rhythm and by pitch, so that one of the two is enough.

In a barn, behind ear defenders or with the hearing of an old clipper hand, pitch alone does not carry; how many notes
there are, and which is long, does. All notes lie between 440 and 1200 Hz: above the rumble of a shed, below where
hearing goes first with age (ISO 7029: the loss begins at high frequencies), and where the voice detector does not take
them for speech, as it does with lower ones.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from assistant.session.replies import ReplyKind

EDGE_S = 0.008
"""Notes swell and fade so long: no click."""

OVERTONE = 0.3
"""Strength of the octave: small loudspeakers lose the ground note."""


@dataclass(frozen=True)
class Note:
    """One note and the silence after it."""

    pitch_hz: float
    length_s: float
    rest_s: float = 0.0


TONES: Mapping[ReplyKind, tuple[Note, ...]] = MappingProxyType(
    {
        ReplyKind.HEARD: (Note(880.0, 0.05),),
        ReplyKind.TOLD: (Note(587.0, 0.26),),
        ReplyKind.ASKING: (Note(523.0, 0.08, 0.05), Note(1047.0, 0.24)),
        ReplyKind.NOT_UNDERSTOOD: (Note(440.0, 0.1, 0.07), Note(440.0, 0.1, 0.07), Note(440.0, 0.1)),
        ReplyKind.ANIMAL_CHANGED: (Note(784.0, 0.24, 0.04), Note(659.0, 0.06, 0.04), Note(988.0, 0.06)),
    }
)
"""Each kind of reply: one short, one long, short-long, three alike and low, long-short-short."""


def tone(kind: ReplyKind, rate_hz: int) -> NDArray[np.float32]:
    """The tone of a kind of reply.

    Args:
        kind: what the reply is.
        rate_hz: sampling rate of the result.

    Returns:
        Samples with a peak of about 1.
    """
    pieces = [piece for note in TONES[kind] for piece in (_note(note, rate_hz), _rest(note, rate_hz))]
    return np.concatenate(pieces).astype(np.float32)


def _note(note: Note, rate_hz: int) -> NDArray[np.float64]:
    time_s = np.arange(round(note.length_s * rate_hz)) / rate_hz
    wave = np.sin(2 * np.pi * note.pitch_hz * time_s) + OVERTONE * np.sin(4 * np.pi * note.pitch_hz * time_s)
    edge = np.minimum(1.0, np.minimum(time_s, time_s[::-1]) / EDGE_S)
    return np.asarray(wave / (1 + OVERTONE) * np.sin(np.pi / 2 * edge) ** 2, np.float64)


def _rest(note: Note, rate_hz: int) -> NDArray[np.float64]:
    return np.zeros(round(note.rest_s * rate_hz))

"""A voice from a wheel: text in, sound out, no network."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from contextlib import suppress
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.errors import LibraryMissing
from assistant.voice.packed import Packed

SEED = 1
"""The same text sounds the same each time."""


class Voice(Protocol):
    """What turns text into sound."""

    rate_hz: int

    def speak(self, text: str, rate: float = 1.0) -> Iterator[NDArray[np.float32]]:
        """The sound of a text, sentence by sentence, each as soon as it is there; samples in [-1, 1].

        Args:
            text: plain words.
            rate: 0.5 for half as quick, 2 for twice.
        """


class HibariVoice:
    """The voice inside the wheel of hibari-tts (Apache-2.0, 8 MB). Starting takes a second or two, speaking 50 ms.

    Raises:
        LibraryMissing: it is not installed.
    """

    rate_hz = 24000

    def __init__(self) -> None:
        try:
            from hibari import Hibari
        except ImportError as error:
            raise LibraryMissing(
                "There is no voice: replies are tones. Install one with: pip install 'handling-assistant[voice]'"
            ) from error
        self._engine = Hibari()
        lexicon, tagger = self._engine.g2p.lexicon, self._engine.g2p.tagger
        lexicon.golds.d, lexicon.silvers.d = Packed(lexicon.golds.d), Packed(lexicon.silvers.d)
        tagger.weights, tagger.tagdict = Packed(tagger.weights), Packed(tagger.tagdict)
        for _ in self.speak("Ready."):  # reads its dictionaries now, not with the first reply
            pass
        with suppress(OSError, AttributeError, TypeError):  # the C library of Linux alone can give back what was freed
            ctypes.CDLL(None).malloc_trim(0)

    def speak(self, text: str, rate: float = 1.0) -> Iterator[NDArray[np.float32]]:
        """See `Voice.speak`."""
        for samples in self._engine.stream(text, rate, SEED):
            yield np.asarray(samples, np.float32)

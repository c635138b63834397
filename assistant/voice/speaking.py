"""A voice from a wheel: text in, sound out, no network."""

from __future__ import annotations

import ctypes
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from functools import partial
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.errors import LibraryMissing
from assistant.voice.packed import Packed

SEED = 1
"""The same text sounds the same each time."""


BEFORE_S, AFTER_S = 0.03, 0.1
"""Silence that is left before and after what is said."""

SILENT = 0.02
"""Of the loudest sample: what is below is not heard."""


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
            import onnxruntime

            with _hidden("scipy"):  # it does without, as quickly and in 20 MB less
                from hibari import Hibari, g2p
        except ImportError as error:
            raise LibraryMissing(
                "There is no voice: replies are tones. Install one with: pip install 'handling-assistant[voice]'"
            ) from error
        onnxruntime.disable_telemetry_events()  # Windows does not ask the variable that `assistant` sets
        # The library offers no choice here: it would hold all its word lists unpacked at once.
        packed, sparing = partial(_packed, g2p._load_json), partial(_sparing, onnxruntime.SessionOptions)
        with _instead(onnxruntime, "SessionOptions", sparing), _instead(g2p, "_load_json", packed):
            self._engine = Hibari()
            for _ in self.speak("Ready."):  # reads them now, not with the first reply
                pass
        with suppress(OSError, AttributeError, TypeError):  # the C library of Linux alone can give back what was freed
            ctypes.CDLL(None).malloc_trim(0)

    def speak(self, text: str, rate: float = 1.0) -> Iterator[NDArray[np.float32]]:
        """See `Voice.speak`."""
        for n, samples in enumerate(self._engine.stream(text, rate, SEED)):
            spoken = np.asarray(samples, np.float32)
            first, last = _audible(spoken)
            # Before and after each sentence it is silent for 0.3 to 0.5 s: the first one is waited for, and while it
            # "speaks" after the last nobody is listened to. What is before the others is the pause between them.
            start = max(0, first - round(BEFORE_S * self.rate_hz)) if n == 0 else 0
            yield spoken[start : last + round(AFTER_S * self.rate_hz)]


def _audible(samples: NDArray[np.float32]) -> tuple[int, int]:
    """First sample that is heard, and the one after the last; none of silence."""
    loud = np.flatnonzero(np.abs(samples) > SILENT * np.abs(samples).max(initial=0.0))
    return (int(loud[0]), int(loud[-1]) + 1) if len(loud) else (0, 0)


@contextmanager
def _hidden(package: str) -> Iterator[None]:
    """For a while a package cannot be imported, as if it were not installed."""
    usual = sys.modules.get(package)
    sys.modules[package] = None  # type: ignore[assignment]
    try:
        yield
    finally:
        del sys.modules[package]
        if usual is not None:
            sys.modules[package] = usual


@contextmanager
def _instead(module: Any, name: str, value: Any) -> Iterator[None]:
    """For a while a module has something else under a name."""
    usual = getattr(module, name)
    setattr(module, name, value)
    try:
        yield
    finally:
        setattr(module, name, usual)


def _sparing(options: Callable[[], Any]) -> Any:
    """Settings of a network that does not keep as much memory as the longest sentence ever took."""
    chosen = options()
    chosen.enable_cpu_mem_arena = False
    return chosen


def _packed(load: Callable[[str], dict[str, Any]], name: str) -> Mapping[str, Any] | Packed:
    """A file of the voice, its word lists and weights packed."""
    loaded = load(name)
    if name.startswith("lexicon_"):
        return Packed(loaded)
    return {key: Packed(value) if key in ("weights", "tagdict") else value for key, value in loaded.items()}

"""What libvosk does in a process of its own; nothing of this package is loaded there.

The library brings its own OpenFst, and loading it beside another (kaldifst's) in one process never returns. A process
of its own also bears a damaged model, at which the library ends the process.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

RATE_HZ = 16_000
QUIET = -3


class Worker:
    """One model and one recogniser."""

    def load(self, folder: str) -> None:
        """Loads the model in a folder.

        Raises:
            ImportError: the library is not installed, or not made for this system.
            RuntimeError: the model cannot be loaded.
        """
        try:
            import vosk
        except TypeError as error:  # its word for a system that it does not run on
            raise ImportError(str(error)) from error
        vosk.SetLogLevel(QUIET)
        self._vosk = vosk
        try:
            self._model = vosk.Model(folder)
        except Exception as error:  # the library raises nothing more special
            raise RuntimeError(str(error)) from error

    def numbers(self, words: Iterable[str]) -> dict[str, int]:
        """The numbers of those words that the model knows."""
        return {word: number for word in words if (number := self._model.vosk_model_find_word(word)) > 0}

    def listen(self, alternatives: int) -> None:
        """Begins to listen, with at most so many alternatives."""
        self._recogniser: Any = self._vosk.KaldiRecognizer(self._model, RATE_HZ)
        self._recogniser.SetMaxAlternatives(alternatives)
        self._recogniser.SetWords(True)

    def feed(self, samples: bytes) -> str:
        """Hears signed 16-bit samples, native order; gives the words so far, as JSON."""
        self._recogniser.AcceptWaveform(samples)
        return str(self._recogniser.PartialResult())

    def finish(self) -> str:
        """Ends the sound; gives the alternatives, as JSON."""
        return str(self._recogniser.FinalResult())

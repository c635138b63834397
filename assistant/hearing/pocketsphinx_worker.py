"""What PocketSphinx does in a process of its own; nothing of this package is loaded there.

Its library keeps the Python interpreter to itself while it searches, so that no other listener would go on meanwhile.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

Found = tuple[str, float, list[tuple[str, int, int, float]]]
"""Words, likelihood, and each word with its first and last frame and its likelihood."""


class Worker:
    """One decoder."""

    def load(self, settings: dict[str, Any], dictionary: str) -> None:
        """Loads the en-us model of the library's wheel.

        Args:
            settings: of the decoder.
            dictionary: file with the pronunciations.

        Raises:
            ImportError: the library is not installed.
            RuntimeError, ValueError: the model cannot be loaded.
        """
        import pocketsphinx

        model = Path(str(pocketsphinx.get_model_path())) / "en-us" / "en-us"
        self._decoder: Any = pocketsphinx.Decoder(hmm=str(model), **settings, dict=dictionary)

    def expect(self, sentences: str) -> None:
        """From now on those of a file in the library's format (FSG) are searched for."""
        self._decoder.add_fsg("sentences", self._decoder.read_fsg(sentences))
        self._decoder.activate_search("sentences")

    def search(self, samples: bytes) -> Found | None:
        """What is heard in signed 16-bit little-endian samples, None for nothing; 100 frames a second."""
        decoder = self._decoder
        decoder.reinit_feat()  # forget the cepstral mean of the sound before
        decoder.start_utt()
        decoder.process_raw(samples, full_utt=True)
        decoder.end_utt()
        found = decoder.hyp()
        if found is None:
            return None
        words = [(one.word, one.start_frame, one.end_frame, one.ascore) for one in decoder.seg()]
        return found.hypstr, found.score, words

"""What every listener can do."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Protocol, runtime_checkable

from assistant.values import HeardWord, Hearing, Reading, Sound, WordGraph


class Listener(Protocol):
    """Takes a sound for sentences of a word graph.

    A listener keeps nothing of one sound for the next: the same sound gives the same hearing at any time.
    """

    @property
    def name(self) -> str:
        """How the listener is called in a hearing and in reports."""
        ...

    def expect(self, graph: WordGraph) -> None:
        """From now on the sentences of `graph` are listened for.

        Raises:
            UnknownWord: a word of the graph has no pronunciation.
        """
        ...

    def hear(self, sound: Sound) -> Hearing:
        """Hears one remark.

        Args:
            sound: one remark, 16 kHz mono, any length.

        Returns:
            Complete sentences of the graph, best first, or none. Times count from the start of `sound`.

        Raises:
            BadAudio: another sample rate.
        """
        ...


@runtime_checkable
class Weighing(Protocol):
    """A listener that can say how well any sentence fits a sound, also one that it did not hear itself."""

    def weighed(self, sound: Sound, hearing: Hearing, sentences: Collection[str]) -> Hearing:
        """What it heard, with the readings of others beside its own.

        Args:
            sound: one remark, 16 kHz mono, any length.
            hearing: what it heard of the sound.
            sentences: readings of all listeners, single spaces between the words.

        Returns:
            The hearing with its scores of these sentences, best first; one that does not fit at all is left out. The
            best can be another than before, where its own search lost it.

        Raises:
            BadAudio: another sample rate.
        """
        ...


@runtime_checkable
class Transcribing(Protocol):
    """A listener that can also write down a sound where no grammar holds it."""

    def transcripts(self, sound: Sound) -> Sequence[str]:
        """What may have been said, likeliest first, as the listener writes it; nothing if it hears nothing.

        Args:
            sound: one remark, 16 kHz mono, any length.

        Raises:
            BadAudio: another sample rate.
        """
        ...


def with_others(hearing: Hearing, scores: Mapping[str, float], sound: Sound) -> Hearing:
    """The hearing with further readings, which have no times of their own.

    Args:
        hearing: what one listener heard.
        scores: sentence → its score, in the scale of the hearing.
        sound: what was heard.
    """
    own = {reading.text for reading in hearing.readings}
    others = (
        Reading(tuple(HeardWord(word, 0.0, sound.length_s) for word in text.split()), score)
        for text, score in scores.items()
        if text not in own
    )
    ranked = sorted((*hearing.readings, *others), key=lambda reading: -reading.score)
    return replace(hearing, readings=tuple(ranked))

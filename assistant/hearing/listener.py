"""What every listener can do."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from assistant.values import Hearing, Sound, WordGraph


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
class SecondLook(Protocol):
    """A listener to which further readings are dear, so that it gives them only where there is doubt."""

    def look_again(self, sound: Sound) -> Hearing:
        """Hears one remark as `Listener.hear` does, with the readings that come next."""
        ...

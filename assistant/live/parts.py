"""What a live session is made of."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from assistant.listening.pool import ListeningPool
from assistant.live.handling import Handling, Unfinished
from assistant.session.replies import Reply
from assistant.sound.endpoint import Endpoint
from assistant.sound.stream import Source


class Mouth(Protocol):
    """What speaks: see `assistant.voice.mouth.Mouth`."""

    @property
    def is_speaking(self) -> bool:
        """Whether words are being said, or about to be."""

    @property
    def note(self) -> str:
        """Why nothing, or less, is said aloud; empty if all is well."""

    def say(self, replies: Sequence[Reply]) -> None:
        """Says replies, each with its tone; returns at once."""

    def hush(self) -> None:
        """Stops speaking."""


class Silent:
    """Says nothing."""

    is_speaking = False
    note = ""

    def say(self, replies: Sequence[Reply]) -> None:
        """Nothing."""

    def hush(self) -> None:
        """Nothing."""


@dataclass
class LiveSession:
    """What a live session is made of.

    Attributes:
        handling: a session that has begun.
        started: when the sound began; moments of the session are counted from it, whatever the clock does.
        source: where sound comes from.
        pool: the listeners, in processes of their own.
        mouth: what speaks.
        unfinished: remarks of earlier sessions, heard first.
        hears_over_voice: whether it listens while it speaks, as with a headset; else it is deaf meanwhile.
        by: who speaks.
        endpoint: finds where remarks begin and end.
    """

    handling: Handling
    started: datetime
    source: Source
    pool: ListeningPool
    mouth: Mouth = field(default_factory=Silent)
    unfinished: Iterable[Unfinished] = ()
    hears_over_voice: bool = False
    by: str = ""
    endpoint: Endpoint = field(default_factory=Endpoint)

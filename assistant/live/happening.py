"""What happens in a live session, as a screen or a command line is told of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from assistant.live.handling import Outcome
from assistant.session.replies import Reply
from assistant.sound.level import Level


@dataclass(frozen=True)
class Ready:
    """The listeners are there. What was said before is heard now.

    Attributes:
        names: who listens, the leader first.
        notices: what the keeper should know of them.
    """

    names: tuple[str, ...]
    notices: tuple[str, ...] = ()


@dataclass(frozen=True)
class Levelled:
    """The microphone's level, about ten times a second.

    Attributes:
        level: see `assistant.sound.level.Level`; its note says what is wrong, if anything.
        is_speaking: a remark is being spoken.
        is_deaf: nothing is heard because the assistant itself speaks.
    """

    level: Level
    is_speaking: bool = False
    is_deaf: bool = False


@dataclass(frozen=True)
class HeardSoFar:
    """What a remark will be if nothing more is said; nothing of it is recorded yet. No words: more is being said."""

    words: str


@dataclass(frozen=True)
class Kept:
    """A remark is over and its sound is on the disk. `n_waiting` remarks and lines wait to be understood."""

    n_waiting: int


@dataclass(frozen=True)
class Came:
    """A spoken or typed remark was understood, or not, and answered.

    Attributes:
        outcome: the remark, its replies and entries.
        is_old: it was left by a program that was stopped, and may belong to an earlier session.
    """

    outcome: Outcome
    is_old: bool = False


@dataclass(frozen=True)
class Told:
    """Something is said to the keeper without a remark: a question is put off, the session is over."""

    replies: tuple[Reply, ...]


@dataclass(frozen=True)
class Noted:
    """Something about microphone, loudspeaker or listeners, in one sentence; empty when all is well again."""

    text: str


Happening = Ready | Levelled | HeardSoFar | Kept | Came | Told | Noted
Tell = Callable[[Happening], None]

"""Keeps a session going beside the live screen: what is typed goes in, each moment comes out as a view."""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import datetime

from assistant.live.handling import Handling, Outcome
from assistant.screens.live_screen import LiveScreen
from assistant.screens.live_view import Listening, Spoken, lines_of, live_view, reply_words, spoken
from assistant.screens.palette import SOUND
from assistant.screens.session_thread import SessionThread
from assistant.session.replies import Reply
from assistant.session.state import ANSWER_S
from assistant.session.world import World

PATIENCE_S = 10.0
"""So long what was typed last may take to be kept when the screen is left."""

BEAT_S = 0.05
"""How long the session waits for a typed line before it looks for the next remark."""


@dataclass
class Going:
    """A session that has begun.

    Attributes:
        handling: the session.
        world: its herd.
        clock: the moment of what is typed.
        names: the listeners.
        outcomes: remarks as they are understood; None in it says that none has come yet. It ends with the recording.
        opening: what is to be known before the work: notices of the listeners, animals that sound alike.
    """

    handling: Handling
    world: World
    clock: Callable[[], datetime]
    names: tuple[str, ...] = ()
    outcomes: Iterator[Outcome | None] = field(default_factory=lambda: iter(()))
    opening: tuple[str, ...] = ()


class Link(SessionThread):
    """A session in a thread of its own, in which its store is opened and closed.

    Args:
        opened: begins the session and ends it.
    """

    def __init__(self, opened: Callable[[], AbstractContextManager[Going]]) -> None:
        super().__init__()
        self._opened = opened
        self._typed: queue.Queue[str | None] = queue.Queue()

    def type(self, text: str) -> None:
        """Takes a typed remark or answer."""
        self._typed.put(text)

    def end(self) -> None:
        """Ends the session and waits until all of it is kept."""
        self._typed.put(None)
        self.wait(PATIENCE_S)

    # ------------------------------------------------------------------------------------------- the session's thread

    def whole(self) -> None:
        """The session from its beginning to its end."""
        with self._opened() as going:
            self.listed = going.opening
            self._show(going)
            self._go_on(going)
            self._tell(going, going.handling.end(going.clock()))

    def _go_on(self, going: Going) -> None:
        asked_at = 0.0
        is_open = True
        while not _is_over(going):
            try:
                text = self._typed.get(timeout=BEAT_S)
            except queue.Empty:
                has_question = going.handling.state.question is not None
                asked_at = (asked_at or time.monotonic()) if has_question else 0.0
                if is_open and not (has_question and time.monotonic() - asked_at < ANSWER_S):
                    is_open = self._hear(going)
                continue
            if text is None:
                return
            asked_at = 0.0
            self._came(going, going.handling.type(text, going.clock()))

    def _hear(self, going: Going) -> bool:
        """Takes the next remark; says whether there may be more. Typing goes on when a recording has ended."""
        for outcome in going.outcomes:
            if outcome is not None:
                self._came(going, outcome)
            return True
        return False

    def _came(self, going: Going, outcome: Outcome) -> None:
        self.spoken.append(spoken(outcome))
        self.listed = lines_of(outcome.replies)
        self._show(going)

    def _tell(self, going: Going, replies: tuple[Reply, ...]) -> None:
        if text := reply_words(replies):
            self.spoken.append(Spoken(SOUND, "the session is over", text))
            self.listed = lines_of(replies)
        self._show(going)

    def _show(self, going: Going) -> None:
        listening, now, spoken_so_far = Listening(going.names), going.clock(), tuple(self.spoken)
        view = live_view(going.handling.state, going.world, spoken_so_far, listening, now, self.listed)
        self.post(LiveScreen.Changed(view))


def _is_over(going: Going) -> bool:
    info = going.handling.state.info
    return info is not None and info.ended is not None

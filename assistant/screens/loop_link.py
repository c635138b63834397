"""Keeps a listened-to session going beside the live screen: the loop of `assistant.live.loop`, shown."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace

from assistant.live.happening import Came, Happening, HeardSoFar, Kept, Levelled, Noted, Ready, Told
from assistant.live.loop import LiveLoop
from assistant.live.parts import LiveSession
from assistant.screens.live_screen import LiveScreen
from assistant.screens.live_view import Listening, Spoken, lines_of, live_view, reply_words, spoken
from assistant.screens.palette import SOUND
from assistant.screens.session_thread import SessionThread
from assistant.session.world import World

PATIENCE_S = 30.0
"""So long what was said last may take to be understood when the screen is left."""


@dataclass(frozen=True)
class Begun:
    """A session that is listened to.

    Attributes:
        session: the session.
        world: its herd.
        opening: what is to be known before the work, such as animals that sound alike.
    """

    session: LiveSession
    world: World
    opening: tuple[str, ...] = ()


class LoopLink(SessionThread):
    """A session in a thread of its own, in which its store is opened and closed.

    Args:
        opened: begins the session and ends it.
    """

    def __init__(self, opened: Callable[[], AbstractContextManager[Begun]]) -> None:
        super().__init__()
        self._opened = opened
        self._early: queue.SimpleQueue[str] = queue.SimpleQueue()
        self._ended = threading.Event()
        self._listening = Listening(note="the listeners are starting")
        self._level_note = ""
        self._so_far = ""
        self._loop: LiveLoop | None = None
        self._begun: Begun | None = None

    def type(self, text: str) -> None:
        """Takes a typed remark or answer, also before the session is there."""
        self._early.put(text)
        self._hand_on()

    def end(self) -> None:
        """Ends the session and waits until what was said is understood and kept."""
        self._ended.set()
        if self._loop is not None:
            self._loop.stop()
        self.wait(PATIENCE_S)

    # ------------------------------------------------------------------------------------------- the session's thread

    def whole(self) -> None:
        """The session from its beginning to its end."""
        with self._opened() as begun:
            self._begun, self.listed = begun, begun.opening
            self._loop = LiveLoop(begun.session, self._happened)
            self._hand_on()
            if self._ended.is_set():
                self._loop.stop()
            self._show()
            self._loop.run()
            self._show()

    def _hand_on(self) -> None:
        while self._loop is not None and not self._early.empty():
            self._loop.type(self._early.get())

    def _happened(self, what: Happening) -> None:
        match what:
            case Levelled(level, _, _) if level.note == self._level_note:
                self.post(LiveScreen.Levelled(level.rms_db))
                return
            case Levelled(level, _, _):
                self._level_note = level.note
                self._listening = replace(self._listening, level_db=level.rms_db, note=level.note)
            case Ready(names, notices):
                self._listening = Listening(names, self._listening.level_db)
                self.listed = (*notices, *self.listed)
            case Noted(text):
                self._listening = replace(self._listening, note=text)
            case HeardSoFar(words):
                self._so_far = words
            case Kept(n_waiting):
                note = f"{n_waiting} remarks wait" if n_waiting > 1 else ""
                self._listening = replace(self._listening, note=note)
            case Came(outcome, is_old):
                self._so_far = ""
                if not is_old:
                    self.spoken.append(spoken(outcome))
                    self.listed = lines_of(outcome.replies)
            case Told(replies):
                self.spoken.append(Spoken(SOUND, "", reply_words(replies)))
                self.listed = lines_of(replies)
        self._show()

    def _show(self) -> None:
        if self._begun is not None and self._loop is not None:
            state, spoken_so_far = self._begun.session.handling.state, tuple(self.spoken)
            now, world = self._loop.now, self._begun.world
            view = live_view(state, world, spoken_so_far, self._listening, now, self.listed, self._so_far)
            self.post(LiveScreen.Changed(view))

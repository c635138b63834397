"""Keeps a listened-to session going beside the live screen: the loop of `assistant.live_loop`, shown."""

from __future__ import annotations

import logging
import queue
import threading
from collections import deque
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace

from assistant.errors import AssistantError
from assistant.happening import Came, Happening, HeardSoFar, Kept, Levelled, Noted, Ready, Told
from assistant.live_loop import LiveLoop
from assistant.live_parts import LiveSession
from assistant.screens.live_screen import LiveScreen
from assistant.screens.live_view import Listening, Spoken, lines_of, live_view, reply_words, spoken
from assistant.screens.palette import SOUND
from assistant.screens.session_link import KEPT_SPOKEN
from assistant.session.world import World

_log = logging.getLogger(__name__)

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


class LoopLink:
    """A session in a thread of its own, in which its store is opened and closed.

    Args:
        opened: begins the session and ends it.
    """

    def __init__(self, opened: Callable[[], AbstractContextManager[Begun]]) -> None:
        self._opened = opened
        self._early: queue.SimpleQueue[str] = queue.SimpleQueue()
        self._ended = threading.Event()
        self._spoken: deque[Spoken] = deque(maxlen=KEPT_SPOKEN)
        self._listening = Listening(note="the listeners are starting")
        self._level_note = ""
        self._so_far = ""
        self._listed: tuple[str, ...] = ()
        self._thread = threading.Thread(target=self._run, name="session", daemon=True)
        self._screen: LiveScreen | None = None
        self._loop: LiveLoop | None = None
        self._begun: Begun | None = None
        self.trouble: AssistantError | None = None

    def begin(self, screen: LiveScreen) -> None:
        """Starts the session; its views go to the screen."""
        self._screen = screen
        self._thread.start()

    def type(self, text: str) -> None:
        """Takes a typed remark or answer, also before the session is there."""
        self._early.put(text)
        self._hand_on()

    def end(self) -> None:
        """Ends the session and waits until what was said is understood and kept."""
        self._ended.set()
        if self._loop is not None:
            self._loop.stop()
        self._thread.join(PATIENCE_S)

    # ------------------------------------------------------------------------------------------- the session's thread

    def _run(self) -> None:
        try:
            with self._opened() as begun:
                self._begun, self._listed = begun, begun.opening
                self._loop = LiveLoop(begun.session, self._happened)
                self._hand_on()
                if self._ended.is_set():
                    self._loop.stop()
                self._show()
                self._loop.run()
                self._show()
        except AssistantError as error:
            self.trouble = error
        except Exception as error:  # noqa: BLE001 - the boundary of the session's thread: nothing may end it in silence
            _log.exception("the session broke off")
            self.trouble = AssistantError(
                f"The session broke off by a fault of the program ({type(error).__name__}: {error}). What was said up "
                "to here is kept; begin again, and with --debug the fault is told in full."
            )
        if self.trouble is not None and self._screen is not None:
            self._screen.post_message(LiveScreen.Failed(str(self.trouble)))

    def _hand_on(self) -> None:
        while self._loop is not None and not self._early.empty():
            self._loop.type(self._early.get())

    def _happened(self, what: Happening) -> None:
        match what:
            case Levelled(level, _, _) if level.note == self._level_note:
                self._post(LiveScreen.Levelled(level.rms_db))
                return
            case Levelled(level, _, _):
                self._level_note = level.note
                self._listening = replace(self._listening, level_db=level.rms_db, note=level.note)
            case Ready(names, notices):
                self._listening = Listening(names, self._listening.level_db)
                self._listed = (*notices, *self._listed)
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
                    self._spoken.append(spoken(outcome))
                    self._listed = lines_of(outcome.replies)
            case Told(replies):
                self._spoken.append(Spoken(SOUND, "", reply_words(replies)))
                self._listed = lines_of(replies)
        self._show()

    def _show(self) -> None:
        if self._begun is not None and self._loop is not None:
            state, spoken_so_far = self._begun.session.handling.state, tuple(self._spoken)
            now, world = self._loop.now, self._begun.world
            view = live_view(state, world, spoken_so_far, self._listening, now, self._listed, self._so_far)
            self._post(LiveScreen.Changed(view))

    def _post(self, message: LiveScreen.Changed | LiveScreen.Levelled) -> None:
        if self._screen is not None:
            self._screen.post_message(message)

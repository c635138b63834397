"""Keeps a listened-to session going beside the live screen: the loop of `assistant.live_loop`, shown."""

from __future__ import annotations

import logging
import queue
import threading
from collections import deque
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import replace

from assistant.errors import AssistantError
from assistant.happening import Came, Happening, Kept, Levelled, Noted, Ready, Told
from assistant.live_loop import LiveLoop
from assistant.live_parts import LiveSession
from assistant.screens.live_screen import LiveScreen
from assistant.screens.live_view import Listening, Spoken, live_view, reply_words, spoken
from assistant.screens.palette import SOUND
from assistant.screens.session_link import KEPT_SPOKEN
from assistant.session.world import World

_log = logging.getLogger(__name__)

PATIENCE_S = 30.0
"""So long what was said last may take to be understood when the screen is left."""


class LoopLink:
    """A session in a thread of its own, in which its store is opened and closed.

    Args:
        opened: begins the session and ends it; gives it with its herd.
    """

    def __init__(self, opened: Callable[[], AbstractContextManager[tuple[LiveSession, World]]]) -> None:
        self._opened = opened
        self._early: queue.SimpleQueue[str] = queue.SimpleQueue()
        self._ended = threading.Event()
        self._spoken: deque[Spoken] = deque(maxlen=KEPT_SPOKEN)
        self._listening = Listening(note="the listeners are starting")
        self._level_note = ""
        self._thread = threading.Thread(target=self._run, name="session", daemon=True)
        self._screen: LiveScreen | None = None
        self._loop: LiveLoop | None = None
        self._session: tuple[LiveSession, World] | None = None
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
            with self._opened() as opened:
                self._session = opened
                self._loop = LiveLoop(opened[0], self._happened)
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
                self._listening = Listening(names, self._listening.level_db, " ".join(notices))
            case Noted(text):
                self._listening = replace(self._listening, note=text)
            case Kept(n_waiting):
                note = f"{n_waiting} remarks wait" if n_waiting > 1 else ""
                self._listening = replace(self._listening, note=note)
            case Came(outcome, is_old):
                if not is_old:
                    self._spoken.append(spoken(outcome))
            case Told(replies):
                self._spoken.append(Spoken(SOUND, "", reply_words(replies)))
        self._show()

    def _show(self) -> None:
        if self._session is not None and self._loop is not None:
            session, world = self._session
            spoken_so_far = tuple(self._spoken)
            view = live_view(session.handling.state, world, spoken_so_far, self._listening, self._loop.now)
            self._post(LiveScreen.Changed(view))

    def _post(self, message: LiveScreen.Changed | LiveScreen.Levelled) -> None:
        if self._screen is not None:
            self._screen.post_message(message)

"""A session in a thread of its own beside the live screen, which is told what breaks it."""

from __future__ import annotations

import logging
import threading
from collections import deque

from assistant.errors import AssistantError
from assistant.screens.live_screen import LiveScreen
from assistant.screens.live_view import Spoken

_log = logging.getLogger(__name__)

KEPT_SPOKEN = 30
"""So many remarks stay in the log."""


class SessionThread:
    """Keeps a session going. Its store is opened and closed in the thread.

    Attributes:
        spoken: the last remarks.
        listed: lines that belong to what was last told.
        trouble: why the session could not begin, or not go on.
    """

    def __init__(self) -> None:
        self.spoken: deque[Spoken] = deque(maxlen=KEPT_SPOKEN)
        self.listed: tuple[str, ...] = ()
        self.trouble: AssistantError | None = None
        self._screen: LiveScreen | None = None
        self._thread = threading.Thread(target=self._run, name="session", daemon=True)

    def begin(self, screen: LiveScreen) -> None:
        """Starts the session; its views go to the screen."""
        self._screen = screen
        self._thread.start()

    def wait(self, at_most_s: float) -> None:
        """Waits until the session has ended and all of it is kept."""
        self._thread.join(at_most_s)

    def whole(self) -> None:
        """The session from its beginning to its end."""
        raise NotImplementedError

    def post(self, message: LiveScreen.Changed | LiveScreen.Levelled | LiveScreen.Failed) -> None:
        """Sends something to the screen."""
        if self._screen is not None:
            self._screen.post_message(message)

    def _run(self) -> None:
        try:
            self.whole()
        except AssistantError as error:
            self.trouble = error
        except Exception as error:  # noqa: BLE001 - the boundary of the session's thread: nothing may end it in silence
            _log.exception("the session broke off")
            self.trouble = AssistantError(
                f"The session broke off by a fault of the program ({type(error).__name__}: {error}). What was said up "
                "to here is kept; begin again, and with --debug the fault is told in full."
            )
        if self.trouble is not None:
            self.post(LiveScreen.Failed(str(self.trouble)))

"""Keys from a terminal, with an Esc that is taken at once.

Esc is also how other keys begin: a terminal sends an arrow as Esc, a bracket and a letter. The library waits a tenth
of a second for what may follow. Terminals and programs between send the whole of a key in one piece, so that a fortieth
is enough; where a slow line cuts a key in two all the same, the rest must not be taken for letters: in the review, a
bracket and a letter are decisions.
"""

from __future__ import annotations

import os
import re
import selectors
import time
from codecs import getincrementaldecoder

from textual import constants
from textual._xterm_parser import XTermParser
from textual.drivers.linux_driver import LinuxDriver

ESC = "\x1b"
LONGEST_WAIT_S = 0.1
"""So often it is looked whether the program ends."""
LATE_S = 0.2
"""What comes so soon after an Esc and reads on as another key is the rest of that key; nobody types it so fast."""

_BEGUN = re.compile(r"\x1b(?:\[|O[A-Z])")


class Joined:
    """Joins a key that came in two pieces, of which the first was already given up as an Esc."""

    def __init__(self) -> None:
        self._last = self._given_up = ""
        self._given_up_s = 0.0

    def read(self, text: str, now_s: float) -> str:
        """What is to be taken for keys where this text came.

        Args:
            text: what the terminal sent.
            now_s: of any clock that never goes back.
        """
        whole = self._given_up + text
        if self._given_up and now_s - self._given_up_s < LATE_S and _BEGUN.match(whole):
            text = whole
        self._last = (self._last + text)[-32:]
        self._last = self._last[max(0, self._last.rfind(ESC)) :]
        self._given_up = ""
        return text

    def give_up(self, now_s: float) -> None:
        """Nothing more came in time, and what was there has been taken for keys."""
        self._given_up, self._given_up_s = self._last, now_s


class QuickEscape(LinuxDriver):
    """The library's driver of a terminal, which waits less for what may follow an Esc."""

    def run_input_thread(self) -> None:
        """Takes keys until the program ends."""
        parser, joined = XTermParser(self._debug), Joined()
        decode = getincrementaldecoder("utf-8")(errors="replace").decode
        wait_s = LONGEST_WAIT_S
        with selectors.DefaultSelector() as selector:
            selector.register(self.fileno, selectors.EVENT_READ)
            while not self.exit_event.is_set():
                if selector.select(wait_s):
                    data = self._read()
                    if not data:
                        break
                    if text := decode(data):
                        for message in parser.feed(joined.read(text, time.monotonic())):
                            self.process_message(message)
                    wait_s = min(LONGEST_WAIT_S, constants.ESCAPE_DELAY)
                else:
                    given_up = list(parser.tick())
                    if given_up:
                        joined.give_up(time.monotonic())
                        for message in given_up:
                            self.process_message(message)
                    wait_s = LONGEST_WAIT_S

    def _read(self) -> bytes:
        """What the terminal sent; nothing once it is gone."""
        try:
            return os.read(self.fileno, 4096)
        except OSError:
            return b""

"""An Esc is taken at once, and a key that a slow line cuts in two is still one key."""

from __future__ import annotations

import os
import pty
import threading
import time
import tty

import pytest
from textual.app import App
from textual.events import Key

from assistant.screens.quick_escape import LATE_S, Joined, QuickEscape


@pytest.mark.parametrize(
    ("first", "rest", "after_s", "taken"),
    [
        ("\x1b", "[A", 0.05, "\x1b[A"),
        ("\x1b[", "A", 0.05, "\x1b[A"),
        ("\x1b[1;5", "A", 0.05, "\x1b[1;5A"),
        ("\x1b", "OP", 0.05, "\x1bOP"),
        ("\x1b", "a", 0.05, "a"),
        ("\x1b", "O", 0.05, "O"),
        ("\x1b", "[", LATE_S + 0.01, "["),
    ],
    ids=["after Esc", "after the bracket", "in a number", "function key", "a letter", "a capital", "typed later"],
)
def test_the_rest_of_a_key_is_joined_to_its_beginning(first, rest, after_s, taken) -> None:
    joined = Joined()
    joined.read(first, 1.0)
    joined.give_up(1.0)
    assert joined.read(rest, 1.0 + after_s) == taken


def test_what_was_not_given_up_is_not_said_twice() -> None:
    joined = Joined()
    assert joined.read("\x1b", 1.0) == "\x1b"
    assert joined.read("[A", 1.01) == "[A", "the library still waits for it"


class AtTerminal(QuickEscape):
    """Takes keys from the end of a pseudo-terminal, and only collects them."""

    def __init__(self, fileno: int) -> None:
        super().__init__(App())
        self.fileno = fileno
        self.taken: list[str] = []

    def process_message(self, message) -> None:
        if isinstance(message, Key):
            self.taken.append(message.key)


@pytest.mark.parametrize(
    ("pieces", "keys"),
    [
        ([b"\x1b"], ["escape"]),
        ([b"\x1b", b"[A"], ["escape", "up"]),
        ([b"a\xc3", b"\xa4\xff"], ["a", "ä", "replacement_character"]),
        ([b"\x1b[B", b"x"], ["down", "x"]),
    ],
    ids=["Esc", "cut in two", "a letter cut in two, and no letter", "whole keys"],
)
@pytest.mark.asyncio
async def test_keys_at_a_terminal(pieces, keys, monkeypatch) -> None:
    monkeypatch.setattr("textual.constants.ESCAPE_DELAY", 0.025)
    monkeypatch.setattr("assistant.screens.quick_escape.LATE_S", 5.0)
    outer, inner = pty.openpty()
    tty.setraw(inner)
    driver = AtTerminal(inner)
    thread = threading.Thread(target=driver.run_input_thread, daemon=True)
    thread.start()
    for piece in pieces:
        os.write(outer, piece)
        time.sleep(0.13)
    os.close(outer)  # the terminal goes, and the thread ends with it
    thread.join(5)
    assert not thread.is_alive()
    assert driver.taken == keys

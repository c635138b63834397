"""The live screen: who is on the table, the animal as a plan that fills, what is asked, and who is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import ClassVar, Protocol

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.events import Key as Pressed
from textual.message import Message
from textual.widgets import Input

from assistant.screens import keys
from assistant.screens.board import Board
from assistant.screens.choosing import LastWords
from assistant.screens.face import PenScreen
from assistant.screens.keys import Key, Keyline
from assistant.screens.live_view import LiveView
from assistant.session.answering import ORDINALS


class Loop(Protocol):
    """A session as it goes on: see `assistant.screens.session_link.Link`."""

    def begin(self, screen: LiveScreen) -> None:
        """Starts listening; views of the session are then sent to the screen as `LiveScreen.Changed`."""

    def type(self, text: str) -> None:
        """Takes a typed remark or answer."""

    def end(self) -> None:
        """Ends the session, and listening with it."""


class RemarkLine(Input):
    """Takes a line as soon as its Enter comes: what follows, however fast, as from a tag reader, is the next line."""

    def on_key(self, event: Pressed) -> None:
        """The library takes Enter only after it has gone up through the screen, behind keys that came later."""
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            self.post_message(self.Submitted(self, self.value))
            self.value = ""


class LiveScreen(PenScreen):
    """A session as it goes on.

    Args:
        loop: the session.
        phrases: what typed words are completed from.
    """

    CSS = """
    LiveScreen Input { height: 1; border: none; padding: 0 1; background: $surface; }
    LiveScreen.-far Keyline { display: none; }
    """
    TABLE = (
        Key("enter", "ignore", "Send the line; a number alone is that answer", "send"),
        Key("1", "", "", "answer", "1 Enter"),
        keys.FAR,
        Key("up", "earlier", "The line typed before"),
        Key("pageup", "turn(-1)", "Up in a list, or in sentences"),
        Key("pagedown", "turn(1)", "Down in a list, or in sentences"),
        Key("escape", "clear", "Clear the line, and the list that is shown"),
        Key("f3", "", "", "words"),
        Key("f4", "", "", "colours"),
        Key("ctrl+q", "", "", "leave"),
    )
    BINDINGS: ClassVar[list[BindingType]] = keys.bindings(TABLE)
    TAKES_AHEAD = True

    class Changed(Message):
        """The session is at another moment."""

        def __init__(self, view: LiveView) -> None:
            super().__init__()
            self.view = view

    class Levelled(Message):
        """The microphone has another level, in dB of full scale; `note` says what is wrong with it."""

        def __init__(self, level_db: float, note: str = "") -> None:
            super().__init__()
            self.level_db, self.note = level_db, note

    class Failed(Message):
        """The session cannot go on; what was kept up to here stays."""

        def __init__(self, why: str) -> None:
            super().__init__()
            self.why = why

    def __init__(self, loop: Loop, phrases: Sequence[str] = ()) -> None:
        super().__init__()
        self._loop = loop
        self._phrases = phrases
        self._typed: list[str] = []

    def compose(self) -> ComposeResult:
        """The board, the line and the keys."""
        yield Board()
        yield RemarkLine(
            placeholder="type a remark, an answer or a question",
            suggester=LastWords(self._phrases) if self._phrases else None,
            select_on_focus=False,
        )
        yield Keyline(self.TABLE)

    def on_mount(self) -> None:
        """The session begins."""
        self.query_one(Input).focus()
        self.looked()
        self._loop.begin(self)

    def leaving(self) -> None:
        """The session ends with the screen."""
        self._loop.end()

    @property
    def board(self) -> Board:
        """What is drawn."""
        return self.query_one(Board)

    def on_live_screen_changed(self, event: Changed) -> None:
        """Shows another moment."""
        self.board.show(event.view)

    def on_live_screen_levelled(self, event: Levelled) -> None:
        """Only the meter moves."""
        self.board.show_level(event.level_db, event.note)

    def on_live_screen_failed(self, event: Failed) -> None:
        """Says why the session cannot go on."""
        self.board.show(
            replace(self.board.view, question="", choices=(), told=event.why, listed=(event.why,), is_over=True)
        )

    def looked(self) -> None:
        """Draws anew in another look."""
        self.set_class(self.look.is_far, "-far")
        self.board.looked()

    # ------------------------------------------------------------------------------------------------------- typing

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """A line is typed: the number of an answer, yes or no in short, or a remark."""
        text = event.value.strip()
        if text:
            self._typed.append(text)
            self._loop.type(meant(text, self.board.view))

    def action_earlier(self) -> None:
        """The line typed before comes back, to be changed."""
        if self._typed:
            field = self.query_one(Input)
            field.value = self._typed[-1]
            field.cursor_position = len(field.value)

    def action_clear(self) -> None:
        """Clears the line; a list that is shown makes room for the plan."""
        self.query_one(Input).value = ""
        self.board.hide_list()

    def action_turn(self, way: int) -> None:
        """Scrolls what is longer than the screen."""
        self.board.page.action_turn_page(way)

    def action_ignore(self) -> None:
        """Enter is for the line that is typed."""


def meant(text: str, view: LiveView) -> str:
    """What a typed line stands for while a question is open: a number alone is that answer, y and n are yes and no."""
    if not view.question:
        return text
    answers = {str(n): choice for n, choice in enumerate(view.choices, start=1)}
    answers |= {str(n): word for n, word in enumerate(ORDINALS, start=1) if str(n) in answers}
    return ({"y": "yes", "n": "no"} | answers).get(text.casefold(), text)

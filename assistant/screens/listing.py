"""A screen that is a list, with all about the line under its cursor beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from assistant.screens.face import PenScreen
from assistant.screens.keys import Key, Keyline
from assistant.screens.lines import Lines
from assistant.screens.page import Page


class Listing(PenScreen):
    """A list and what it tells, between a head line and the lines for what happened and for keys."""

    TABLE: ClassVar[Sequence[Key]] = ()

    def compose(self) -> ComposeResult:
        """Head line, the list, what it tells, what happened, keys."""
        yield Static("", classes="bar", id="head")
        yield from self.above()
        with Horizontal():
            yield Lines(self._show_detail, id="left")
            yield Page(id="detail")
        yield Static("", classes="happened")
        yield Keyline(self.TABLE)

    def above(self) -> Iterable[Widget]:
        """What stands between the head line and the list."""
        return ()

    @property
    def lines(self) -> Lines:
        """The list."""
        return self.query_one(Lines)

    def head(self, content: Content) -> None:
        """Says in the first line what is shown."""
        self.query_one("#head", Static).update(content, layout=False)

    def detail(self, key: str) -> Content:
        """All about the line of a key; the key is empty where there is no line."""
        raise NotImplementedError

    def _show_detail(self, key: str) -> None:
        self.query_one(Page).show(self.detail(key))

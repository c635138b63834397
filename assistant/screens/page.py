"""A text that is read beside a list: it scrolls by the keyboard, and a change of it is one paint."""

from __future__ import annotations

from itertools import groupby
from typing import ClassVar

from rich.segment import Segment
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.strip import Strip
from textual.visual import Visual

from assistant.screens.scrolled import Scrolled

JOINT = "\u00a0"
"""A space at which no line is broken."""
_LETTER = "\ue000"
"""Stands for it while the library breaks lines, for it does so at any space; of the private use area, as wide as one.

Source: The Unicode Standard, chapter 23.5, Private-Use Characters.
"""


def _hang(line: Content, width: int) -> int:
    """So far in the rows after the first of a line stand: twice as far as it begins, where it has more than one."""
    begins = len(line.plain) - len(line.plain.lstrip(" "))
    return 2 * begins if begins and 6 * begins < width < line.cell_length else 0


class Page(Scrolled):
    """A text, wrapped to its width."""

    DEFAULT_CSS = """
    Page { width: 1fr; height: 1fr; border-left: solid $panel; padding: 0 0 0 1; }
    Page:focus { border-left: heavy $accent; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "turn(-1)", "Up", show=False),
        Binding("down", "turn(1)", "Down", show=False),
        Binding("pageup", "turn_page(-1)", "Page up", show=False),
        Binding("pagedown", "turn_page(1)", "Page down", show=False),
        Binding("home", "turn(-1000000)", "First", show=False),
        Binding("end", "turn(1000000)", "Last", show=False),
    ]

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.content = Content("")
        self._wrapped: tuple[tuple[int, int], list[Strip]] | None = None

    def show(self, content: Content) -> None:
        """Shows another text from its beginning; the same one stays where it is."""
        if content != self.content:
            self.content = content
            self._wrapped = None
            self._top = 0
            self.refresh()

    def notify_style_update(self) -> None:
        """Other colours: the rows hold theirs."""
        super().notify_style_update()
        self._wrapped = None

    def _rows(self) -> list[Strip]:
        width, height = self.size
        if self._wrapped is None or self._wrapped[0] != (width, height):
            rows = self._wrap(width)
            self._wrapped = (width, height), (rows if len(rows) <= height else self._wrap(width - 1))
        return self._wrapped[1]

    def _wrap(self, width: int) -> list[Strip]:
        if width <= 0:
            return []
        rows: list[Strip] = []
        for hang, lines in groupby(self.content.split("\n", allow_blank=True), lambda line: _hang(line, width)):
            if not hang:
                rows += self._broken(Content("\n").join(lines), width)
            else:
                for line in lines:
                    rows += self._hung(line, hang, width)
        return rows

    def _hung(self, line: Content, hang: int, width: int) -> list[Strip]:
        """A line that begins with spaces: what does not fit in its first row stands further in."""
        rows = self._broken(line[hang // 2 :], width - hang)
        first = [Segment(" " * (hang // 2), self.tone()), *rows[0], Segment(" " * (hang - hang // 2), self.tone())]
        return [
            Strip(first, width),
            *(Strip([Segment(" " * hang, self.tone()), *row], width) for row in rows[1:]),
        ]

    def _broken(self, content: Content, width: int) -> list[Strip]:
        if JOINT not in content.plain:
            return Visual.to_strips(self, content, width, None, self.visual_style, pad=True)
        joined = Content(content.plain.replace(JOINT, _LETTER), list(content.spans))
        return [
            Strip([Segment(text.replace(_LETTER, " "), style, control) for text, style, control in strip], width)
            for strip in Visual.to_strips(self, joined, width, None, self.visual_style, pad=True)
        ]

    def n_rows(self) -> int:
        """How many rows the text has."""
        return len(self._rows())

    def row(self, n: int, width: int) -> Strip:
        """A row of the text."""
        return self._rows()[n].adjust_cell_length(width, self.tone())

    def action_turn(self, by: int) -> None:
        """Some rows up or down."""
        self.to_top(self.top + by)

    def action_turn_page(self, way: int) -> None:
        """A screenful up or down."""
        self.to_top(self.top + way * max(1, self.size.height - 1))

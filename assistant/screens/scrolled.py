"""Rows of which only those are drawn that are seen: a change is one paint of one widget, with nothing laid out anew."""

from __future__ import annotations

from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.events import MouseDown, MouseEvent, MouseMove, MouseScrollDown, MouseScrollUp, MouseUp, Resize
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

WHEEL_ROWS = 3
"""A turn of the wheel."""


class Scrolled(Widget, can_focus=True):
    """Rows with a bar beside them, where not all of them are seen.

    The bar is drawn with the rows. A scrollbar of the library is a widget of its own: it comes and goes by laying the
    screen out anew, and moves in a second paint after the rows.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {"scrolled--bar"}
    DEFAULT_CSS = """
    Scrolled { background: $background; }
    .scrolled--bar { color: $muted; }
    """

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._top = 0
        self._tones: dict[str, Style] = {}

    def notify_style_update(self) -> None:
        """Other colours."""
        super().notify_style_update()
        self._tones.clear()

    def tone(self, name: str = "") -> Style:
        """How text is drawn: as the whole, or with one of `COMPONENT_CLASSES` upon it. Kept, for it is asked often."""
        if name not in self._tones:
            above = self.get_component_rich_style(name, partial=True) if name else Style.null()
            self._tones[name] = self.rich_style + above
        return self._tones[name]

    def n_rows(self) -> int:
        """How many rows there are."""
        raise NotImplementedError

    def row(self, n: int, width: int) -> Strip:
        """The row of a number, from 0, in so many columns, all of them filled."""
        raise NotImplementedError

    @property
    def top(self) -> int:
        """The first row that is seen."""
        return self._top

    @property
    def has_bar(self) -> bool:
        """Whether there is more than is seen."""
        return self.n_rows() > self.size.height

    def to_top(self, top: int) -> None:
        """Shows the rows from one on, as far as there are any."""
        before, self._top = self._top, max(0, min(top, self.n_rows() - self.size.height))
        if self._top != before:
            self.refresh()

    def refresh_rows(self, *rows: int) -> None:
        """Draws some rows anew, if they are seen."""
        seen = [row - self._top for row in rows if 0 <= row - self._top < self.size.height]
        if seen:
            self.refresh(*(Region(0, y, self.size.width, 1) for y in seen))

    def render_line(self, y: int) -> Strip:
        """One row of what is seen."""
        (width, height), n_rows, n = self.size, self.n_rows(), self._top + y
        has_bar = n_rows > height
        strip = self.row(n, width - has_bar) if n < n_rows else Strip.blank(width - has_bar, self.tone())
        if not has_bar:
            return strip
        length = max(1, height * height // n_rows)
        first = round((height - length) * self._top / (n_rows - height))
        bar = "┃" if first <= y < first + length else "│"
        return Strip([*strip, Segment(bar, self.tone("scrolled--bar"))], width)

    # --------------------------------------------------------------------------------------------------- by the mouse

    def on_resize(self, _: Resize) -> None:
        """As much is shown as there is room for."""
        self.to_top(self._top)

    def on_mouse_scroll_down(self, event: MouseScrollDown) -> None:
        """Down by the wheel."""
        event.stop()
        self.to_top(self._top + WHEEL_ROWS)

    def on_mouse_scroll_up(self, event: MouseScrollUp) -> None:
        """Up by the wheel."""
        event.stop()
        self.to_top(self._top - WHEEL_ROWS)

    def is_on_bar(self, event: MouseEvent) -> bool:
        """Whether the mouse is on the bar."""
        return self.has_bar and event.get_content_offset_capture(self).x == self.size.width - 1

    def on_mouse_down(self, event: MouseDown) -> None:
        """The bar is taken hold of."""
        if self.is_on_bar(event):
            event.stop()
            self.capture_mouse()
            self._drag(event.get_content_offset_capture(self).y)

    def on_mouse_move(self, event: MouseMove) -> None:
        """The bar is drawn along."""
        if self.app.mouse_captured is self:
            self._drag(event.get_content_offset_capture(self).y)

    def on_mouse_up(self, _: MouseUp) -> None:
        """The bar is let go."""
        self.release_mouse()

    def _drag(self, y: int) -> None:
        height = max(1, self.size.height - 1)
        self.to_top(round((self.n_rows() - self.size.height) * max(0, min(y, height)) / height))

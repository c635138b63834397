"""What is drawn on a screen holds no orders to the terminal, either."""

from __future__ import annotations

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from assistant.printable import printable


class Printable(LineFilter):
    """Takes characters that are orders to a terminal out of every line; they take no room there either."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The line without them."""
        if all(segment.text.isprintable() for segment in segments):
            return segments
        return [Segment(printable(text), style, control) for text, style, control in segments]

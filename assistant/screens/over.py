"""What comes up over a screen, which is seen behind it in a shade."""

from __future__ import annotations

import textwrap
from functools import lru_cache
from typing import TypeVar

from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.content import Content
from textual.events import Resize
from textual.geometry import Region
from textual.renderables.background_screen import BackgroundScreen
from textual.screen import ModalScreen
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Static

from assistant.screens.lines import Lines

Answer = TypeVar("Answer")


@lru_cache(4096)
def _shaded(style: Style | None, shade: Color) -> Style | None:
    """A style in the shade, and without what a click on it would do."""
    (segment,) = BackgroundScreen.process_segments([Segment("", style)], shade)
    return segment.style


def write(line: Static, content: Content, width: int, most_rows: int) -> None:
    """Fills a line, which is as many rows high as its text has; as long as they are as many, nothing is laid out anew.

    Args:
        line: what is filled.
        content: the text.
        width: columns in which it is wrapped.
        most_rows: so high it may be at most.
    """
    rows = min(most_rows, len(textwrap.wrap(content.plain, max(1, width))) or 1)
    if line.styles.height is None or line.styles.height.value != rows:
        line.styles.height = rows
    line.update(content, layout=False)


BORDER_ROWS = 2
"""Of a sheet, above and below."""


def _rows_of(part: Widget) -> int:
    """How high a part of a sheet is: as it is set, or else as it was laid out."""
    height = part.styles.height
    return int(height.value) if height is not None and height.is_cells else max(1, part.outer_size.height)


class Over(ModalScreen[Answer]):
    """A screen over another one; keys and clicks reach only this one.

    The library shades what is below anew, piece by piece, for each paint of it: a third of the time that it takes to
    bring a sheet up. Here each style is shaded once, and lines that are painted already are not filtered again.
    """

    def on_resize(self, _: Resize) -> None:
        """The terminal has another size."""
        self.fit()

    def fit(self) -> None:
        """Keeps a list in the sheet no higher than all of it is seen, with what stands above and below it."""
        for sheet in self.query(".sheet"):
            lists = [child for child in sheet.children if isinstance(child, Lines)]
            rest = [child for child in sheet.children if child not in lists]
            room = self.app.size.height * 9 // 10 - BORDER_ROWS - sum(map(_rows_of, rest))
            for one in lists:
                one.styles.max_height = max(1, room)

    def render_lines(self, crop: Region) -> list[Strip]:
        """What is behind the sheet."""
        stack = self.app.screen_stack
        shade = self.styles.background
        if self not in stack[1:] or shade.a == 1:
            return super().render_lines(crop)
        below = stack[stack.index(self) - 1]
        strips = below._compositor.render_strips(self.size)[crop.y : crop.bottom]
        nothing = [Strip.blank(self.size.width)] * (crop.height - len(strips))  # it is laid out anew after this screen
        return [
            Strip([Segment(text, _shaded(style, shade)) for text, style, _ in strip], strip.cell_length).crop_extend(
                crop.x, crop.right, None
            )
            for strip in (*strips, *nothing)
        ]

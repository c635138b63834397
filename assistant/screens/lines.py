"""A list of lines with a cursor that draws only what is seen, so that twenty thousand are as quick as twenty."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.binding import Binding, BindingType
from textual.events import Click
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip


@dataclass(frozen=True)
class Line:
    """One line: runs of text with the name of a tone, and a key for who uses the list.

    Attributes:
        key: what the line stands for; a line without one is a heading, which the cursor skips.
        runs: (text, tone), tones as in `Lines.COMPONENT_CLASSES`.
    """

    key: str
    runs: tuple[tuple[str, str], ...]

    @property
    def text(self) -> str:
        """The line without its tones."""
        return "".join(text for text, _ in self.runs)


class Lines(ScrollView, can_focus=True):
    """Lines that can be walked with the keyboard or the mouse.

    `show` takes keys and a function that gives the line of a key: it is called only for lines that are seen.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        f"lines--{tone}"
        for tone in ("plain", "strong", "quiet", "good", "found", "done", "asking", "kept", "cursor", "cursor-away")
    }
    DEFAULT_CSS = """
    Lines { overflow-x: hidden; scrollbar-size-vertical: 1; background: $background; }
    .lines--plain { color: $foreground; }
    .lines--strong { color: $foreground; text-style: bold; }
    .lines--quiet { color: $muted; }
    .lines--good { color: $success; }
    .lines--found { color: $error; }
    .lines--done { color: $primary; }
    .lines--asking { color: $warning; text-style: bold; }
    .lines--kept { color: $secondary; text-style: bold; }
    .lines--cursor { color: $background; background: $foreground; }
    .lines--cursor-away { color: $foreground; background: $panel; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "Up", show=False),
        Binding("down", "move(1)", "Down", show=False),
        Binding("pageup", "page(-1)", "Page up", show=False),
        Binding("pagedown", "page(1)", "Page down", show=False),
        Binding("home", "to(0)", "First", show=False),
        Binding("end", "to(-1)", "Last", show=False),
        Binding("enter", "choose", "Choose", show=False),
    ]

    class Moved(Message):
        """The cursor is on another line."""

        def __init__(self, lines: Lines, key: str) -> None:
            super().__init__()
            self.lines, self.key = lines, key

        @property
        def control(self) -> Lines:
            """The list."""
            return self.lines

    class Chosen(Moved):
        """A line was chosen by Enter or a click on it."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._keys: Sequence[str] = ()
        self._line_of: Callable[[str], Line] = lambda key: Line(key, ((key, "plain"),))
        self._at = 0

    @property
    def key(self) -> str:
        """The key of the line under the cursor; empty if there is none."""
        return self._keys[self._at] if self._keys else ""

    @property
    def at(self) -> int:
        """Where the cursor is."""
        return self._at

    def show(self, keys: Sequence[str], line_of: Callable[[str], Line], at: str | int = "") -> None:
        """Shows other lines.

        Args:
            keys: one a line; headings begin with "#".
            line_of: the line of a key.
            at: key of the line that the cursor goes to, or its place; it stays if that is not there.
        """
        self._keys, self._line_of = keys, line_of
        there = self._at if isinstance(at, int) or at not in keys else keys.index(at)
        place = at if isinstance(at, int) else there
        self.virtual_size = Size(self.size.width, len(keys))
        self._at = self._allowed(max(0, min(place, len(keys) - 1)), 1)
        self._follow()
        self.refresh()
        self.post_message(self.Moved(self, self.key))

    def redraw(self) -> None:
        """The same lines may read otherwise now."""
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """One line of what is seen."""
        width = self.scrollable_content_region.width
        n = self.scroll_offset.y + y
        if n >= len(self._keys):
            return Strip.blank(width, self.rich_style)
        line = self._line_of(self._keys[n])
        is_at = n == self._at
        base = self.rich_style
        over = self.get_component_rich_style("lines--cursor" if self.has_focus else "lines--cursor-away", partial=True)
        segments, room = [], width
        for text, tone in ((("▸" if is_at else " ", "strong")), *line.runs):
            shown = text if cell_len(text) <= room else set_cell_size(text, max(0, room - 1)) + "…" * (room > 0)
            room -= cell_len(shown)
            segments.append(Segment(shown, self._style(base, tone, over if is_at else None)))
        if room > 0:
            segments.append(Segment(" " * room, self._style(base, "plain", over if is_at else None)))
        return Strip(segments, width)

    def _style(self, base: Style, tone: str, over: Style | None) -> Style:
        return base + (over or self.get_component_rich_style(f"lines--{tone}", partial=True))

    # ------------------------------------------------------------------------------------------------------- moving

    def _allowed(self, at: int, way: int) -> int:
        """The next line from `at` that is no heading, in the direction of `way`, or else in the other."""
        for step in (way, -way):
            place = at
            while 0 <= place < len(self._keys):
                if not self._keys[place].startswith("#"):
                    return place
                place += step
        return max(0, min(at, len(self._keys) - 1))

    def _go(self, at: int, way: int) -> None:
        if not self._keys:
            return
        before = self._at
        self._at = self._allowed(max(0, min(at, len(self._keys) - 1)), way)
        if self._at != before:
            self._follow()
            self.refresh()
            self.post_message(self.Moved(self, self.key))

    def _follow(self) -> None:
        above = 1 if self._at and self._keys[self._at - 1].startswith("#") else 0
        self.scroll_to_region(Region(0, self._at - above, 1, 1 + above), animate=False, force=True)

    def action_move(self, by: int) -> None:
        """One line up or down."""
        self._go(self._at + by, by)

    def action_page(self, way: int) -> None:
        """A screenful up or down."""
        self._go(self._at + way * max(1, self.size.height - 1), way)

    def action_to(self, at: int) -> None:
        """To the first or last line."""
        self._go(at if at >= 0 else len(self._keys) - 1, 1 if at >= 0 else -1)

    def action_choose(self) -> None:
        """The line under the cursor is chosen."""
        if self._keys:
            self.post_message(self.Chosen(self, self.key))

    def on_click(self, event: Click) -> None:
        """The line that is clicked gets the cursor; clicked again, it is chosen."""
        place = self.scroll_offset.y + event.y
        if place >= len(self._keys) or self._keys[place].startswith("#"):
            return
        if place == self._at:
            self.action_choose()
        self._go(place, 1)

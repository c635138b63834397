"""A list of lines with a cursor that draws only what is seen, so that twenty thousand are as quick as twenty."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from textual.binding import Binding, BindingType
from textual.events import Click, Resize
from textual.message import Message
from textual.strip import Strip

from assistant.screens.scrolled import Scrolled

WIDEST = 22
"""So many cells of a name stand where something else must be seen beside it."""


def short(name: str) -> str:
    """A name, cut where it is longer than `WIDEST`."""
    return name if cell_len(name) <= WIDEST else set_cell_size(name, WIDEST - 1).rstrip() + "…"


def column(text: str, width: int) -> str:
    """A text in at least so many cells; some letters take two."""
    return text + " " * (width - cell_len(text))


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


class Lines(Scrolled):
    """Lines that can be walked with the keyboard or the mouse.

    `show` takes keys and a function that gives the line of a key: it is called only for lines that are seen.

    Args:
        moved: told the key of the line under the cursor whenever that may be another. It is called at once and not by
            a message, so that what follows the cursor is painted together with it.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        f"lines--{tone}"
        for tone in ("plain", "strong", "quiet", "good", "found", "done", "asking", "kept", "cursor", "cursor-away")
    }
    DEFAULT_CSS = """
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

    class Chosen(Message):
        """A line was chosen by Enter or a click on it."""

        def __init__(self, lines: Lines, key: str) -> None:
            super().__init__()
            self.lines, self.key = lines, key

        @property
        def control(self) -> Lines:
            """The list."""
            return self.lines

    def __init__(self, moved: Callable[[str], None] = lambda _: None, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._moved = moved
        self._keys: Sequence[str] = ()
        self._line_of: Callable[[str], Line] = lambda key: Line(key, ((key, "plain"),))
        self._at = 0

    @property
    def key(self) -> str:
        """The key of the line under the cursor; empty if there is none."""
        return self._keys[self._at] if self._keys else ""

    @property
    def line(self) -> Line:
        """The line under the cursor as it reads."""
        return self._line_of(self.key)

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
        place = at if isinstance(at, int) else self._place(at)
        self._at = self._allowed(max(0, min(place, len(keys) - 1)), 1)
        self._follow()
        self.refresh()
        self._moved(self.key)

    def _place(self, key: str) -> int:
        """Where a key is; where the cursor is, if it is nowhere."""
        if self._at < len(self._keys) and self._keys[self._at] == key:
            return self._at
        try:
            return self._keys.index(key)
        except ValueError:
            return self._at

    def to(self, key: str) -> None:
        """Moves the cursor to a key, if it is there."""
        if key:
            self._go(self._place(key), 1)

    def n_rows(self) -> int:
        """How many lines there are."""
        return len(self._keys)

    def row(self, n: int, width: int) -> Strip:
        """One line of what is seen."""
        line = self._line_of(self._keys[n])
        is_at = n == self._at
        over = ("cursor" if self.has_focus else "cursor-away") if is_at else ""
        segments, room = [], width
        for text, tone in ((("▸" if is_at else " ", "strong")), *line.runs):
            shown = text if cell_len(text) <= room else set_cell_size(text, max(0, room - 1)) + "…" * (room > 0)
            room -= cell_len(shown)
            segments.append(Segment(shown, self.tone(f"lines--{over or tone}")))
        if room > 0:
            segments.append(Segment(" " * room, self.tone(f"lines--{over or 'plain'}")))
        return Strip(segments, width)

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
            self.refresh_rows(before, self._at)
            self._moved(self.key)

    def _follow(self) -> None:
        """The cursor is seen, with the heading right above it; before there is room for anything, nothing is."""
        if not self.size.height:
            return
        above = 1 if self._at and self._keys[self._at - 1].startswith("#") else 0
        self.to_top(max(self._at - self.size.height + 1, min(self.top, self._at - above)))

    def on_resize(self, _: Resize) -> None:
        """The cursor stays where it is seen; a list whose height goes by its lines shows what it can above it."""
        height = self.styles.height
        if height is not None and height.is_cells:
            self.to_top(self._at - self.size.height + 1)
        self._follow()

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
        place = self.top + event.y
        if self.is_on_bar(event) or place >= len(self._keys) or self._keys[place].startswith("#"):
            return
        if place == self._at:
            self.action_choose()
        self._go(place, 1)

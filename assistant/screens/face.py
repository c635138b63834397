"""What every screen shares: the program's frame, its looks, the list of keys, and the line that says what happened."""

from __future__ import annotations

import gc
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar, cast

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.dom import DOMNode
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from assistant.errors import AssistantError
from assistant.screens.lines import Line, Lines
from assistant.screens.palette import THEMES
from assistant.values import Sound

Player = Callable[[Sound], str]
"""Makes a sound heard; gives what is wrong where it cannot, else nothing."""


@dataclass(frozen=True)
class Look:
    """How the screens look now.

    Attributes:
        colours: "dark", "light" or "plain" for none.
        is_far: large letters, to be read from across the pen.
        in_words: sentences instead of drawings, for those who listen to the screen.
    """

    colours: str = "dark"
    is_far: bool = False
    in_words: bool = False


class Face(App[int]):
    """The program's frame at a terminal.

    Args:
        make: makes the screen that it starts with, once the frame is painted: what a screen shows may take a moment.
        look: how it looks.

    Attributes:
        trouble: why the screen could not be made; the frame is left then.
    """

    TITLE = "Handling assistant"
    ENABLE_COMMAND_PALETTE = False
    CSS = """
    Screen { background: $background; color: $foreground; layers: base over; }
    .bar { height: 1; background: $panel; padding: 0 1; }
    .happened { height: 1; padding: 0 1; color: $warning; text-style: bold; }
    .pane { padding: 0 1; height: 1fr; }
    Keyline { height: 1; background: $panel; padding: 0 1; }
    ModalScreen { align: center middle; background: $background 40%; }
    .sheet { background: $surface; border: round $primary; padding: 0 1; width: 72; max-width: 96%; height: auto;
             max-height: 90%; }
    .sheet Lines { height: auto; max-height: 14; background: $surface; }
    .sheet Input { border: none; height: 1; background: $panel; padding: 0 1; }
    .problem { color: $warning; height: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "keys", "All keys", priority=True),
        Binding("f3", "words", "Drawing or words", show=False, priority=True),
        Binding("f4", "colours", "Dark, light, no colour", show=False, priority=True),
        Binding("ctrl+q", "leave", "Leave", priority=True),
    ]

    def __init__(self, make: Callable[[], Screen[None]], look: Look | None = None) -> None:
        super().__init__()
        self._make = make
        self.look = look or Look()
        self.trouble: AssistantError | None = None
        for theme in THEMES.values():
            self.register_theme(theme)
        self._show_look()

    def compose(self) -> ComposeResult:
        """What stands there until the first screen does."""
        yield Static("One moment …  F1 lists the keys, Ctrl+Q leaves.", classes="bar")

    def on_mount(self) -> None:
        """The first screen comes up as soon as the frame is painted."""
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        try:
            self.push_screen(self._make())
            # What was read from the store stays; to look through it for garbage again and again would hold up keys.
            gc.freeze()
        except AssistantError as error:
            self.trouble = error
            self.exit(1)

    def change_look(self, look: Look) -> None:
        """Shows everything in another look."""
        self.look = look
        self._show_look()
        for screen in self.screen_stack:
            if isinstance(screen, PenScreen):
                screen.looked()

    def _show_look(self) -> None:
        self.theme = THEMES[self.look.colours].name

    def action_keys(self) -> None:
        """Lists the keys of the screen that is shown, or closes that list."""
        if isinstance(self.screen, KeyList):
            self.screen.dismiss()
        else:
            self.push_screen(KeyList(self.screen))

    def action_words(self) -> None:
        """Changes between drawing and words."""
        self.change_look(Look(self.look.colours, self.look.is_far, not self.look.in_words))

    def action_colours(self) -> None:
        """Changes to the next colours."""
        order = tuple(THEMES)
        after = order[(order.index(self.look.colours) + 1) % len(order)]
        self.change_look(Look(after, self.look.is_far, self.look.in_words))

    def action_leave(self) -> None:
        """Leaves the program; screens with something to end do so first."""
        screen = self.screen_stack[1] if len(self.screen_stack) > 1 else None
        if isinstance(screen, PenScreen):
            screen.leaving()
        self.exit(0)


class PenScreen(Screen[None]):
    """A screen with a line for what just happened and a line of keys."""

    @property
    def look(self) -> Look:
        """How it looks now."""
        return cast(Face, self.app).look

    def looked(self) -> None:
        """The look has changed: to be drawn anew."""

    def leaving(self) -> None:
        """The program is about to be left."""

    def tell(self, text: str) -> None:
        """Says what just happened, in the one line that is for it."""
        self.query_one(".happened", Static).update(Content(text))


class Keyline(Static):
    """The most used keys, in one line; it is cut where it does not fit, for F1 lists them all."""

    def __init__(self, keys: Sequence[tuple[str, str]]) -> None:
        super().__init__()
        self.keys = keys

    def render(self) -> Content:
        """As many keys as fit, the list of all keys always."""
        room = self.size.width - len("F1 all keys")
        shown: list[tuple[str, str]] = []
        for key, words in self.keys:
            if room < len(key) + len(words) + 3:
                break
            room -= len(key) + len(words) + 3
            shown += [(f"{key} ", "bold $footer-key-foreground"), (f"{words}  ", "")]
        return Content.assemble(*shown, ("F1 ", "bold $footer-key-foreground"), "all keys")


_KEY_NAMES = {
    "question_mark": "?",
    "slash": "/",
    "left_square_bracket": "[",
    "right_square_bracket": "]",
    "left": "←",
    "right": "→",
    "up": "↑",
    "down": "↓",
    "pageup": "Page up",
    "pagedown": "Page down",
    "escape": "Esc",
}


def key_name(keys: str) -> str:
    """Keys as they stand on a keyboard: "ctrl+r,u" is "Ctrl+R or u"."""
    return " or ".join(_one_name(key) for key in keys.split(","))


def _one_name(key: str) -> str:
    if key in _KEY_NAMES or len(key) == 1:
        return _KEY_NAMES.get(key, key)
    return "+".join(part.capitalize() for part in key.split("+"))


def _own_bindings(node: DOMNode | None) -> list[Binding]:
    """The keys that this program gives a part of the screen, without those that the library adds."""
    kinds = [kind for kind in type(node).__mro__ if kind.__module__.startswith("assistant.")]
    declared = [binding for kind in kinds for binding in kind.__dict__.get("BINDINGS", ())]
    return [binding for binding in declared if isinstance(binding, Binding) and binding.description]


class KeyList(ModalScreen[None]):
    """All keys of a screen."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,enter,q,question_mark", "dismiss", "Close")]

    def __init__(self, of: Screen[object]) -> None:
        super().__init__()
        found: dict[str, list[str]] = {}
        for node in (of, of.focused, of.app):
            for binding in _own_bindings(node):
                found.setdefault(binding.description, []).append(key_name(binding.key))
        self.found = {words: " or ".join(dict.fromkeys(keys)) for words, keys in found.items()}

    def compose(self) -> ComposeResult:
        """A sheet with one line a key."""
        with Vertical(classes="sheet"):
            yield Static(Content.from_text("[b]Keys[/b]"))
            yield Lines()
            yield Static("Esc closes", classes="muted")

    def on_mount(self) -> None:
        """Fills the list."""
        lines = self.query_one(Lines)
        lines.show(
            list(self.found), lambda words: Line(words, ((f"{self.found[words]:<18}", "strong"), (words, "plain")))
        )
        lines.styles.height = min(len(self.found), 16)
        lines.focus()

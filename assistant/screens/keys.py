"""Keys: one table for a screen, of which its bindings, the line at its foot and the list of all keys are made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.dom import DOMNode
from textual.screen import Screen
from textual.widgets import Static

from assistant.screens.lines import Line, Lines
from assistant.screens.over import Over


@dataclass(frozen=True)
class Key:
    """A key of a screen.

    Attributes:
        keys: with commas between, as the library names them.
        action: what it does; empty if it belongs to what is typed into, and is only told.
        words: what it does, for the list of all keys.
        short: the same in a word or two, for the line at the foot; none stands there without one.
        shown: how the key stands in that line; as in the list if left out.
    """

    keys: str
    action: str
    words: str
    short: str = ""
    shown: str = ""


ALL_KEYS = Key("question_mark", "app.keys", "All keys")
LEAVE = Key("q", "app.leave", "Leave", "leave")
FAR = Key("f2", "app.far", "Large letters, to be read from across the pen", "large")
BESIDE = Key("tab", "app.focus_next", "To the text beside, to scroll it, and back")
"""Keys that screens have in common."""


def bindings(table: Sequence[Key]) -> list[BindingType]:
    """What the library binds for a table of keys."""
    return [Binding(key.keys, key.action, key.words) for key in table if key.action]


class Keyline(Static):
    """The most used keys, in one line; it is cut where it does not fit, for F1 lists them all."""

    DEFAULT_CSS = "Keyline { height: 1; background: $panel; padding: 0 1; }"

    def __init__(self, table: Sequence[Key]) -> None:
        super().__init__()
        self._keys = [(key.shown or key_name(key.keys.split(",")[0]), key.short) for key in table if key.short]

    def render(self) -> Content:
        """As many keys as fit, the list of all keys always."""
        room = self.size.width - len("F1 all keys")
        shown: list[tuple[str, str]] = []
        for key, words in self._keys:
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


class KeyList(Over[None]):
    """All keys of a screen. It is made once, and lists those of another screen when it comes up again."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,enter,q,question_mark", "dismiss", "Close")]

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, str] = {}

    def read(self, of: Screen[object]) -> None:
        """Finds the keys of a screen."""
        found: dict[str, list[str]] = {}
        for node in (of, of.focused, of.app):
            for binding in _own_bindings(node):
                found.setdefault(binding.description, []).append(key_name(binding.key))
        self.found = {words: " or ".join(dict.fromkeys(keys)) for words, keys in found.items()}
        if self.is_mounted:
            self._fill()

    def compose(self) -> ComposeResult:
        """A sheet with one line a key."""
        with Vertical(classes="sheet"):
            yield Static(Content.from_text("[b]Keys[/b]"))
            yield Lines()
            yield Static("Esc closes", classes="muted")

    def on_mount(self) -> None:
        """Fills the list."""
        self._fill()

    def _fill(self) -> None:
        lines = self.query_one(Lines)
        lines.show(
            list(self.found), lambda words: Line(words, ((f"{self.found[words]:<18}", "strong"), (words, "plain"))), 0
        )
        lines.styles.height = max(1, len(self.found))
        self.fit()
        lines.focus()

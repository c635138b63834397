"""Keeps what stands in a store from steering the terminal: a name may hold any character, orders to it as well."""

from __future__ import annotations

import unicodedata

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""They change the direction of what follows, beyond the end of the name.

Source: Unicode Standard Annex 9, The Bidirectional Algorithm, section 2, Directional Formatting Characters.
"""


def printable(text: str) -> str:
    """A text without characters that are orders to a terminal."""
    if text.isprintable():
        return text
    return "".join(ch for ch in text if unicodedata.category(ch) not in ("Cc", "Zl", "Zp") and ch not in _TURNING)


class Printable(LineFilter):
    """Takes such characters out of every line that is drawn; they take no room there either."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The line without them."""
        if all(segment.text.isprintable() for segment in segments):
            return segments
        return [Segment(printable(text), style, control) for text, style, control in segments]

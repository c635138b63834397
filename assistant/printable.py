"""Keeps what stands in a store from steering the terminal: a name may hold any character, orders to it as well."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from typing import TextIO, cast

_TURNING = "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"
"""They change the direction of what follows, beyond the end of the name.

Source: Unicode Standard Annex 9, The Bidirectional Algorithm, section 2, Directional Formatting Characters.
"""
_ORDERS = re.compile(f"[\x00-\x1f\x7f-\x9f\u2028\u2029{_TURNING}]")
_ORDERS_IN_LINES = re.compile(f"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029{_TURNING}]|\r(?!\n)")


def printable(text: str) -> str:
    """A name, or another part of a line, without characters that are orders to a terminal."""
    return text if text.isprintable() else _ORDERS.sub("", text)


class PrintableStream:
    """A stream that takes such characters out of all that is written to it; only lines and tabs stay.

    Args:
        stream: where the rest goes; all else is as of that stream.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Writes the text without them."""
        self._stream.write(text if text.isprintable() else _ORDERS_IN_LINES.sub("", text))
        return len(text)

    def __getattr__(self, name: str) -> object:
        return getattr(self._stream, name)


@contextmanager
def printing_only() -> Iterator[None]:
    """All that is printed meanwhile, also what is said of errors, leaves such characters out."""
    out, err = PrintableStream(sys.stdout), PrintableStream(sys.stderr)
    with redirect_stdout(cast(TextIO, out)), redirect_stderr(cast(TextIO, err)):
        yield

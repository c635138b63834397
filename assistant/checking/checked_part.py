"""What a check finds of one part of the program or machine."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Health(StrEnum):
    """How well a part is."""

    GOOD = "good"
    LESS = "less"
    """A session goes, with less."""
    FAULT = "fault"
    """A session would fail, or its records would be wrong."""


@dataclass(frozen=True)
class CheckedPart:
    """One part and how it is.

    Attributes:
        part: its name.
        health: how well it is.
        text: what was found.
        to_do: what to do; empty if it is good.
    """

    part: str
    health: Health
    text: str
    to_do: str = ""

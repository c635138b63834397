"""A holding with three sessions for what leaves the store: findings over time, a correction, follow-ups."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from tests.live_stage import Stage

SPRING = (
    "tansy",
    "left hind, hollow wall",
    "right fore overgrown, trimmed",
    "condition two",
    "done",
    "between the claws clean, done",
    "sorrel",
    "weight fifty kilos",
    "all four feet fine",
    "done",
    "between the claws clean, done",
)
SUMMER = ("tansy", "left hind, hollow wall, cut out", "condition two and a half", "done", "done")
AUTUMN = (
    "tansy",
    "left hind outer claw bad abscess, drained, sprayed",
    "both fores overgrown, trimmed",
    "right hind fine, between the claws clean",
    "check her in two weeks",
    "condition two and a half",
    "scratch that",
    "condition three",
    "done",
    "sorrel",
    "ring the vet",
    "skip, she's heavy in kid",
)


def filled(folder: Path) -> Stage:
    """The holding after its third session; one remark of that has a sound."""
    stage = Stage(folder)
    for n, lines in enumerate((SPRING, SUMMER, AUTUMN)):
        if n:
            stage.now += timedelta(days=56)
            stage.session(f"s{n + 1}")
        for line in lines:
            stage.type(line, wait_s=20)
        if n == 2:
            stage.hear("yarrow")
            stage.hear("left fore crack")
        stage.handling.end(stage.now + timedelta(seconds=5))
    return stage

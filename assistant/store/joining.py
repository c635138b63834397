"""Two histories of one thing made one: what both have stays in front, what each has alone follows in order of time.

The result does not depend on which of the two is named first, nor on the order in which several are joined, as long as
no clock was set back; joining a history with a part of itself changes nothing.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import takewhile
from typing import Any, TypeVar

Row = TypeVar("Row", bound=Hashable)

Times = Callable[[Sequence[Any]], Sequence[float]]
"""When each row of a history came to be, in seconds; histories are sorted by it where they differ."""


@dataclass(frozen=True)
class Joined:
    """Two histories as one.

    Attributes:
        rows: all of both.
        ours, theirs: rows that only one of the two has; both are empty if one history goes on where the other stops.
    """

    rows: tuple[Any, ...]
    ours: tuple[Any, ...] = ()
    theirs: tuple[Any, ...] = ()


def joined(ours: Sequence[Row], theirs: Sequence[Row], times: Times) -> Joined:
    """Joins two histories.

    Args:
        ours: rows of one, in their order; equal rows are the same thing.
        theirs: rows of the other.
        times: of a history.
    """
    n = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(ours, theirs, strict=False)))
    if n == len(theirs):
        return Joined(tuple(ours))
    if n == len(ours):
        return Joined(tuple(theirs))
    only_ours, only_theirs = _without(ours[n:], theirs[n:]), _without(theirs[n:], ours[n:])
    if not only_theirs:
        return Joined(tuple(ours))
    if not only_ours:
        return Joined(tuple(theirs))
    keyed = [*zip(_rising(times(ours)), ours, strict=True)][n:]
    others = Counter(only_theirs)
    for key, row in [*zip(_rising(times(theirs)), theirs, strict=True)][n:]:
        if others[row] > 0:
            others[row] -= 1
            keyed.append((key, row))
    side = dict.fromkeys(only_theirs, repr(only_theirs[0])) | dict.fromkeys(only_ours, repr(only_ours[0]))
    keyed.sort(key=lambda pair: (pair[0], side.get(pair[1], "")))
    return Joined((*ours[:n], *(row for _, row in keyed)), tuple(only_ours), tuple(only_theirs))


def _without(rows: Sequence[Row], others: Sequence[Row]) -> list[Row]:
    """Rows that the others lack, as often as they lack them, in order."""
    left = Counter(others)
    found = []
    for row in rows:
        if left[row] > 0:
            left[row] -= 1
        else:
            found.append(row)
    return found


def _rising(times: Sequence[float]) -> list[float]:
    """Times that never fall: order within one history is by its rows, whatever the clock said."""
    high = float("-inf")
    found = []
    for time in times:
        high = max(high, time)
        found.append(high)
    return found


# -------------------------------------------------------------------------------------------------- times of rows

EventRow = tuple[str, str]
"""Type and content of an event."""

VersionRow = tuple[str | None, str]
"""When a version was saved, and its content."""


def event_times(rows: Sequence[EventRow]) -> list[float]:
    """When events came to be. An entry that a decision made was made at the time of that decision, which follows it."""
    found: list[float] = []
    decided: dict[str, float] = {}
    for name, text in reversed(rows):
        payload = json.loads(text)
        time = _event_time(payload)
        if name == "Reviewed":
            decided.update(dict.fromkeys(payload.get("entries", ()), time))
        found.append(decided.get(_entry_id(payload), time))
    return found[::-1]


def _entry_id(payload: dict[str, Any]) -> str:
    entry = payload.get("entry")
    return str(entry.get("id")) if isinstance(entry, dict) else ""


def _event_time(payload: dict[str, Any]) -> float:
    holders = (payload, payload.get("entry"), payload.get("remark"))
    return next((seconds(one["time"]) for one in holders if isinstance(one, dict) and "time" in one), 0.0)


def version_times(rows: Sequence[VersionRow]) -> list[float]:
    """When versions were saved; those without a time come first."""
    return [seconds(saved) if saved else float("-inf") for saved, _ in rows]


def seconds(time: str) -> float:
    """Seconds of a moment in ISO 8601 since 1970."""
    return datetime.fromisoformat(time).timestamp()

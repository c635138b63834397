"""When two lists of parts mean the same: the comparison behind agreement and evaluation."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from assistant.values import Part

PartKey = tuple[tuple[str, str], ...]
MeaningKey = frozenset[PartKey]

_LIST_WITH = {"reason", "note", "place", "part"}
"""Keys that belong to the command before them when a list gives them as an object of their own."""


def meaning_key(parts: Iterable[Part | Mapping[str, Any]], who: Callable[[str], str] = str.casefold) -> MeaningKey:
    """What two equal meanings share, whatever the order of their parts and however often one is repeated.

    Args:
        parts: parts, or the flat objects of docs/vocabulary.md.
        who: gives animals that are the same the same text, such as an id from the register.

    Returns:
        A hashable key; equal keys mean equal meanings.
    """
    keys: list[PartKey] = []
    for flat in _joined(part.flat() if isinstance(part, Part) else dict(part) for part in parts):
        if "command" in flat and "animal" in flat:
            keys.append(_part_key({"animal": flat.pop("animal")}, who))
        keys.append(_part_key(flat, who))
    return frozenset(keys)


def _joined(flats: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Objects with a reason, note or place of their own directly after a command become part of the command."""
    joined: list[dict[str, Any]] = []
    for flat in flats:
        if joined and "command" in joined[-1] and flat and set(flat) <= _LIST_WITH:
            joined[-1] = {**joined[-1], **flat}
        else:
            joined.append(flat)
    return joined


def _part_key(flat: Mapping[str, Any], who: Callable[[str], str]) -> PartKey:
    return tuple(sorted((name, _text(name, value, who)) for name, value in flat.items() if value is not None))


def _text(name: str, value: Any, who: Callable[[str], str]) -> str:
    if name in ("animal", "other"):
        return who(str(value))
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{float(value):g}"
    return str(value).casefold()

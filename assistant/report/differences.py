"""What merged machines say differently, in lines that a keeper can decide on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.report.summary import words_of
from assistant.values import part_from


def side_text(
    kind: str, side: Mapping[str, Any], others: tuple[Mapping[str, Any], ...], names: Mapping[str, str]
) -> str:
    """One side of a difference in a few words.

    Args:
        kind: of the difference, as in `assistant.store.conflict.ConflictKind`.
        side: what one machine says.
        others: what the others say; of a long record only what is not the same everywhere is told.
        names: animal id → how it is called.
    """
    match kind:
        case "corrected twice" | "what an entry says":
            return _entry_text(side, names)
        case "how an animal left":
            return f"{side['kind']}: {side['reason']}" if side.get("reason") else str(side["kind"])
        case "what a remark was taken for":
            return f"“{side['words']}”" if side.get("words") else "not understood"
    differing = [key for key in side if any(side[key] != other.get(key) for other in others)]
    return ", ".join(f"{key} {side[key] if side[key] not in ('', None) else 'empty'}" for key in differing)


def _entry_text(side: Mapping[str, Any], names: Mapping[str, str]) -> str:
    if side["state"] == "withdrawn":
        return f"{side['by'] or 'somebody'}: withdrawn"
    what = words_of(part_from(side["part"]))
    return f"{side['by'] or 'somebody'}: {names.get(side['animal'], side['animal'])}, {what}"

"""Which of the four feet, and whether the skin between the claws, have been mentioned."""

from __future__ import annotations

from collections.abc import Iterable

from assistant.values import BETWEEN, FEET, ActionPart, FindingPart, Part

BETWEEN_BY_NATURE = frozenset({"scald", "growth", "damp skin"})
"""Findings that lie between the claws even when that is not said (docs/vocabulary.md)."""


def is_between(part: Part) -> bool:
    """Whether a part speaks of the skin between the claws."""
    is_there = isinstance(part, FindingPart | ActionPart) and part.part == BETWEEN
    return is_there or (isinstance(part, FindingPart) and part.finding in BETWEEN_BY_NATURE)


def gaps(parts: Iterable[Part]) -> tuple[str, ...]:
    """What has not been mentioned of an animal's feet: feet in their usual order, then "between the claws".

    Args:
        parts: what holds for the animal in this session.
    """
    said = tuple(parts)
    places = {part.place for part in said if isinstance(part, FindingPart | ActionPart)}
    missing = tuple(foot for foot in FEET if foot not in places)
    return missing if any(is_between(part) for part in said) else (*missing, BETWEEN)

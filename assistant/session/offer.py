"""What a question offers: of two readings only what differs, the likelier first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from assistant.meaning.belonging import SETS
from assistant.session import replies
from assistant.session.state import Choice
from assistant.values import ActionPart, AnimalPart, CommandPart, FindingPart, Part, PlacePart, QuestionPart

OFFERED = 2
"""So many readings are said aloud; more are hard to keep in mind with shears in hand (common practice, no source)."""

SHORT = 3
"""Where a reading has more words, a comma parts it from the other."""

LONGEST = 9
"""A reading of more words is not offered but said again: it is hard to listen to (common practice, no source)."""

SAY_AGAIN = "Not clear. Say it again?"

_SET_OF = {frozenset(places): name for name, places in SETS.items()}


def offer(choices: Sequence[Choice], today: date) -> str:
    """The question between readings: "Left hind or left fore?" if they differ in nothing but the place.

    Args:
        choices: at least one, best first; those that are not said aloud can be picked all the same.
        today: for days that a reading names.
    """
    best = choices[:OFFERED]
    labels = _labels(best, today) if len(best) == OFFERED else [best[0].label]
    length = max(len(label.split()) for label in labels)
    if length > LONGEST:
        return SAY_AGAIN
    if length > SHORT or any("," in label for label in labels):
        return f"{replies.sentence_case(', or '.join(labels))}?"
    return f"{replies.sentence_case(' or '.join(labels))}?"


def _labels(choices: Sequence[Choice], today: date) -> list[str]:
    """What tells two readings apart, in the fewest words that do."""
    first, second = choices
    ways = (_places_that_differ, _facts_that_differ)
    for way in ways:
        labels = [way(one.parts, other.parts, today) for one, other in ((first, second), (second, first))]
        if all(labels) and labels[0] != labels[1]:
            return labels
    return [first.label, second.label]


def _places_that_differ(parts: tuple[Part, ...], others: tuple[Part, ...], _: date) -> str:
    """The places, if all else is the same."""
    if _without_places(parts) != _without_places(others):
        return ""
    named = [replies.place_words(*_where(one)) for one in parts if _where(one)[0]]
    return _SET_OF.get(frozenset(named)) or replies.listed(list(dict.fromkeys(named)))


def _without_places(parts: Sequence[Part]) -> set[Part]:
    return {
        replace(one, place="", part=None) if isinstance(one, PlacePart | FindingPart | ActionPart) else one
        for one in parts
    }


def _facts_that_differ(parts: tuple[Part, ...], others: tuple[Part, ...], today: date) -> str:
    """The facts that the other reading does not have; without their place if all are at the same one."""
    own = [one for one in parts if one not in others]
    if any(isinstance(one, AnimalPart | CommandPart | QuestionPart | PlacePart) for one in (*parts, *others)):
        return ""
    if len({_where(one) for one in (*parts, *others)}) == 1:
        own = [replace(one, place="", part=None) if isinstance(one, FindingPart | ActionPart) else one for one in own]
    return replies.listed(list(dict.fromkeys(replies.part_words(one, today) for one in own)))


def _where(part: Part) -> tuple[str | None, str | None]:
    if isinstance(part, PlacePart | FindingPart | ActionPart):
        return part.place, part.part
    return None, None

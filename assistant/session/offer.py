"""What a question offers: of two readings only what differs, the likelier first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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

Where = tuple[str | None, str | None]
"""A place, and the part of it."""

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
    feet, other_feet = ([place for place, _ in map(_where, some)] for some in (parts, others))
    closer, other_closer = ([part for _, part in map(_where, some)] for some in (parts, others))
    if feet != other_feet and closer == other_closer:
        return _called(place for place in feet if place)
    return _called(replies.place_words(*_where(one)) for one in parts if _where(one)[0])


def _called(places: Iterable[str]) -> str:
    """Places in words, together where they have a name: "both hinds"."""
    named = list(dict.fromkeys(places))
    return _SET_OF.get(frozenset(named)) or replies.listed(named)


def _without_places(parts: Sequence[Part]) -> set[Part]:
    return {_bare(replace(one, place="") if isinstance(one, PlacePart) else one) for one in parts}


def _bare(part: Part) -> Part:
    """A fact without its place."""
    if isinstance(part, FindingPart | ActionPart):
        return replace(part, place="", part=None)
    return replace(part, part=None) if isinstance(part, PlacePart) else part


def _facts_that_differ(parts: tuple[Part, ...], others: tuple[Part, ...], today: date) -> str:
    """The facts that the other reading does not have; without their places if all are at the same ones."""
    if any(isinstance(one, AnimalPart | CommandPart | QuestionPart | PlacePart) for one in (*parts, *others)):
        return ""
    own = _by_fact(one for one in parts if one not in others)
    all_places = {places for some in (parts, others) for places in _by_fact(some).values()}
    if len(all_places) == 1:
        return replies.listed([replies.part_words(fact, today) for fact in own])
    return replies.listed([_fact_words(fact, places, today) for fact, places in own.items()])


def _by_fact(parts: Iterable[Part]) -> dict[Part, tuple[Where, ...]]:
    """Each fact with all places that it is said of, in their order."""
    where: dict[Part, list[Where]] = {}
    for one in parts:
        where.setdefault(_bare(one), []).append(_where(one))
    return {fact: tuple(dict.fromkeys(places)) for fact, places in where.items()}


def _fact_words(fact: Part, places: tuple[Where, ...], today: date) -> str:
    where = _called(words for words in (replies.place_words(*place) for place in places) if words)
    return f"{where} {replies.part_words(fact, today)}".strip()


def _where(part: Part) -> Where:
    if isinstance(part, PlacePart | FindingPart | ActionPart):
        return part.place, part.part
    return None, None

"""What a fact can be changed into: lists to choose from, and the fact with the choice in it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from assistant.meaning.wording import Wording
from assistant.screens.choosing import Choice
from assistant.session.replies import place_words
from assistant.values import (
    WHOLE_ANIMAL,
    ActionPart,
    Animal,
    FindingPart,
    FollowUpPart,
    Grade,
    MarkPart,
    MeasurePart,
    Part,
    TagPart,
    TraitPart,
)

_NONE = "none"
_JOINT = " / "


def animal_choices(animals: Iterable[Animal], likely: Iterable[str] = ()) -> list[Choice]:
    """All animals, the likely ones first; found by name, number, tag and group."""
    by_id = {animal.id: animal for animal in animals}
    order = dict.fromkeys([*(key for key in likely if key in by_id), *by_id])
    return [Choice(key, by_id[key].label, _also(by_id[key])) for key in order]


def _also(animal: Animal) -> str:
    known = (animal.number, animal.tag, animal.group, *animal.nicknames)
    return " ".join(dict.fromkeys(word for word in known if word and word != animal.label))


def place_choices(words: Wording) -> list[Choice]:
    """Every place and part of a place."""
    return [Choice(_JOINT.join(filter(None, place)), place_words(*place) or place[0]) for place in words.all_places]


def at_place(part: Part, key: str) -> Part:
    """The fact at another place; a fact that has no place stays as it is."""
    place, _, detail = key.partition(_JOINT)
    if isinstance(part, FindingPart | ActionPart):
        return replace(part, place=place, part=detail or None)
    return part


def place_key(part: Part) -> str:
    """The key of the place where a fact is now."""
    if isinstance(part, FindingPart | ActionPart):
        return _JOINT.join(filter(None, (part.place, part.part)))
    return ""


def finding(part: Part, found: str) -> Part:
    """Something else was found there; a grade goes with the finding that it was said of."""
    if isinstance(part, FindingPart):
        return replace(part, finding=found, grade=part.grade if found != "sound" else None)
    if isinstance(part, ActionPart):
        return FindingPart(part.place, found, part.part)
    return FindingPart(WHOLE_ANIMAL, found)


def action(part: Part, done: str) -> Part:
    """Something else was done there."""
    if isinstance(part, ActionPart):
        return replace(part, action=done)
    if isinstance(part, FindingPart):
        return ActionPart(part.place, done, part.part)
    return ActionPart(WHOLE_ANIMAL, done)


def value_choices(part: Part, words: Wording) -> list[Choice]:
    """What the value of a fact can be, where it is one of a list; none where it is a number."""
    match part:
        case FindingPart():
            return [Choice(_NONE, "no grade"), *simple_choices(words.grades)]
        case TraitPart():
            return simple_choices(words.traits)
        case MarkPart():
            return simple_choices(words.marks)
        case TagPart():
            return simple_choices(words.tags)
    return []


def with_value(part: Part, value: str) -> Part | None:
    """The fact with another value, chosen or typed; None if it does not fit."""
    match part:
        case FindingPart():
            return replace(part, grade=None if value == _NONE else Grade(value))
        case TraitPart():
            return TraitPart(value)
        case MarkPart():
            return MarkPart(value)
        case TagPart():
            return TagPart(value)
        case MeasurePart():
            number = _number(value)
            return None if number is None else replace(part, value=number)
        case FollowUpPart():
            if value.strip() in ("", "-", _NONE):
                return replace(part, days=None)
            return replace(part, days=int(value)) if value.strip().isdecimal() and len(value.strip()) < 5 else None
    return None


def value_now(part: Part) -> str:
    """The value of a fact as it would be typed or chosen."""
    match part:
        case FindingPart():
            return part.grade or _NONE
        case MeasurePart():
            return f"{part.value:g}"
        case FollowUpPart():
            return _NONE if part.days is None else str(part.days)
        case TraitPart():
            return part.trait
        case MarkPart():
            return part.mark
        case TagPart():
            return part.tag
    return ""


def _number(text: str) -> float | None:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        return None


def simple_choices(values: Iterable[str]) -> list[Choice]:
    """Words to choose from as they are."""
    return [Choice(str(value), str(value)) for value in values]

"""Short ways to write expected meanings in a table: each gives flat objects as docs/vocabulary.md has them."""

from __future__ import annotations

from typing import Any

Flat = dict[str, Any]
Flats = list[Flat]

FEET = {"LF": "left fore", "RF": "right fore", "LH": "left hind", "RH": "right hind"}
GROUPS = {"fores": ("LF", "RF"), "hinds": ("LH", "RH"), "all": ("LF", "RF", "LH", "RH")}
GROUPS |= {"near": ("LF", "LH"), "off": ("RF", "RH")}
BETWEEN = "between the claws"


def places(place: str | None) -> list[str | None]:
    """The canonical places behind a foot code, a group or a place written out."""
    return [FEET.get(code, code) for code in GROUPS.get(place, (place,))] if place else [None]


def saw(place: str | None, finding: str, part: str | None = None, grade: str | None = None) -> Flats:
    return [_without_none(place=p, part=part, finding=finding, grade=grade) for p in places(place)]


def did(place: str | None, action: str, part: str | None = None, medicine: str | None = None) -> Flats:
    return [_without_none(place=p, part=part, action=action, medicine=medicine) for p in places(place)]


def opened(place: str, part: str | None = None) -> Flats:
    return [_without_none(place=p, part=part) for p in places(place)]


def measure(name: str, value: float) -> Flats:
    return [{"measure": name, "value": value}]


def later(follow_up: str, days: int | None = None) -> Flats:
    return [{"follow_up": follow_up, "days": days}]


def trait(name: str) -> Flats:
    return [{"trait": name}]


def mark(colour: str) -> Flats:
    return [{"mark": colour}]


def tag(state: str) -> Flats:
    return [{"tag": state}]


def animal(name: str) -> Flats:
    return [{"animal": name}]


def order(command: str, **more: str) -> Flats:
    return [{"command": command, **more}]


def asks(question: str, **more: str) -> Flats:
    return [{"question": question, **more}]


def _without_none(**values: Any) -> Flat:
    return {name: value for name, value in values.items() if value is not None}

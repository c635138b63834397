"""What happens in a session, as values: inputs that come from outside, and the events that the store keeps."""

from __future__ import annotations

import types
import typing
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import date, datetime
from enum import StrEnum
from functools import cache
from typing import Any, Union, cast

from assistant.session.state import Outcome, Policy, Question
from assistant.values import Entry, Part, Remark, Scope, part_from

# ---------------------------------------------------------------------------------------------------------- inputs


@dataclass(frozen=True)
class Started:
    """A session begins. Input and kept event at once."""

    session: str
    time: datetime
    planned: tuple[str, ...] = ()
    by: str = ""
    source: str = ""
    policy: Policy = Policy.NORMAL


@dataclass(frozen=True)
class Said:
    """A remark was made.

    Attributes:
        remark: with its verdict (None if typed) and meaning.
        animals: for each animal mentioned in any reading, as said, the ids that it may stand for.
        choices: if the verdict is to ask: one remark for each open reading, best first, with words and meaning.
    """

    remark: Remark
    animals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    choices: tuple[Remark, ...] = ()


@dataclass(frozen=True)
class TimedOut:
    """The open question was not answered within `ANSWER_S`."""

    time: datetime


@dataclass(frozen=True)
class Ended:
    """The session is ended from outside, as by closing the program."""

    time: datetime


# ------------------------------------------------------------------------------------------------------------ kept


@dataclass(frozen=True)
class AnimalCaught:
    """An animal is on the table."""

    time: datetime
    animal: str
    remark: str


@dataclass(frozen=True)
class AnimalLeft:
    """An animal left the table."""

    time: datetime
    animal: str
    outcome: Outcome
    remark: str


@dataclass(frozen=True)
class GapsTold:
    """The keeper said "done" and was told what had not been mentioned; the animal stays on the table."""

    time: datetime
    gaps: tuple[str, ...]
    remark: str


@dataclass(frozen=True)
class EntryMade:
    """A fact was recorded."""

    entry: Entry


@dataclass(frozen=True)
class EntrySuperseded:
    """A fact was recorded in place of `old`; withdrawn facts are entries with that state."""

    entry: Entry
    old: str


@dataclass(frozen=True)
class Undone:
    """The table is again as it was before a remark; its entries are withdrawn by events of their own."""

    time: datetime
    remark: str


@dataclass(frozen=True)
class ScopeOpened:
    """A place is open for what follows."""

    time: datetime
    scope: Scope


@dataclass(frozen=True)
class RemarkKept:
    """A remark did not become an entry, or not wholly; `to_review` puts it before the keeper at the screen."""

    time: datetime
    remark: str
    reason: str
    to_review: bool = True


@dataclass(frozen=True)
class QuestionAsked:
    """A question waits for an answer."""

    time: datetime
    question: Question


@dataclass(frozen=True)
class QuestionAnswered:
    """The open question is closed.

    Attributes:
        time: when.
        remark: id of the remark that the question was about.
        answer: id of the remark that answered it; empty if nobody did.
    """

    time: datetime
    remark: str
    answer: str = ""


@dataclass(frozen=True)
class Paused:
    """Only "resume" is heard from now on."""

    time: datetime
    remark: str


@dataclass(frozen=True)
class Resumed:
    """Remarks are heard again."""

    time: datetime
    remark: str


@dataclass(frozen=True)
class Noted:
    """Something to be remembered, as sound and in words where there are any."""

    time: datetime
    remark: str
    animal: str | None
    text: str


@dataclass(frozen=True)
class Replied:
    """What the keeper was told; kind and text as in `Reply`."""

    time: datetime
    kind: str
    text: str


@dataclass(frozen=True)
class Finished:
    """The session is over; `remark` is empty if it was ended from outside."""

    time: datetime
    remark: str = ""


Kept = (
    Started
    | AnimalCaught
    | AnimalLeft
    | GapsTold
    | EntryMade
    | EntrySuperseded
    | Undone
    | ScopeOpened
    | RemarkKept
    | QuestionAsked
    | QuestionAnswered
    | Paused
    | Resumed
    | Noted
    | Replied
    | Finished
)
Input = Started | Said | TimedOut | Ended
Event = Kept | Said | TimedOut | Ended

EVENT_TYPES: Mapping[str, type[Any]] = {kind.__name__: kind for kind in typing.get_args(Event)}

# ----------------------------------------------------------------------------------------------- to and from a store


def event_to_flat(event: Event) -> tuple[str, dict[str, Any]]:
    """The name of an event's type and its content as plain objects that JSON can hold."""
    return type(event).__name__, {f.name: _flat(getattr(event, f.name)) for f in fields(event)}


def event_from_flat(name: str, payload: Mapping[str, Any]) -> Event:
    """The event that `event_to_flat` made plain.

    Raises:
        ValueError: there is no such event, or a key of it is missing or unknown.
    """
    if name not in EVENT_TYPES:
        raise ValueError(f"there is no event {name!r} in a session")
    event: Event = _made(EVENT_TYPES[name], payload)
    return event


def _flat(value: Any) -> Any:
    if isinstance(value, Part):
        return value.flat()
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _flat(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): _flat(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_flat(item) for item in value]
    return value


@cache
def _hints(kind: Hashable) -> dict[str, Any]:
    return typing.get_type_hints(cast(type[Any], kind))


def _made(kind: Any, value: Any) -> Any:
    """A value of the annotated type `kind` from its plain form."""
    origin = typing.get_origin(kind)
    if origin in (Union, types.UnionType):
        kinds = [one for one in typing.get_args(kind) if one is not type(None)]
        return None if value is None else _made(kinds[0], value)
    if origin is tuple:
        return tuple(_made(typing.get_args(kind)[0], item) for item in value)
    if origin is not None and issubclass(origin, Mapping):
        return {key: _made(typing.get_args(kind)[1], item) for key, item in value.items()}
    if kind is Part:
        return part_from(value)
    if is_dataclass(kind):
        return _made_dataclass(cast(type[Any], kind), value)
    if kind is datetime:
        return datetime.fromisoformat(value)
    return kind(value) if isinstance(kind, type) and issubclass(kind, StrEnum) else value


def _made_dataclass(kind: type[Any], value: Mapping[str, Any]) -> Any:
    hints = _hints(cast(Hashable, kind))
    if odd := set(value) - set(hints):
        raise ValueError(f"{kind.__name__} has no key {min(odd)!r}")
    try:
        return kind(**{name: _made(hints[name], item) for name, item in value.items()})
    except TypeError as wrong:
        raise ValueError(f"{kind.__name__} is not complete: {wrong}") from wrong

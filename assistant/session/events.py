"""What happens in a session, as values: inputs that come from outside, and the events that the store keeps."""

from __future__ import annotations

import typing
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import datetime
from typing import Any

from assistant.session.state import Held, Outcome, Policy, Question
from assistant.values import Entry, Part, Remark, Scope
from assistant.values.plain import made, plain

# ---------------------------------------------------------------------------------------------------------- inputs


@dataclass(frozen=True)
class Started:
    """A session begins. Input and kept event at once.

    Attributes:
        is_attended: whether the keeper hears what is said back; nobody does in a recording, where only what cannot be
            anything else counts as an answer.
    """

    session: str
    time: datetime
    planned: tuple[str, ...] = ()
    by: str = ""
    source: str = ""
    policy: Policy = Policy.NORMAL
    is_attended: bool = True


@dataclass(frozen=True)
class Said:
    """A remark was made.

    Attributes:
        remark: with its verdict (None if typed) and meaning.
        animals: for each animal mentioned in any reading, as said, the ids that it may stand for; for words without a
            meaning, the ids of those that they are like.
        choices: if the verdict is to ask: one remark for each open reading, best first, with words and meaning.
        is_late: it was understood only after what was said later, so that it is not about the animal now on the table.
        agreed: if the verdict is to ask: the facts that the listeners agree on all the same.
    """

    remark: Remark
    animals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    choices: tuple[Remark, ...] = ()
    is_late: bool = False
    agreed: tuple[Part, ...] = ()


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
    """A remark did not become an entry, or not wholly.

    Attributes:
        remark: its id.
        reason: why, in plain words.
        to_review: whether it is put before the keeper at the screen.
        animals: ids of the animals that it is probably about, likeliest first; none if that is not the question.
    """

    time: datetime
    remark: str
    reason: str
    to_review: bool = True
    animals: tuple[str, ...] = ()


@dataclass(frozen=True)
class TableDoubted:
    """Another animal may have come to the table with a remark that was not understood.

    Attributes:
        remark: its id.
        animals: ids of the animals that it may have named, likeliest first.
    """

    time: datetime
    remark: str
    animals: tuple[str, ...] = ()


@dataclass(frozen=True)
class RemarkHeld:
    """What was said waits until it is sure again who is on the table."""

    time: datetime
    held: Held


@dataclass(frozen=True)
class TableSure:
    """The keeper said that the animal on the table is the same as before."""

    time: datetime
    animal: str
    remark: str


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
class Reviewed:
    """Somebody put the record right at the screen; the entries that this made are events of their own before it.

    Attributes:
        what: the decision in plain words, such as "accepted" or "split".
        by: who decided.
        entries: ids of the entries that the decision made.
        closed: ids of remarks that need no decision any more.
        reopened: ids of remarks that need one again.
    """

    time: datetime
    what: str
    by: str = ""
    entries: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()
    reopened: tuple[str, ...] = ()


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
    | TableDoubted
    | RemarkHeld
    | TableSure
    | QuestionAsked
    | QuestionAnswered
    | Paused
    | Resumed
    | Noted
    | Replied
    | Reviewed
    | Finished
)
Input = Started | Said | TimedOut | Ended
Event = Kept | Said | TimedOut | Ended

EVENT_TYPES: Mapping[str, type[Any]] = {kind.__name__: kind for kind in typing.get_args(Event)}

# ----------------------------------------------------------------------------------------------- to and from a store


def event_to_flat(event: Event) -> tuple[str, dict[str, Any]]:
    """The name of an event's type and its content as plain objects that JSON can hold."""
    return type(event).__name__, {f.name: plain(getattr(event, f.name)) for f in fields(event)}


def event_from_flat(name: str, payload: Mapping[str, Any]) -> Event:
    """The event that `event_to_flat` made plain.

    Raises:
        ValueError: there is no such event, a key of it is missing or unknown, or a value is none of its kind.
    """
    if name not in EVENT_TYPES:
        raise ValueError(f"there is no event {name!r} in a session")
    event: Event = made(EVENT_TYPES[name], payload)
    return event


TYPE = "type"
"""The key under which a flat event names its type; the other keys are its content."""


def flat_event(event: Event) -> dict[str, Any]:
    """An event as one flat object: what a store takes and gives."""
    name, payload = event_to_flat(event)
    return {TYPE: name, **payload}


def event_value(flat: Mapping[str, Any]) -> Event:
    """The event that `flat_event` made plain.

    Raises:
        ValueError: as `event_from_flat`.
    """
    return event_from_flat(flat[TYPE], {key: value for key, value in flat.items() if key != TYPE})

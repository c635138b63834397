"""What is recorded: animals, entries on them, the remarks these come from, and sessions."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from assistant.values.heard import Verdict
from assistant.values.meant import Meaning, Part


class Sex(StrEnum):
    """Sex of an animal."""

    FEMALE = "female"
    MALE = "male"
    CASTRATED = "castrated"
    UNKNOWN = "unknown"


class Species(StrEnum):
    """The two species that the product is for."""

    GOAT = "goat"
    SHEEP = "sheep"


@dataclass(frozen=True)
class Tag:
    """An identity that an animal carries or carried. `kind`: official, electronic, management."""

    kind: str
    code: str
    since: date | None = None
    until: date | None = None


@dataclass(frozen=True)
class Animal:
    """One animal of the register.

    Attributes:
        id: the register's own key, never reused.
        tag: official tag as printed, may be empty.
        number: management number as text (leading zeros count), may be empty.
        name: may be empty; at least one of tag, number, name is there.
        status: in herd, sold, dead, or another word of the keeper.
        due: expected birth, if in kid or in lamb.
        electronic: 15-digit code as text, may be empty.
    """

    id: str
    tag: str = ""
    number: str = ""
    name: str = ""
    sex: Sex = Sex.UNKNOWN
    born: date | None = None
    dam: str = ""
    sire: str = ""
    group: str = ""
    status: str = "in herd"
    notes: str = ""
    species: Species = Species.GOAT
    breed: str = ""
    electronic: str = ""
    markings: str = ""
    nicknames: tuple[str, ...] = ()
    due: date | None = None
    in_milk: bool = False
    past_tags: tuple[Tag, ...] = ()

    @property
    def label(self) -> str:
        """How the animal is called aloud and on screen: its name, else its number, else its tag."""
        return self.name or self.number or self.tag


class State(StrEnum):
    """State of an entry. Nothing is overwritten: a later entry names the one that it supersedes."""

    HEARD = "heard"
    CONFIRMED = "confirmed"
    CORRECTED = "corrected"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True)
class Entry:
    """One fact on one animal, as recorded.

    Attributes:
        id: unique for all time and machines (UUID as text).
        animal: id in the register.
        part: what was found, done, measured or decided (never a command, question or bare place).
        state: heard, confirmed, corrected or withdrawn.
        remark: id of the remark that it comes from.
        session: id of the session.
        time: when it was said.
        supersedes: id of the entry that this one replaces, or None.
        by: who said it.
    """

    id: str
    animal: str
    part: Part
    state: State
    remark: str
    session: str
    time: datetime
    supersedes: str | None = None
    by: str = ""


@dataclass(frozen=True)
class Remark:
    """One thing said or typed.

    Attributes:
        id: unique for all time and machines (UUID as text).
        session: id of the session.
        time: when its sound began or it was typed.
        words: what it was taken for; empty if unheard or pending.
        meaning: its parts.
        verdict: None if typed, or while recognition is pending.
        audio: file name of its sound in the store's sound folder, or empty if typed.
        start_s, end_s: place in the session's recording.
        by: who said it.
    """

    id: str
    session: str
    time: datetime
    words: str = ""
    meaning: Meaning = field(default_factory=lambda: Meaning(()))
    verdict: Verdict | None = None
    audio: str = ""
    start_s: float = 0.0
    end_s: float = 0.0
    by: str = ""


@dataclass(frozen=True)
class SessionInfo:
    """One handling session: who is planned, when it began and ended."""

    id: str
    started: datetime
    ended: datetime | None = None
    planned: tuple[str, ...] = ()
    by: str = ""
    source: str = ""

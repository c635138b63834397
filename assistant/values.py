"""The value types that pass between stages: immutable, without I/O, clock or chance.

Units: samples are float32 in [-1, 1]; rates in hertz; times inside a sound in seconds from its start; moments are
timezone-aware datetimes; levels in dB of full scale.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date, datetime
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

# ---------------------------------------------------------------------------------------------------------- sound


@dataclass(frozen=True, eq=False)
class Sound:
    """One stretch of mono sound.

    Attributes:
        samples: float32, shape (n,), in [-1, 1].
        rate_hz: samples a second.
        start_s: where it begins in the recording or stream that it comes from, in seconds.
    """

    samples: NDArray[np.float32]
    rate_hz: int
    start_s: float = 0.0

    @property
    def length_s(self) -> float:
        """Duration in seconds, at least 0.0."""
        return len(self.samples) / self.rate_hz

    @property
    def end_s(self) -> float:
        """Where it ends in its recording, in seconds."""
        return self.start_s + self.length_s


# -------------------------------------------------------------------------------------------------------- grammar


@dataclass(frozen=True, slots=True)
class Arc:
    """One word between two states of a `WordGraph`; `cost` is a negative natural log of its share, at least 0."""

    source: int
    target: int
    word: str
    cost: float = 0.0


@dataclass(frozen=True)
class WordGraph:
    """A deterministic, minimal acceptor of every sentence of a grammar: what a listener searches.

    Attributes:
        start: the state where a sentence begins.
        finals: the states where it may end.
        arcs: the words; no arc is silent.
        n_states: states are 0 … n_states - 1.
    """

    start: int
    finals: frozenset[int]
    arcs: tuple[Arc, ...]
    n_states: int

    @property
    def words(self) -> frozenset[str]:
        """Every word that a sentence can hold."""
        return frozenset(arc.word for arc in self.arcs)


# -------------------------------------------------------------------------------------------------------- hearing


@dataclass(frozen=True, slots=True)
class HeardWord:
    """A word as heard; times in seconds from the start of the sound, score in the listener's own scale."""

    text: str
    start_s: float
    end_s: float
    score: float = 0.0


@dataclass(frozen=True)
class Reading:
    """One sentence that a listener takes the sound for.

    Attributes:
        words: the words in order; without fillers.
        score: log-likelihood (natural log) of the whole reading in the listener's own scale; higher is better.
    """

    words: tuple[HeardWord, ...]
    score: float

    @property
    def text(self) -> str:
        """The words with single spaces between them."""
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True)
class Hearing:
    """What one listener made of one sound.

    Attributes:
        listener: name of the listener.
        readings: complete sentences of the grammar, best first; empty if none was reached.
        strain: how much worse the best reading fits the sound than unconstrained speech would, as cost per second of
            speech, at least 0; None if the listener can't say. Small for a sentence of the grammar, large for others.
    """

    listener: str
    readings: tuple[Reading, ...]
    strain: float | None = None


# -------------------------------------------------------------------------------------------------------- meaning


class Grade(StrEnum):
    """How bad a finding is."""

    SLIGHT = "slight"
    MODERATE = "moderate"
    SEVERE = "severe"


FEET = ("left fore", "right fore", "left hind", "right hind")
BETWEEN = "between the claws"
WHOLE_ANIMAL = "whole animal"


class Part:
    """One piece of a meaning. `flat` gives the plain object of docs/vocabulary.md, without the keys that are None."""

    def flat(self) -> dict[str, Any]:
        """The part as a flat object; a follow-up keeps `days` even when it is None."""
        keep_none = isinstance(self, FollowUpPart)
        values = {f.name: getattr(self, f.name) for f in fields(self)}  # type: ignore[arg-type]
        return {
            name: str(value) if isinstance(value, StrEnum) else value
            for name, value in values.items()
            if value is not None or (keep_none and name == "days")
        }


@dataclass(frozen=True)
class PlacePart(Part):
    """A place said alone: it opens the scope for what follows."""

    place: str
    part: str | None = None


@dataclass(frozen=True)
class FindingPart(Part):
    """Something seen at a place. `place` is None while no scope is open."""

    place: str | None
    finding: str
    part: str | None = None
    grade: Grade | None = None


@dataclass(frozen=True)
class ActionPart(Part):
    """Something done at a place; `medicine` names one of the holding's medicines if one was said."""

    place: str | None
    action: str
    part: str | None = None
    medicine: str | None = None


@dataclass(frozen=True)
class MeasurePart(Part):
    """A number: condition (1–5 in halves), lameness (scale of the holding), weight (kg), temperature (°C)."""

    measure: str
    value: float


@dataclass(frozen=True)
class FollowUpPart(Part):
    """Something to be done later; `days` from today, None if no time was said."""

    follow_up: str
    days: int | None = None


@dataclass(frozen=True)
class TraitPart(Part):
    """A lasting judgement about the animal, such as "keep no daughters"."""

    trait: str


@dataclass(frozen=True)
class MarkPart(Part):
    """A colour mark put on the animal."""

    mark: str


@dataclass(frozen=True)
class TagPart(Part):
    """What became of the ear tag: missing, replaced or new."""

    tag: str


@dataclass(frozen=True)
class AnimalPart(Part):
    """An animal mentioned by name or number, as said; the register decides which one it is."""

    animal: str


@dataclass(frozen=True)
class CommandPart(Part):
    """A command to the session. `place` and `part` go with "correct", `reason` with "skip", `note` with "note"."""

    command: str
    place: str | None = None
    part: str | None = None
    reason: str | None = None
    note: str | None = None


@dataclass(frozen=True)
class QuestionPart(Part):
    """A question to the assistant with its arguments."""

    question: str
    place: str | None = None
    finding: str | None = None
    action: str | None = None
    animal: str | None = None


@dataclass(frozen=True)
class Meaning:
    """What a remark means.

    Attributes:
        parts: in the order in which they were said, places already shared out.
        unplaced: words that the grammar could not place; kept and asked, never guessed.
        mended: the reading after a typing slip was mended, or None if nothing was changed.
    """

    parts: tuple[Part, ...]
    unplaced: str = ""
    mended: str | None = None


@dataclass(frozen=True)
class Scope:
    """The open place that a later piece may inherit: several places after "both fores"."""

    places: tuple[str, ...] = ()
    part: str | None = None


# -------------------------------------------------------------------------------------------------------- verdict


class Decision(StrEnum):
    """What becomes of a remark."""

    ACCEPTED = "accepted"
    ASK = "ask"
    UNHEARD = "unheard"


@dataclass(frozen=True)
class Verdict:
    """The listeners' joint judgement on one sound.

    Attributes:
        decision: accepted, ask or unheard.
        reason: why, in plain words.
        choices: the readings that are still open, best first, as words; one if accepted, none if unheard.
        hearings: what each listener heard.
        sureness: probability of the first choice, as the scores of the listeners have it.
        rivals: if asked, the readings that stand against each other, as words: those not much less likely than the
            first. What all of them have in common is agreed on. None if fewer than two listeners hold one of them.
    """

    decision: Decision
    reason: str
    choices: tuple[str, ...]
    hearings: tuple[Hearing, ...] = ()
    sureness: float | None = None
    rivals: tuple[str, ...] = ()


# ------------------------------------------------------------------------------------------------ animals, records


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


PART_TYPES: tuple[type[Part], ...] = (
    FindingPart,
    ActionPart,
    MeasurePart,
    FollowUpPart,
    TraitPart,
    MarkPart,
    TagPart,
    QuestionPart,
    CommandPart,
    AnimalPart,
    PlacePart,
)
"""In the order in which `part_from` tries them: the first whose own key is there wins."""

_OWN_KEY: Mapping[type[Part], str] = {
    FindingPart: "finding",
    ActionPart: "action",
    MeasurePart: "measure",
    FollowUpPart: "follow_up",
    TraitPart: "trait",
    MarkPart: "mark",
    TagPart: "tag",
    QuestionPart: "question",
    CommandPart: "command",
    AnimalPart: "animal",
    PlacePart: "place",
}


def part_from(flat: Mapping[str, Any]) -> Part:
    """The part that a flat object stands for: the inverse of `Part.flat`.

    Raises:
        ValueError: no part has these keys.
    """
    kinds: Sequence[type[Part]] = (QuestionPart, CommandPart) if "question" in flat or "command" in flat else PART_TYPES
    for kind in kinds:
        if _OWN_KEY[kind] not in flat:
            continue
        names = {f.name for f in fields(kind)}  # type: ignore[arg-type]
        if unknown := set(flat) - names:
            raise ValueError(f"a part with {_OWN_KEY[kind]!r} has no key {sorted(unknown)[0]!r}")
        values: dict[str, Any] = dict(flat)
        if kind in (FindingPart, ActionPart):
            values.setdefault("place", None)
        if values.get("grade") is not None and kind is FindingPart:
            values["grade"] = Grade(values["grade"])
        return kind(**values)
    raise ValueError(f"no part has the keys {sorted(flat)}")

"""The state of a session: a value that the fold over its events gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from assistant.values import Entry, Part, Scope, SessionInfo

ANSWER_S = 8.0
"""How long the keeper has to answer, in seconds, before the flow sends `TimedOut` (common practice, no source)."""

ACTS_KEPT = 20
"""How many remarks can be scratched, one after the other."""


class Policy(StrEnum):
    """How much is said back: everything, what matters, or only what must be asked."""

    CAREFUL = "careful"
    NORMAL = "normal"
    QUICK = "quick"


class QuestionKind(StrEnum):
    """What a question wants to know, and so what counts as an answer."""

    READING = "which reading"
    ANIMAL = "which of these animals"
    WHO = "which animal"
    WHERE = "which place"
    VALUE = "which value"
    SURE = "is it so"
    CORRECTION = "corrected to what"
    STILL = "is the animal on the table still the same"


@dataclass(frozen=True)
class Choice:
    """One possible answer: how it is called, and what is carried out if it is picked."""

    label: str
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Question:
    """A question that waits for an answer.

    Attributes:
        remark: id of the remark that it is about.
        kind: what it wants to know.
        text: as spoken.
        choices: the answers offered; none for an open question.
        pending: parts that wait for the answer to an open question.
        animals: for each animal mentioned, as said, the ids that it may stand for.
        by: who made the remark.
        is_of_change: whether the remark may have brought another animal to the table; if nobody answers, it is in doubt
            who is on it.
        taken: parts of the choices that are on record already, because the listeners agree on them.
    """

    remark: str
    kind: QuestionKind
    text: str
    choices: tuple[Choice, ...] = ()
    pending: tuple[Part, ...] = ()
    animals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    by: str = ""
    is_of_change: bool = False
    taken: tuple[Part, ...] = ()


class OutcomeKind(StrEnum):
    """How an animal left the table."""

    DONE = "done"
    SKIPPED = "skipped"


@dataclass(frozen=True)
class Outcome:
    """How an animal left the table, and why it was skipped."""

    kind: OutcomeKind
    reason: str = ""


@dataclass(frozen=True)
class Table:
    """Who is on the table and who has left it: what scratching a remark restores.

    Attributes:
        animal: id of the animal on the table.
        scope: the open place.
        gaps: what was named as not mentioned when "done" was first said; None if it was not said yet.
        outcomes: for each animal that left, how.
        departures: when animals left as done, in order.
    """

    animal: str | None = None
    scope: Scope = field(default_factory=Scope)
    gaps: tuple[str, ...] | None = None
    outcomes: Mapping[str, Outcome] = field(default_factory=dict)
    departures: tuple[datetime, ...] = ()


@dataclass(frozen=True)
class Held:
    """Something said that waits until it is sure who is on the table; parts and animals as in a remark's meaning."""

    remark: str
    parts: tuple[Part, ...]
    animals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    by: str = ""


@dataclass(frozen=True)
class Doubt:
    """It is not sure that the animal on the table is still the same, or something waits for an animal to be named.

    Attributes:
        likely: ids of other animals that may be on it now, likeliest first.
        held: what was said since and waits for the answer, in order.
        is_asked: the keeper was asked; nobody is asked twice.
    """

    likely: tuple[str, ...] = ()
    held: tuple[Held, ...] = ()
    is_asked: bool = False


@dataclass(frozen=True)
class Act:
    """A remark that changed something, with the table as it was before."""

    remark: str
    before: Table


@dataclass(frozen=True)
class SessionState:
    """All that a session knows of itself.

    Attributes:
        info: plan and times; None before the start.
        policy: how much is said back.
        table: who is on the table and who has left it.
        entries: for each animal, the entries that hold (superseded and withdrawn ones left out), in order.
        acts: the last remarks that changed something, oldest first.
        is_paused: only "resume" is heard.
        question: the open question.
        last_reply: what was last said aloud, for "repeat".
        review: ids of remarks that wait for a look at the screen.
        proposed: for a remark in review, the ids of the animals that it is probably about, likeliest first.
        n_kept: how many remarks were kept without becoming an entry, review or not.
        doubt: whether it is in doubt who is on the table; None if it is sure.
        is_attended: whether the keeper hears what is said back.
    """

    info: SessionInfo | None = None
    policy: Policy = Policy.NORMAL
    table: Table = field(default_factory=Table)
    entries: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)
    acts: tuple[Act, ...] = ()
    is_paused: bool = False
    question: Question | None = None
    last_reply: str = ""
    review: tuple[str, ...] = ()
    proposed: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    n_kept: int = 0
    doubt: Doubt | None = None
    is_attended: bool = True

    @property
    def animal(self) -> str | None:
        """Id of the animal on the table."""
        return self.table.animal

    @property
    def scope(self) -> Scope:
        """The open place, to be handed to the assembly of the next remark's meaning."""
        return self.table.scope

    @property
    def done(self) -> tuple[str, ...]:
        """Ids of the animals that are done, in order of their leaving."""
        return tuple(key for key, outcome in self.table.outcomes.items() if outcome.kind is OutcomeKind.DONE)

    @property
    def skipped(self) -> Mapping[str, str]:
        """For each animal that was skipped, the reason."""
        outcomes = self.table.outcomes.items()
        return {key: outcome.reason for key, outcome in outcomes if outcome.kind is OutcomeKind.SKIPPED}

    @property
    def planned(self) -> tuple[str, ...]:
        """Ids of the animals that this session is for."""
        return self.info.planned if self.info else ()

    @property
    def left(self) -> tuple[str, ...]:
        """Ids of planned animals that have not left the table yet; the one on it comes last."""
        waiting = [key for key in self.planned if key not in self.table.outcomes]
        return tuple(sorted(waiting, key=lambda key: key == self.animal))

    def entries_of(self, animal: str | None) -> tuple[Entry, ...]:
        """The entries that hold for one animal, in order."""
        return self.entries.get(animal, ()) if animal else ()

    def entries_from(self, remark: str) -> tuple[Entry, ...]:
        """The entries that hold and come from one remark."""
        return tuple(entry for of_one in self.entries.values() for entry in of_one if entry.remark == remark)

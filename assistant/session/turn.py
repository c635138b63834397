"""One step in the making: events are emitted and applied as they come, replies gathered."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from assistant.session import replies
from assistant.session.events import (
    EntryMade,
    EntrySuperseded,
    Kept,
    QuestionAnswered,
    QuestionAsked,
    RemarkKept,
    Replied,
    TableDoubted,
)
from assistant.session.fold import applied
from assistant.session.replies import Reply, ReplyKind
from assistant.session.scale import YOUNG_BORN, misfit
from assistant.session.state import Question, QuestionKind, SessionState
from assistant.session.world import LastVisit, World
from assistant.values import Animal, AnimalPart, Entry, MeasurePart, Part, Scope, Sex, Species, State

Animals = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Source:
    """The remark that parts come from, with what its animals may stand for.

    Attributes:
        remark: id of the remark.
        by: who made it.
        animals: for each animal mentioned, as said, the ids that it may stand for.
        is_sure: the keeper has said yes to it, so that nothing is asked again.
        is_pick: the keeper has picked the animal out of several.
        is_answer: it answers who is on the table, so that what waits is said of the animal that it names.
    """

    remark: str
    by: str = ""
    animals: Animals = field(default_factory=dict)
    is_sure: bool = False
    is_pick: bool = False
    is_answer: bool = False


class Turn:
    """What one input leads to. Lives for one step; nothing of it is kept."""

    def __init__(self, state: SessionState, time: datetime, world: World, seed: str = "") -> None:
        self.state = state
        self.time = time
        self.world = world
        self.seed = seed
        self.events: list[Kept] = []
        self.replies: list[Reply] = []

    @property
    def today(self) -> date:
        """The day of the input, in its own time zone."""
        return self.time.date()

    def emit(self, event: Kept) -> None:
        """Keeps an event and moves the state on."""
        self.events.append(event)
        self.state = applied(self.state, event)

    def reply(self, kind: ReplyKind, text: str = "", lines: tuple[str, ...] = ()) -> None:
        """Tells the keeper something; it is kept too, for "repeat" and for the record; lines are only shown."""
        self.replies.append(Reply(kind, text, lines))
        self.emit(Replied(self.time, kind, text))

    def told(self, text: str, lines: tuple[str, ...] = ()) -> None:
        """Tells the keeper one sentence, and shows lines beside it."""
        self.reply(ReplyKind.TOLD, text, lines)

    def keep(self, remark: str, reason: str, *, to_review: bool = True) -> None:
        """Keeps a remark that did not become an entry; for review with the animals that it is probably about."""
        self.emit(RemarkKept(self.time, remark, reason, to_review, self.proposal if to_review else ()))

    def doubt(self, remark: str, animals: Animals) -> None:
        """From now on the table is in doubt: `remark` may have named one of `animals` or ended the work."""
        here = self.state.animal
        if here is None:
            return
        named = dict.fromkeys(key for keys in animals.values() for key in keys if key != here)
        self.emit(TableDoubted(self.time, remark, tuple(named)))

    def ask(self, question: Question) -> None:
        """Opens a question; one that is still open is put off."""
        self.put_off("another question came up")
        self.emit(QuestionAsked(self.time, question))
        self.reply(ReplyKind.ASKING, question.text)

    def put_off(self, reason: str) -> None:
        """Closes the open question without an answer; its remark and what waits are kept for a look at the screen."""
        question = self.state.question
        if question is None:
            return
        self.emit(QuestionAnswered(self.time, question.remark))
        self.keep(question.remark, f"{reason}: {question.text}")
        self.release(f"{reason}: {question.text}")
        if question.is_of_change:
            self.doubt(question.remark, _named(question))

    def release(self, reason: str) -> None:
        """Keeps for a look at the screen what waited for an answer that did not come."""
        held = self.state.doubt.held if self.state.doubt else ()
        for remark in dict.fromkeys(one.remark for one in held):
            self.keep(remark, reason)

    @property
    def proposal(self) -> tuple[str, ...]:
        """Ids of the animals that may be on the table while that is in doubt, likeliest first."""
        likely = self.state.doubt.likely if self.state.doubt else ()
        return tuple(dict.fromkeys((*likely, *([self.state.animal] if self.state.animal else []))))

    def ask_open(
        self,
        source: Source,
        kind: QuestionKind,
        text: str,
        pending: tuple[Part, ...] = (),
        *,
        is_of_change: bool = False,
    ) -> None:
        """Opens a question whose answer completes the parts that wait."""
        question = Question(source.remark, kind, text, (), pending, source.animals, source.by, is_of_change)
        self.ask(question)

    def record(self, source: Source, part: Part, *, instead_of: Entry | None = None, animal: str = "") -> None:
        """Records a fact on the animal on the table, or in place of an earlier one."""
        state = State.CORRECTED if instead_of else State.CONFIRMED if source.is_sure else State.HEARD
        entry = self._entry(
            source, part, state, animal or (instead_of.animal if instead_of else self.state.animal or "")
        )
        self._supersede(entry, instead_of)

    def withdraw(self, source: Source, old: Entry) -> None:
        """Withdraws a fact: a new entry says so, the old one stays."""
        self._supersede(self._entry(source, old.part, State.WITHDRAWN, old.animal), old)

    def _supersede(self, entry: Entry, old: Entry | None) -> None:
        if old is None:
            self.emit(EntryMade(entry))
        else:
            self.emit(EntrySuperseded(replace(entry, supersedes=old.id), old.id))

    def _entry(self, source: Source, part: Part, state: State, animal: str) -> Entry:
        """A new entry. Its id follows from its remark, the input (`seed`) and the count of events."""
        n = len(self.events)
        key = str(uuid.uuid5(uuid.NAMESPACE_OID, f"{source.remark}/{self.seed}/{n}"))
        session = self.state.info.id if self.state.info else ""
        return Entry(key, animal, part, state, source.remark, session, self.time, None, source.by)

    def animal(self, key: str | None) -> Animal | None:
        """An animal of the register."""
        return self.world.animal(key) if key else None

    def meant(self, source: Source, said: str) -> tuple[str, ...]:
        """Ids of the animals that a mention may stand for; an id stands for itself."""
        return source.animals.get(said, ()) or ((said,) if self.animal(said) else ())

    def called(self, key: str | None) -> str:
        """How an animal is called aloud; an animal that the register does not know is called by its id."""
        animal = self.animal(key)
        return replies.called(animal) if animal else str(key or "")

    def misfit(self, part: MeasurePart, key: str | None = None) -> str | None:
        """Why a number does not fit the scale of an animal (of the one on the table if left out); None if it does."""
        animal = self.animal(key or self.state.animal)
        species = animal.species if animal else Species.GOAT
        if part.measure == YOUNG_BORN and animal and animal.sex in (Sex.MALE, Sex.CASTRATED):
            return f"{replies.called(animal)} is {animal.sex} in the register."
        return misfit(part, species, self.world.lameness(species))

    def last_visit(self, key: str | None) -> LastVisit | None:
        """What is known of an animal from before this session."""
        return self.world.last_visit(key) if key else None

    @property
    def scope(self) -> Scope:
        """The open place."""
        return self.state.table.scope


def _named(question: Question) -> Animals:
    """The animals that a question is about: as mentioned, and those offered by id."""
    offered = [part.animal for choice in question.choices for part in choice.parts if isinstance(part, AnimalPart)]
    return {**question.animals, **{said: question.animals.get(said, (said,)) for said in offered}}

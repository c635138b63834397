"""A session being put right: the store's record with what was said, and each decision kept before it holds."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Protocol

from assistant import values
from assistant.interpreter import Interpreter
from assistant.session import deciding
from assistant.session.decided_before import decided_before
from assistant.session.events import EntryMade, EntrySuperseded, RemarkKept, Reviewed, Said, event_value, flat_event
from assistant.session.review import Change, Closed, Decision, Fact, Review, Stamp, Step
from assistant.session.scale import LAMENESS, misfit
from assistant.values import (
    ActionPart,
    Animal,
    Entry,
    FindingPart,
    Meaning,
    MeasurePart,
    Part,
    Remark,
    Scope,
    SessionInfo,
    Sound,
    Species,
    State,
    recordable,
)


class Record(Protocol):
    """Where a session is kept: see `assistant.store.store.Store`."""

    def events(self, session: str) -> Iterable[Mapping[str, Any]]: ...  # noqa: D102
    def entries(  # noqa: D102
        self, session: str | None = None, animal: str | None = None, *, live_only: bool = True
    ) -> Sequence[Entry]: ...
    def version(self, session: str) -> int: ...  # noqa: D102
    def append(self, session: str, expected_version: int, events: Sequence[Mapping[str, Any]]) -> int: ...  # noqa: D102
    def sound(self, remark: str) -> Sound: ...  # noqa: D102


@dataclass(frozen=True)
class Holding:
    """What a review knows of the holding.

    Attributes:
        animals: the register, by id.
        interpreter: gives what reads words; it takes a moment to make, and not every review needs it.
        lameness: species → lowest and highest score of the lameness scale in use.
        by: who puts the record right.
        now: the clock.
    """

    animals: Mapping[str, Animal]
    interpreter: Callable[[], Interpreter]
    lameness: Mapping[Species, tuple[int, int]]
    by: str
    now: Callable[[], datetime]

    def label(self, animal: str) -> str:
        """How an animal is called; its id if the register does not know it."""
        known = self.animals.get(animal)
        return known.label if known else animal


@dataclass(frozen=True)
class Version:
    """One version of a fact, for its history: when it was recorded, how, and by whom."""

    time: datetime
    what: str
    by: str
    entry: Entry


class Reviewing:
    """One session as it is put right.

    Args:
        record: the store.
        info: the session.
        holding: its animals and words.

    Attributes:
        review: the record as it stands.
        touched: the fact (its line) or the remark that was last decided on; empty if none was.
        n_moved: how many decisions have changed which facts hold, of whom, or which remarks wait: while it is the same,
            the list of them is the same too.

    Methods that decide raise `BadStore` if the decision cannot be kept; then nothing has changed.
    """

    def __init__(self, record: Record, info: SessionInfo, holding: Holding) -> None:
        self.info = info
        self.holding = holding
        self.touched = ""
        self.n_moved = 0
        self._record = record
        self._opened = holding.now()
        notes: list[RemarkKept | Reviewed] = []
        self._said: dict[str, Mapping[str, Any]] = {}
        self._version = 0
        for flat in record.events(info.id):
            self._version += 1
            if flat["type"] == "Said":
                self._said[flat["remark"]["id"]] = flat
            elif flat["type"] in ("RemarkKept", "Reviewed"):
                event = event_value(flat)
                notes += [event] if isinstance(event, RemarkKept | Reviewed) else []
        self.review = Review.of(info.id, record.entries(info.id, live_only=False), notes)
        decisions = [note for note in notes if isinstance(note, Reviewed)]
        self.review.undos, self.review.redos = decided_before(self.review, decisions)

    # ------------------------------------------------------------------------------------------------ what was said

    def said(self, remark: str) -> Said | None:
        """A remark as it was taken in, with its readings; None if there is none with this id."""
        flat = self._said.get(remark)
        event = event_value(flat) if flat else None
        return event if isinstance(event, Said) else None

    def readings(self, remark: str) -> tuple[Remark, ...]:
        """What a remark may mean, best first: as judged, then as each listener heard it."""
        said = self.said(remark)
        if said is None:
            return ()
        found = {one.words: one for one in (said.remark, *said.choices) if one.words}
        verdict = said.remark.verdict
        heard = [reading.text for one in (verdict.hearings if verdict else ()) for reading in one.readings]
        for words in dict.fromkeys(heard):
            if words and words not in found:
                found[words] = replace(said.remark, words=words, meaning=self.holding.interpreter().heard(words))
        return tuple(found.values())

    def meaningful(self, remark: str) -> tuple[Remark, ...]:
        """Those readings of a remark that have something to record, best first."""
        return tuple(one for one in self.readings(remark) if facts_of(one.meaning))

    def is_sure(self, line: str) -> bool:
        """Whether nobody doubted a fact: it was typed, or the listeners agreed on the remark that it comes from."""
        said = self.said(self.review.tip(line).remark)
        verdict = said.remark.verdict if said else None
        return said is not None and (verdict is None or verdict.decision is values.Decision.ACCEPTED)

    def sound(self, remark: str) -> Sound:
        """The sound of a remark.

        Raises:
            BadStore: there is none.
        """
        return self._record.sound(remark)

    def read(self, text: str, place: str | None = None) -> Meaning:
        """What typed words mean, with an open place or without."""
        return self.holding.interpreter().typed(text, Scope((place,)) if place else Scope())

    def whom(self, remark: str) -> tuple[str, ...]:
        """Ids of the animals that a remark is probably about, likeliest first."""
        case = self.review.known.get(remark)
        said = self.said(remark)
        named = [key for keys in said.animals.values() for key in keys] if said else []
        recorded = [self.review.tip(line).animal for line in self.review.lines_from(remark)]
        return tuple(dict.fromkeys((*recorded, *(case.animals if case else ()), *named)))

    def history(self, line: str) -> tuple[Version, ...]:
        """All versions of a fact, oldest first."""
        found = []
        for entry in self.review.lines[line]:
            decided = self.review.decided.get(entry.id)
            time, what = (decided.time, decided.what) if decided else (entry.time, entry.state.value)
            found.append(Version(time, what, decided.by if decided else entry.by, entry))
        return tuple(found)

    # --------------------------------------------------------------------------------------------------- deciding

    def problem(self, fact: Fact) -> str | None:
        """Why a fact cannot be recorded, as a sentence; None if it can."""
        if isinstance(fact.part, FindingPart | ActionPart) and not fact.part.place:
            return "Which place? Choose one first."
        if isinstance(fact.part, MeasurePart):
            animal = self.holding.animals.get(fact.animal)
            species = animal.species if animal else Species.GOAT
            return misfit(fact.part, species, self.holding.lameness.get(species, LAMENESS[species]))
        return None

    def accept(self, *lines: str) -> None:
        """These facts are right."""
        self._decide(deciding.accepted(self.review, lines))

    def accept_sure(self, animal: str) -> str:
        """What is sure of an animal and not yet decided on is right; says how much that was, and what is left."""
        lines = self.review.live().get(animal, [])
        waiting = [line for line in lines if self.review.tip(line).state is State.HEARD]
        sure = [line for line in waiting if self.is_sure(line)]
        n_left = len(waiting) - len(sure)
        left = f"; {n_left} {'was doubted, look at it' if n_left == 1 else 'were doubted, look at each'}"
        told = f"{len(sure)} accepted" if sure else f"Nothing sure is left to accept of {self.holding.label(animal)}"
        if sure:
            self.accept(*sure)
        return f"{told}{left if n_left else ''}."

    def change(self, line: str, fact: Fact, what: str = "changed") -> None:
        """A fact is another one."""
        self._decide(deciding.changed(line, fact, what))

    def withdraw(self, *lines: str) -> None:
        """These facts do not hold."""
        self._decide(deciding.withdrawn(lines))

    def split(self, line: str, parts: Sequence[Part]) -> None:
        """One fact was several."""
        new = {n: str(uuid.uuid4()) for n in range(1, len(parts))}
        self._decide(deciding.split(self.review, line, parts, new))

    def reread(self, remark: str, animal: str, parts: Sequence[Part]) -> None:
        """A remark means these facts about this animal."""
        said = self.said(remark)
        time = said.remark.time if said else self.holding.now()
        new = [str(uuid.uuid4()) for _ in parts]
        self._decide(deciding.reread(self.review, remark, animal, parts, time, new))

    def dismiss(self, remark: str) -> None:
        """Nothing in a remark is to be recorded."""
        self._decide(deciding.dismissed(remark))

    def add(self, animal: str, text: str, parts: Sequence[Part]) -> tuple[str, ...]:
        """Records facts that were typed at the screen; gives their lines.

        They are put on the day of the session, for it is the session's record that they complete.
        """
        now = self.holding.now()
        of_animal = [self.review.tip(line).time for line in self.review.live().get(animal, ())]
        time = max(of_animal, default=self.info.ended or self.info.started)
        remark = Remark(str(uuid.uuid4()), self.info.id, now, text, Meaning(tuple(parts)), by=self.holding.by)
        keys = tuple(str(uuid.uuid4()) for _ in parts)
        puts = [
            deciding.added(key, Fact(animal, part), remark.id, time).changes[0]
            for key, part in zip(keys, parts, strict=True)
        ]
        self._decide(Decision("added", tuple(puts)), Said(remark))
        return keys

    def undo(self) -> str:
        """Takes back the last decision, of an earlier review too; says which, or that there is none."""
        step = self.review.undo(self._stamp())
        if step is None:
            return "There is nothing to undo."
        whose = self._whose(step.decision.changes)
        self._keep(step)
        self.review.take_undo(step)
        return f"Undone: {step.back.what.removesuffix(', undone')}{whose}."

    def redo(self) -> str:
        """Makes the last decision that was undone again; says which, or that there is none."""
        step = self.review.redo(self._stamp())
        if step is None:
            return "There is nothing to do again."
        self._keep(step)
        self.review.take_redo(step)
        return f"Done again: {step.back.what.removesuffix(', done again')}."

    def _whose(self, changes: Sequence[Change]) -> str:
        """Of when and of whom what is undone is, where it was decided before this review began."""
        lines = [
            change.line for change in changes if not isinstance(change, Closed) and change.line in self.review.lines
        ]
        decided = self.review.decided.get(self.review.tip(lines[0]).id) if lines else None
        if decided is None or decided.time >= self._opened:
            return ""
        return f", {decided.time:%d %b %H:%M}{f', by {decided.by}' if decided.by else ''}"

    def _decide(self, decision: Decision, *before: Said) -> None:
        step = self.review.step(decision, self._stamp())
        self._keep(step, *before)
        self.review.take(step)

    def _stamp(self) -> Stamp:
        return Stamp(str(uuid.uuid4()), self.holding.now(), self.holding.by)

    def _keep(self, step: Step, *before: Said) -> None:
        flats = [flat_event(event) for event in (*before, *step.events)]
        self._version = self._record.append(self.info.id, self._version, flats)
        self._said.update({flat["remark"]["id"]: flat for flat in flats if flat["type"] == "Said"})
        self.n_moved += any(map(self._moves, step.events))
        if step.decision.changes:
            first = step.decision.changes[0]
            self.touched = first.remark if isinstance(first, Closed) else first.line

    def _moves(self, event: EntryMade | EntrySuperseded | Reviewed) -> bool:
        if isinstance(event, Reviewed):
            return bool(event.closed or event.reopened)
        if isinstance(event, EntryMade):
            return True
        before, now = self.review.tip(self.review.line_of(event.old)), event.entry
        return (before.animal, before.state is State.WITHDRAWN) != (now.animal, now.state is State.WITHDRAWN)


def facts_of(meaning: Meaning) -> tuple[Part, ...]:
    """What a meaning puts on record."""
    return recordable(meaning.parts)

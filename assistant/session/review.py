"""A session's record put right afterwards: each fact with all its versions, what waits for a decision, undo and redo.

A decision is a list of changes. Carried out, it becomes events: facts are superseded or made, never overwritten, and
one `Reviewed` says who decided what, and when. Undoing a decision is one more decision, the other way round.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime

from assistant.session.events import EntryMade, EntrySuperseded, RemarkKept, Reviewed
from assistant.values import Entry, Part, State


@dataclass(frozen=True)
class Fact:
    """What a record says of an animal."""

    animal: str
    part: Part


@dataclass(frozen=True)
class Case:
    """A remark that waits for a decision.

    Attributes:
        remark: its id.
        reason: why, in plain words.
        animals: ids of the animals that it is probably about, likeliest first.
    """

    remark: str
    reason: str
    animals: tuple[str, ...] = ()


@dataclass(frozen=True)
class Stamp:
    """Who decides and when; `seed` is different for each decision, so that the ids of its entries are."""

    seed: str
    time: datetime
    by: str = ""


@dataclass(frozen=True)
class Put:
    """A line of the record says this from now on.

    Attributes:
        line: id of the first version of the fact; a new id makes a new line.
        fact: None withdraws it.
        state: of the version to be made.
        remark: id of the remark that a new line comes from.
        time: when that was said.
    """

    line: str
    fact: Fact | None
    state: State = State.CORRECTED
    remark: str = ""
    time: datetime | None = None


@dataclass(frozen=True)
class Closed:
    """A remark needs no decision any more, or with `is_open` needs one again."""

    remark: str
    is_open: bool = False


Change = Put | Closed


@dataclass(frozen=True)
class Decision:
    """Changes that are made, undone and redone together; `what` names them in the history."""

    what: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Step:
    """A decision worked out: what the store keeps of it, and the decision that takes it back."""

    decision: Decision
    back: Decision
    events: tuple[EntryMade | EntrySuperseded | Reviewed, ...]


@dataclass
class Review:
    """The record of one session as it is being put right.

    Attributes:
        session: its id.
        lines: id of a fact's first version → all its versions, oldest first.
        open: remark → case that waits for a decision.
        known: every case, decided or not.
        decided: id of an entry → the decision that it comes from.
    """

    session: str
    lines: dict[str, tuple[Entry, ...]] = field(default_factory=dict)
    open: dict[str, Case] = field(default_factory=dict)
    known: dict[str, Case] = field(default_factory=dict)
    decided: dict[str, Reviewed] = field(default_factory=dict)
    undos: list[Decision] = field(default_factory=list)
    redos: list[Decision] = field(default_factory=list)
    _line_of: dict[str, str] = field(default_factory=dict)
    _of_animal: dict[str, dict[str, None]] = field(default_factory=dict)
    _withdrawn: set[str] = field(default_factory=set)

    @classmethod
    def of(cls, session: str, entries: Iterable[Entry], events: Iterable[RemarkKept | Reviewed]) -> Review:
        """The record of a session.

        Args:
            session: its id.
            entries: all of it, superseded and withdrawn ones too, in the order of recording.
            events: those of these two kinds, in order.
        """
        review = cls(session)
        for entry in entries:
            review._add(entry)
        for event in events:
            review._note(event)
        return review

    def tip(self, line: str) -> Entry:
        """The newest version of a fact."""
        return self.lines[line][-1]

    def holds(self, entry: str) -> bool:
        """Whether an entry is on record, as a version of some line."""
        return entry in self._line_of

    def line_of(self, entry: str) -> str:
        """The line that an entry is a version of."""
        return self._line_of[entry]

    def live(self) -> dict[str, list[str]]:
        """Animal → its lines that hold, in the order of recording."""
        gone = self._withdrawn
        kept = {animal: [line for line in lines if line not in gone] for animal, lines in self._of_animal.items()}
        return {animal: lines for animal, lines in kept.items() if lines}

    def lines_from(self, remark: str) -> tuple[str, ...]:
        """The lines that hold and come from one remark."""
        ours = (line for line, versions in self.lines.items() if versions[0].remark == remark)
        return tuple(line for line in ours if self.tip(line).state is not State.WITHDRAWN)

    # --------------------------------------------------------------------------------------------- carrying out

    def step(self, decision: Decision, stamp: Stamp) -> Step:
        """Works a decision out; nothing is changed until `take`, so that it can be kept first."""
        events: list[EntryMade | EntrySuperseded | Reviewed] = []
        back: list[Change] = []
        made: list[str] = []
        for n, change in enumerate(decision.changes):
            back.insert(0, self._back(change))
            if isinstance(change, Put):
                entry = self._version(change, stamp, n)
                made.append(entry.id)
                events.append(EntrySuperseded(entry, entry.supersedes) if entry.supersedes else EntryMade(entry))
        closed = [change for change in decision.changes if isinstance(change, Closed)]
        ended = tuple(change.remark for change in closed if not change.is_open)
        reopened = tuple(change.remark for change in closed if change.is_open)
        events.append(Reviewed(stamp.time, decision.what, stamp.by, tuple(made), ended, reopened))
        return Step(decision, Decision(decision.what, tuple(back)), tuple(events))

    def take(self, step: Step) -> None:
        """A step that was worked out by `step` and kept is now what holds; it can be undone."""
        self._move(step)
        self.undos.append(step.back)
        self.redos.clear()

    def undo(self, stamp: Stamp) -> Step | None:
        """The step that takes back the last decision, for `take_undo`; None if there is none."""
        return self.step(_named(self.undos[-1], "undone"), stamp) if self.undos else None

    def redo(self, stamp: Stamp) -> Step | None:
        """The step that makes the last decision that was undone again, for `take_redo`; None if there is none."""
        return self.step(_named(self.redos[-1], "done again"), stamp) if self.redos else None

    def take_undo(self, step: Step) -> None:
        """The step of `undo` is kept."""
        last = self.undos.pop()
        self._move(step)
        self.redos.append(Decision(last.what, step.back.changes))

    def take_redo(self, step: Step) -> None:
        """The step of `redo` is kept."""
        last = self.redos.pop()
        self._move(step)
        self.undos.append(Decision(last.what, step.back.changes))

    def _move(self, step: Step) -> None:
        for event in step.events:
            if isinstance(event, Reviewed):
                self._note(event)
            else:
                self._add(event.entry)

    def _back(self, change: Change) -> Change:
        if isinstance(change, Closed):
            return Closed(change.remark, not change.is_open)
        if change.line not in self.lines:
            return Put(change.line, None, State.WITHDRAWN)
        tip = self.tip(change.line)
        fact = None if tip.state is State.WITHDRAWN else Fact(tip.animal, tip.part)
        return Put(change.line, fact, tip.state)

    def _version(self, put: Put, stamp: Stamp, n: int) -> Entry:
        """The entry that a change makes. A correction keeps the day on which the fact was said."""
        old = self.lines.get(put.line)
        if old is None:
            if put.fact is None:
                raise ValueError("there is no such line to withdraw")
            when = put.time or stamp.time
            return Entry(
                put.line, put.fact.animal, put.fact.part, put.state, put.remark, self.session, when, None, stamp.by
            )
        key = str(uuid.uuid5(uuid.NAMESPACE_OID, f"{stamp.seed}/{n}"))
        tip = old[-1]
        fact = put.fact or Fact(tip.animal, tip.part)
        state = State.WITHDRAWN if put.fact is None else put.state
        return replace(
            tip, id=key, animal=fact.animal, part=fact.part, state=state, supersedes=tip.id, by=stamp.by or tip.by
        )

    def _add(self, entry: Entry) -> None:
        line = self._line_of.get(entry.supersedes or "", entry.id)
        if line in self.lines and self.tip(line).id != entry.supersedes:
            line = entry.id  # put right on two machines: what each made of it is a line of its own
        self._line_of[entry.id] = line
        before = self.lines.get(line, ())
        if before and before[-1].animal != entry.animal:
            del self._of_animal[before[-1].animal][line]
        self._of_animal.setdefault(entry.animal, {})[line] = None
        (self._withdrawn.add if entry.state is State.WITHDRAWN else self._withdrawn.discard)(line)
        self.lines[line] = (*before, entry)

    def _note(self, event: RemarkKept | Reviewed) -> None:
        if isinstance(event, RemarkKept):
            if event.to_review:
                before = self.known.get(event.remark)
                animals = dict.fromkeys((*event.animals, *(before.animals if before else ())))
                self.open[event.remark] = self.known[event.remark] = Case(event.remark, event.reason, tuple(animals))
            return
        self.decided.update(dict.fromkeys(event.entries, event))
        for remark in event.closed:
            self.open.pop(remark, None)
        for remark in event.reopened:
            self.open[remark] = self.known.get(remark, Case(remark, event.what))


def _named(decision: Decision, how: str) -> Decision:
    return replace(decision, what=f"{decision.what}, {how}")

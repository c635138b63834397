"""A stage for session tests: an invented herd, a clock that the test moves, and a keeper who speaks in parts."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, timedelta

from assistant.session.events import Event, Input, Said, Started, TimedOut
from assistant.session.fold import replay
from assistant.session.replies import Reply, ReplyKind
from assistant.session.scale import LAMENESS
from assistant.session.state import Policy, SessionState
from assistant.session.step import step
from assistant.session.world import Answer, Due, LastVisit
from assistant.values import (
    ActionPart,
    Animal,
    AnimalPart,
    CommandPart,
    Decision,
    Entry,
    FindingPart,
    Meaning,
    MeasurePart,
    Part,
    PlacePart,
    QuestionPart,
    Remark,
    Species,
    Verdict,
)

START = datetime(2026, 5, 26, 9, 0, tzinfo=UTC)
TODAY = START.date()
HERD = (
    Animal("a1", number="401", name="Tansy"),
    Animal("a2", number="417", name="Sorrel"),
    Animal("a3", number="411", name="Bryony"),
    Animal("a4", number="412", name="Yarrow"),
    Animal("a5", number="413", name="Campion"),
    Animal("a6", number="414", name="Teasel"),
    Animal("a7", number="502"),
    Animal("a8", number="503", name="Burdock"),
    Animal("a9", number="504", name="Burdock"),
)


class Herd:
    """A `World` of tables."""

    def __init__(self, animals: Sequence[Animal], visits: Mapping[str, LastVisit], due: Sequence[Due]) -> None:
        self.animals = {animal.id: animal for animal in animals}
        self.visits = visits
        self.dues = tuple(due)
        self.scales = dict(LAMENESS)
        self.answers: dict[str, Answer] = {}
        self.asked: list[tuple[str, str, str]] = []

    def animal(self, key: str, /) -> Animal | None:
        return self.animals.get(key)

    def last_visit(self, key: str, /) -> LastVisit | None:
        return self.visits.get(key)

    def due(self, today: date, /) -> tuple[Due, ...]:
        return tuple(one for one in self.dues if one.day <= today)

    def cautions(self, key: str, today: date, /) -> tuple[str, ...]:
        return ()

    def answer(self, question: str, key: str, other: str, today: date, /) -> Answer | None:
        self.asked.append((question, key, other))
        return self.answers.get(question)

    def lameness(self, species: Species, /) -> tuple[int, int]:
        return self.scales[species]


class Stage:
    """A session that a test plays."""

    def __init__(
        self,
        animals: Sequence[Animal] = HERD,
        visits: Mapping[str, LastVisit] | None = None,
        due: Sequence[Due] = (),
        planned: tuple[str, ...] = (),
        policy: Policy = Policy.NORMAL,
        is_attended: bool = True,
    ) -> None:
        self.herd = Herd(animals, visits or {}, due)
        self.state = SessionState()
        self.now = START
        self.kept: list[Event] = []
        self.replies: tuple[Reply, ...] = ()
        self.latest: tuple[Event, ...] = ()
        self.n_said = 0
        self.put(Started("s1", self.now, planned, "Ash", "typed", policy, is_attended))

    def put(self, event: Input) -> str:
        """Steps with one input; gives what was told. Live and replayed states are compared every time."""
        self.state, self.latest, self.replies = step(self.state, event, self.herd)
        self.kept += self.latest
        assert replay(self.kept) == self.state
        return " ".join(reply.text for reply in self.replies if reply.text)

    def say(self, *parts: Part, words: str = "", unplaced: str = "", wait_s: float = 20, is_close: bool = False) -> str:
        """An accepted remark."""
        verdict = Verdict(Decision.ACCEPTED, "both agree", (words,), is_close=is_close)
        remark = self.remark(parts, words, wait_s, verdict, unplaced)
        return self.put(Said(remark, self.resolved(parts)))

    def mumble(self, *readings: tuple[str, tuple[Part, ...]], wait_s: float = 20, agreed: tuple[Part, ...] = ()) -> str:
        """A remark that the listeners do not agree on, or in part; one that neither heard if there is no reading."""
        decision = Decision.ASK if readings else Decision.UNHEARD
        verdict = Verdict(decision, "the listeners differ", tuple(words for words, _ in readings))
        remark = self.remark((), "", wait_s, verdict)
        choices = tuple(
            Remark(remark.id, "s1", remark.time, words, Meaning(parts), verdict, by="Ash") for words, parts in readings
        )
        animals = self.resolved([part for _, parts in readings for part in parts])
        return self.put(Said(remark, animals, choices, agreed=agreed))

    def wait(self) -> str:
        """Nobody answers."""
        self.now += timedelta(seconds=8)
        return self.put(TimedOut(self.now))

    def remark(
        self, parts: tuple[Part, ...], words: str, wait_s: float, verdict: Verdict | None, unplaced: str = ""
    ) -> Remark:
        self.now += timedelta(seconds=wait_s)
        self.n_said += 1
        key = str(uuid.uuid5(uuid.NAMESPACE_OID, f"test remark {self.n_said}"))
        return Remark(key, "s1", self.now, words, Meaning(parts, unplaced), verdict, by="Ash")

    def resolved(self, parts: Sequence[Part]) -> dict[str, tuple[str, ...]]:
        """Animals by full name or full number, as a register without any guessing would."""
        said = [part.animal for part in parts if isinstance(part, AnimalPart | QuestionPart)]
        said += [part.other for part in parts if isinstance(part, QuestionPart)]
        return {
            text: tuple(a.id for a in self.herd.animals.values() if text.casefold() in (a.name.casefold(), a.number))
            for text in said
            if text
        }

    def parts(self, animal: str = "a1") -> list[Part]:
        """What holds for an animal."""
        return [entry.part for entry in self.state.entries_of(animal)]

    @property
    def kind(self) -> ReplyKind:
        """Kind of the last reply."""
        return self.replies[-1].kind

    def entries(self) -> list[Entry]:
        """Every entry ever made, in order."""
        return [event.entry for event in self.kept if hasattr(event, "entry")]


def it(name: str) -> AnimalPart:
    return AnimalPart(name)


def found(place: str | None, finding: str, part: str | None = None) -> FindingPart:
    return FindingPart(place, finding, part)


def did(place: str | None, action: str) -> ActionPart:
    return ActionPart(place, action)


def at(place: str) -> PlacePart:
    return PlacePart(place)


def cmd(command: str, place: str | None = None, **keys: str) -> CommandPart:
    return CommandPart(command, place, **keys)


def measure(name: str, value: float) -> MeasurePart:
    return MeasurePart(name, value)

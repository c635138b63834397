"""The herd as a session sees it: the register, and what the store knows from earlier sessions."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Protocol

from assistant.errors import BadRegister
from assistant.husbandry import answer, medicine
from assistant.husbandry.choice import relation
from assistant.husbandry.follow_up import FollowUpState, is_now
from assistant.husbandry.kinship import kinship
from assistant.session import replies
from assistant.session.scale import LAMENESS, YOUNG_BORN
from assistant.session.world import Answer, Due, LastVisit
from assistant.values import Animal, Entry, Sex, Species

if TYPE_CHECKING:
    from assistant.records.look_ahead import LookAhead

WATCH_FEED = "watch feed before birth"

_YOUNG = {Sex.FEMALE: "daughter", Sex.MALE: "son", Sex.CASTRATED: "son"}


class History(Protocol):
    """What is known of an animal from earlier sessions, oldest first."""

    @property
    def entries(self) -> Sequence[Entry]: ...
    @property
    def trimmed(self) -> date | None: ...


class FollowUp(Protocol):
    """Something to be done later; `due` is None if no time was said."""

    @property
    def animal(self) -> str: ...
    @property
    def what(self) -> str: ...
    @property
    def due(self) -> date | None: ...


class Past(Protocol):
    """Where earlier sessions are kept: see `assistant.store.store.Store`."""

    def history(self, animal: str, before: str | None = None) -> History: ...
    def follow_ups(self, until: date | None = None) -> Sequence[FollowUp]: ...


class Herd:
    """Answers a session's questions about animals.

    Args:
        animals: the register, by id.
        past: the store.
        session: id of the session that asks; what it recorded itself is no past.
        lameness: species → lowest and highest score of the lameness scale in use.
        ahead: what follows from the records on a day; without it only what remarks asked for is due.
    """

    def __init__(
        self,
        animals: Mapping[str, Animal],
        past: Past,
        session: str,
        lameness: Mapping[Species, tuple[int, int]] = LAMENESS,
        ahead: Callable[[date], LookAhead] | None = None,
    ) -> None:
        self._animals = animals
        self._past = past
        self._session = session
        self._lameness = lameness
        self._ahead = ahead
        self._looked: LookAhead | None = None

    def animal(self, key: str, /) -> Animal | None:
        """The animal with this id in the register."""
        return self._animals.get(key)

    def last_visit(self, key: str, /) -> LastVisit | None:
        """What is known of it from before this session, or None if it was never seen."""
        history = self._past.history(key, self._session)
        if not history.entries:
            return None
        last = history.entries[-1].session
        births = [entry.time.date() for entry in history.entries if entry.part.flat().get("measure") == YOUNG_BORN]
        return LastVisit(
            history.trimmed,
            tuple(entry.part for entry in history.entries if entry.session == last),
            born=max(births, default=None),
        )

    def due(self, today: date, /) -> tuple[Due, ...]:
        """What is due up to `today`: follow-ups, oldest first, then feet to trim."""
        ahead = self._on(today)
        if ahead is None:
            dated = (item for item in self._past.follow_ups(today) if item.due is not None)
            return tuple(Due(item.animal, item.what, item.due or today) for item in dated)
        again = [Due(one.asked.animal, one.asked.what, one.due or today) for one in ahead.follow_ups() if is_now(one)]
        trims = [Due(one.animal, "trim", one.due) for one in ahead.trims() if one.due and one.due <= today]
        return tuple(one for one in (*again, *trims) if one.animal in self._animals)

    def cautions(self, key: str, today: date, /) -> tuple[str, ...]:
        """What must be said of an animal when it is caught: births, medicines, and what is to be looked at."""
        ahead, told = self._on(today), []
        if ahead is None:
            return ()
        birth = ahead.pregnancy(key)
        if birth and birth.caution(today):
            told.append(replies.DO_NOT_TIP)
            if WATCH_FEED in ahead.traits.get(key, ()):
                told.append("Watch her feed.")
        held = ahead.withheld(key).get(key)
        for what, day in (("milk", held.milk_from), ("meat", held.meat_from)) if held else ():
            if day:
                told.append(replies.caution_until(what, day, today))
        if held and held.unknown:
            told.append(f"{replies.sentence_case(held.unknown[0])}: {medicine.ASK}.")
        for one in ahead.follow_ups(key):
            if is_now(one):
                why = f", {one.asked.reason}" if one.asked.reason else ""
                told.append(f"{replies.sentence_case(one.asked.what)} due{why}.")
            elif one.state is FollowUpState.UNDATED and one.asked.said < today:
                told.append(f"{replies.sentence_case(one.asked.what)} asked for on {replies.dated(one.asked.said)}.")
        return tuple(told)

    def answer(self, question: str, key: str, other: str, today: date, /) -> Answer | None:
        """The answer to a question about coming days, families or feet; None without a look ahead."""
        ahead = self._on(today)
        if ahead is None:
            return None
        try:
            return self._answer(ahead, question, key, other, today)
        except BadRegister as error:  # an animal that descends from itself is no reason to end a session
            return answer.Told(str(error))

    def _answer(self, ahead: LookAhead, question: str, key: str, other: str, today: date) -> Answer | None:
        who = self._called(key)
        match question:
            case "not to the male":
                return answer.shut_out(ahead.readiness(today), self._called)
            case "births":
                return answer.births(ahead.pregnancies, self._called)
            case "withdrawal":
                return answer.withdrawal(ahead.practice.medicine(key) if key else None)
            case "worst feet":
                since = date(today.year, 1, 1)
                return answer.worst_feet(ahead.feet(since, today), since)
            case "birth":
                return answer.birth(ahead.pregnancy(key), who, today)
            case "withheld":
                return answer.withheld(ahead.withheld(key).get(key), who)
            case "related":
                of = ahead.pedigree
                shared = float(kinship(of, [key], [other])[0, 0])
                two = [animal for animal in (self.animal(key), self.animal(other)) if animal]
                is_pair = {animal.sex for animal in two} == {Sex.MALE, Sex.FEMALE} and two[0].species is two[1].species
                how = relation(of, other, key)
                if how == "young" and (young := self.animal(other)):
                    how = _YOUNG.get(young.sex, how)
                return answer.related(how, shared, who, self._called(other), is_pair=is_pair)
        return None

    def _on(self, today: date) -> LookAhead | None:
        """What follows on a day; made once a day, as register and matings stay as they are during a session."""
        if self._ahead is not None and (self._looked is None or self._looked.today != today):
            self._looked = self._ahead(today)
        return self._looked

    def _called(self, key: str) -> str:
        animal = self.animal(key)
        return replies.called(animal) if animal else key

    def lameness(self, species: Species, /) -> tuple[int, int]:
        """Lowest and highest score of the lameness scale in use."""
        return self._lameness.get(species, LAMENESS[species])

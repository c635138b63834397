"""What the look-back screen shows: sessions, animals by foot over time, what is due, counts, and the replay."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from itertools import islice
from typing import Any, Protocol

from assistant.session.events import EVENT_TYPES, Event, Replied, Said, event_from_flat
from assistant.session.fold import applied
from assistant.session.state import SessionState
from assistant.session.world import World
from assistant.values import FEET, Animal, Entry, FindingPart, MeasurePart, SessionInfo, Sound

CHARTED = 12
"""So many sessions stand in a chart, the last ones."""


@dataclass(frozen=True)
class ToDo:
    """Something that is still to be done with an animal; `due` is None if no day was set."""

    animal: str
    what: str
    due: date | None


class Past(Protocol):
    """Where sessions are kept: see `assistant.store.store.Store`."""

    def sessions(self) -> Sequence[SessionInfo]: ...  # noqa: D102
    def entries(  # noqa: D102
        self, session: str | None = None, animal: str | None = None, *, live_only: bool = True
    ) -> Sequence[Entry]: ...
    def events(self, session: str) -> Iterator[Mapping[str, Any]]: ...  # noqa: D102
    def sound(self, remark: str) -> Sound: ...  # noqa: D102


@dataclass(frozen=True)
class Visit:
    """What one session recorded of an animal; newest first in a card."""

    day: date
    entries: tuple[Entry, ...]

    def at(self, foot: str) -> tuple[Entry, ...]:
        """What was recorded of a foot."""
        return tuple(entry for entry in self.entries if getattr(entry.part, "place", None) == foot)

    @property
    def rest(self) -> tuple[Entry, ...]:
        """What was recorded of all but the feet."""
        return tuple(entry for entry in self.entries if getattr(entry.part, "place", None) not in FEET)


@dataclass(frozen=True)
class Bars:
    """How often something was found in each of the last sessions: (day, places, animals handled)."""

    finding: str
    bars: tuple[tuple[date, int, int], ...]


class LookingBack:
    """The past of a holding, read as it is asked for.

    Args:
        past: the store.
        animals: the register, by id.
        today: for what is due.
        to_do: what is still to be done on a day.
    """

    def __init__(
        self,
        past: Past,
        animals: Mapping[str, Animal],
        today: date,
        to_do: Callable[[date], Iterable[ToDo]] = lambda _: (),
    ) -> None:
        self.past = past
        self.animals = animals
        self.today = today
        self.sessions = tuple(past.sessions())
        self._to_do = to_do
        self._of_session: dict[str, tuple[Entry, ...]] = {}

    def label(self, animal: str) -> str:
        """How an animal is called; its id if the register does not know it."""
        known = self.animals.get(animal)
        return known.label if known else animal

    def entries(self, session: str) -> tuple[Entry, ...]:
        """The entries of a session that hold."""
        if session not in self._of_session:
            self._of_session[session] = tuple(self.past.entries(session))
        return self._of_session[session]

    def visits(self, animal: str) -> tuple[Visit, ...]:
        """What was recorded of an animal, by session, the newest first."""
        by_session: dict[str, list[Entry]] = {}
        for entry in self.past.entries(animal=animal):
            by_session.setdefault(entry.session, []).append(entry)
        found = [Visit(entries[0].time.date(), tuple(entries)) for entries in by_session.values()]
        return tuple(sorted(found, key=lambda visit: visit.day, reverse=True))

    @cached_property
    def due(self) -> tuple[ToDo, ...]:
        """What is to be done, earliest first, undated last."""
        return tuple(sorted(self._to_do(self.today), key=lambda one: one.due or date.max))

    @cached_property
    def charts(self) -> tuple[Bars, ...]:
        """How often each finding was made in each of the last sessions with any record, the most frequent first."""
        recorded = ((info, found) for info in reversed(self.sessions) if (found := self.entries(info.id)))
        shown = list(islice(recorded, CHARTED))[::-1]
        counts = [Counter(e.part.finding for e in found if isinstance(e.part, FindingPart)) for _, found in shown]
        handled = [len({entry.animal for entry in found}) for _, found in shown]
        total: Counter[str] = sum(counts, Counter())
        return tuple(
            Bars(
                name,
                tuple(
                    (info.started.date(), count[name], n)
                    for (info, _), count, n in zip(shown, counts, handled, strict=True)
                ),
            )
            for name, _ in total.most_common()
            if name != "sound"
        )


def measured(visits: Sequence[Visit], measure: str) -> tuple[tuple[date, float], ...]:
    """A measure over time, oldest first."""
    return tuple(
        (visit.day, entry.part.value)
        for visit in reversed(visits)
        for entry in visit.entries
        if isinstance(entry.part, MeasurePart) and entry.part.measure == measure
    )


@dataclass(frozen=True)
class Moment:
    """The session after one remark, with what the keeper was told."""

    said: Said
    state: SessionState
    told: tuple[str, ...]


class Replay:
    """A session stepped through remark by remark; its events are read as far as they are needed.

    Args:
        flats: the events of the session, in order, flat.
        world: its herd.
    """

    def __init__(self, flats: Iterator[Mapping[str, Any]], world: World) -> None:
        self.world = world
        self._flats = flats
        self._moments: list[Moment] = []
        self._state = SessionState()
        self._next: Said | None = None
        self._is_read = False

    def moment(self, n: int) -> Moment | None:
        """The session after its remark number `n`, from 0; None if there are not so many."""
        while not self._is_read and len(self._moments) <= n:
            self._read_on()
        return self._moments[n] if 0 <= n < len(self._moments) else None

    def _read_on(self) -> None:
        """Reads up to the next remark: what comes between two of them was led to by the first."""
        said, told = self._next, list[str]()
        for flat in self._flats:
            if flat["type"] not in EVENT_TYPES:
                continue
            event: Event = event_from_flat(flat["type"], {key: value for key, value in flat.items() if key != "type"})
            if isinstance(event, Said):
                self._next = event
                break
            self._state = applied(self._state, event)
            if isinstance(event, Replied) and event.text:
                told.append(event.text)
        else:
            self._is_read, self._next = True, None
        if said is not None:
            self._moments.append(Moment(said, self._state, tuple(told)))

    @property
    def started(self) -> datetime | None:
        """When the session began, once its first event is read."""
        return self._state.info.started if self._state.info else None

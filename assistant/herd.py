"""The herd as a session sees it: the register, and what the store knows from earlier sessions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Protocol

from assistant.session.scale import LAMENESS
from assistant.session.world import Due, LastVisit
from assistant.values import Animal, Entry, Species


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
    """

    def __init__(
        self,
        animals: Mapping[str, Animal],
        past: Past,
        session: str,
        lameness: Mapping[Species, tuple[int, int]] = LAMENESS,
    ) -> None:
        self._animals = animals
        self._past = past
        self._session = session
        self._lameness = lameness

    def animal(self, key: str, /) -> Animal | None:
        """The animal with this id in the register."""
        return self._animals.get(key)

    def last_visit(self, key: str, /) -> LastVisit | None:
        """What is known of it from before this session, or None if it was never seen."""
        history = self._past.history(key, self._session)
        if not history.entries:
            return None
        last = history.entries[-1].session
        return LastVisit(history.trimmed, tuple(entry.part for entry in history.entries if entry.session == last))

    def due(self, today: date, /) -> tuple[Due, ...]:
        """What is due up to `today`, oldest first."""
        return tuple(
            Due(item.animal, item.what, item.due) for item in self._past.follow_ups(today) if item.due is not None
        )

    def lameness(self, species: Species, /) -> tuple[int, int]:
        """Lowest and highest score of the lameness scale in use."""
        return self._lameness.get(species, LAMENESS[species])

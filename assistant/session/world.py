"""What a session may ask about the herd: answered by the flow from register and store."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Protocol

from assistant.values import Animal, Part, Species


@dataclass(frozen=True)
class LastVisit:
    """What is known of an animal from before this session.

    Attributes:
        trimmed: day of the last trim.
        parts: what was recorded at the last visit that recorded anything.
        milk_until: first day on which milk may be used again.
        meat_until: first day on which meat may be used again.
        cautions: further sentences to be said when the animal is caught.
    """

    trimmed: date | None = None
    parts: tuple[Part, ...] = ()
    milk_until: date | None = None
    meat_until: date | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Due:
    """Something to be done with an animal on a day."""

    animal: str
    what: str
    day: date


class World(Protocol):
    """The herd as the session sees it."""

    def animal(self, key: str, /) -> Animal | None:
        """The animal with this id in the register."""

    def last_visit(self, key: str, /) -> LastVisit | None:
        """What is known of it from before this session, or None if it was never seen."""

    def due(self, today: date, /) -> tuple[Due, ...]:
        """What is due up to `today`, oldest first."""

    def lameness(self, species: Species, /) -> tuple[int, int]:
        """Lowest and highest score of the lameness scale that the holding uses for a species."""

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
        born: day on which it last gave birth.
    """

    trimmed: date | None = None
    parts: tuple[Part, ...] = ()
    milk_until: date | None = None
    meat_until: date | None = None
    cautions: tuple[str, ...] = ()
    born: date | None = None


@dataclass(frozen=True)
class Due:
    """Something to be done with an animal on a day."""

    animal: str
    what: str
    day: date


class Answer(Protocol):
    """What a question about the herd is answered with."""

    @property
    def sentence(self) -> str:
        """To be said."""

    @property
    def lines(self) -> tuple[str, ...]:
        """To be shown."""


class World(Protocol):
    """The herd as the session sees it."""

    def animal(self, key: str, /) -> Animal | None:
        """The animal with this id in the register."""

    def last_visit(self, key: str, /) -> LastVisit | None:
        """What is known of it from before this session, or None if it was never seen."""

    def due(self, today: date, /) -> tuple[Due, ...]:
        """What is due up to `today`, oldest first."""

    def cautions(self, key: str, today: date, /) -> tuple[str, ...]:
        """Sentences that the keeper must hear before laying hands on it."""

    def answer(self, question: str, key: str, other: str, today: date, /) -> Answer | None:
        """The answer to a question about coming days, families or feet; None if it cannot be given here.

        Args:
            question: its name.
            key: the animal that it is about, empty if it is about the herd.
            other: a second animal that it names, or empty.
            today: the day that counts.
        """

    def lameness(self, species: Species, /) -> tuple[int, int]:
        """Lowest and highest score of the lameness scale that the holding uses for a species."""

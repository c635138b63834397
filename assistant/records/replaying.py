"""A session gone through again: each remark, who was on the table, what was put on record, what was said back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.session.events import AnimalCaught, EntryMade, EntrySuperseded, Event, RemarkKept, Replied, Said
from assistant.values import Entry, Remark


@dataclass(frozen=True)
class Moment:
    """One remark and what came of it.

    Attributes:
        animal: id of the animal on the table afterwards; None before the first.
        entries: what it put on record, corrections and withdrawals too.
        kept: why it did not become an entry, or not wholly; empty if it did.
        replies: what was said back, without the soft tick.
    """

    remark: Remark
    animal: str | None
    entries: tuple[Entry, ...] = ()
    kept: str = ""
    replies: tuple[str, ...] = ()


def moments(events: Iterable[Event]) -> Iterator[Moment]:
    """The remarks of a session in order.

    Args:
        events: of the session.
    """
    open_one: _Open | None = None
    animal: str | None = None
    for event in events:
        if isinstance(event, Said):
            if open_one:
                yield open_one.moment(animal)
            open_one = _Open(event.remark, [], [], [])
        elif isinstance(event, AnimalCaught):
            animal = event.animal
        elif open_one is not None:
            open_one.take(event)
    if open_one:
        yield open_one.moment(animal)


@dataclass
class _Open:
    """A remark whose consequences are still being read."""

    remark: Remark
    entries: list[Entry]
    kept: list[str]
    replies: list[str]

    def take(self, event: Event) -> None:
        match event:
            case EntryMade(entry=entry) | EntrySuperseded(entry=entry):
                self.entries.append(entry)
            case RemarkKept(reason=reason, to_review=True):
                self.kept.append(reason)
            case Replied(text=text) if text:
                self.replies.append(text)

    def moment(self, animal: str | None) -> Moment:
        return Moment(self.remark, animal, tuple(self.entries), "; ".join(self.kept), tuple(self.replies))


def of_animal(found: Iterable[Moment], animal: str) -> Iterator[Moment]:
    """The moments from the first that has this animal on the table, or is about it, to the end of the session."""
    is_begun = False
    for moment in found:
        is_begun = is_begun or moment.animal == animal or any(entry.animal == animal for entry in moment.entries)
        if is_begun:
            yield moment

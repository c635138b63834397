"""Spoken remarks of which the keeper has said which animal they named.

They tell how the keeper says the animals' names. Nothing is taken for granted that only the listeners agreed on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from assistant.session.events import (
    AnimalCaught,
    AnimalLeft,
    EntryMade,
    EntrySuperseded,
    Event,
    QuestionAnswered,
    RemarkKept,
    Reviewed,
    Said,
)
from assistant.session.review import Review
from assistant.values import Entry, Remark, State


@dataclass(frozen=True)
class NamedRemark:
    """A remark and the id of the animal that it named."""

    remark: Remark
    animal: str


@dataclass
class _Catch:
    """An animal that came to the table with a remark.

    Attributes:
        is_chosen: the keeper was asked who it is and said so.
        entries: what was recorded while it stood there, by the id of its first version.
    """

    remark: str
    animal: str
    is_chosen: bool
    entries: list[str] = field(default_factory=list)


def named_remarks(session: str, events: Iterable[Event]) -> list[NamedRemark]:
    """The spoken remarks of one session with which an animal came to the table, where the keeper settled which.

    That is so where the keeper answered the question who it is, and where facts that were recorded then have been
    decided on at the review, or moved to another animal: all of them for the same animal.

    Args:
        session: its id.
        events: all of them, in order.
    """
    said: dict[str, Remark] = {}
    answered: set[str] = set()
    catches: list[_Catch] = []
    entries: list[Entry] = []
    decisions: list[RemarkKept | Reviewed] = []
    is_at_table = False
    for event in events:
        if isinstance(event, Said) and event.remark.verdict is not None:
            said[event.remark.id] = event.remark
        elif isinstance(event, QuestionAnswered) and event.answer:
            answered.add(event.remark)
        elif isinstance(event, AnimalCaught):
            catches.append(_Catch(event.remark, event.animal, event.remark in answered))
            is_at_table = True
        elif isinstance(event, AnimalLeft):
            is_at_table = False
        elif isinstance(event, EntryMade | EntrySuperseded):
            entries.append(event.entry)
            if is_at_table and isinstance(event, EntryMade) and event.entry.animal == catches[-1].animal:
                catches[-1].entries.append(event.entry.id)
        elif isinstance(event, RemarkKept | Reviewed):
            decisions.append(event)
    review = Review.of(session, entries, decisions)
    return [
        NamedRemark(said[catch.remark], animal)
        for catch in catches
        if catch.remark in said and (animal := _settled(catch, review)) is not None
    ]


def _settled(catch: _Catch, review: Review) -> str | None:
    all_tips = (review.lines[line][-1] for line in catch.entries if line in review.lines)
    tips = [tip for tip in all_tips if tip.state is not State.WITHDRAWN]
    animals = {tip.animal for tip in tips if tip.id in review.decided or tip.animal != catch.animal}
    if len(animals) == 1:
        return animals.pop()
    return catch.animal if catch.is_chosen and not animals else None

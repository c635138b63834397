"""What is to be looked at again: asked for in remarks, or by a rule of the holding; and what became of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from enum import StrEnum
from typing import NamedTuple, Protocol

from assistant.husbandry.practice import Recheck
from assistant.values.book import Settled, Settlement
from assistant.values.outlook import Asked

EARLY_DAYS = 3
"""A visit so many days before the day counts as the look that was asked for (common practice, no source)."""

BY_WORD_ONLY = ("vet", "move")
"""Follow-ups that no handling session can show to be done."""


class FollowUpState(StrEnum):
    """Where a follow-up stands."""

    TO_COME = "to come"
    DUE = "due"
    OVERDUE = "overdue"
    UNDATED = "no day set"
    DONE = "done"


class Visit(Protocol):
    """A session in which something was found on an animal or done to it."""

    @property
    def day(self) -> date:
        """When."""

    @property
    def is_trimmed(self) -> bool:
        """Whether it was trimmed."""


class Finding(Protocol):
    """A finding on an animal."""

    @property
    def entry(self) -> str:
        """Id of the entry."""

    @property
    def animal(self) -> str:
        """Id of the animal."""

    @property
    def place(self) -> str:
        """Where."""

    @property
    def what(self) -> str:
        """The finding."""

    @property
    def grade(self) -> str | None:
        """How bad."""

    @property
    def day(self) -> date:
        """When."""


class FollowUp(NamedTuple):
    """Something asked for and where it stands.

    Attributes:
        due: the day that counts now; later than that of `asked` if it was put off.
        done: the day on which it was done.
    """

    asked: Asked
    due: date | None
    state: FollowUpState
    done: date | None = None
    is_put_off: bool = False


def asked_by_rules(findings: Iterable[Finding], rules: Sequence[Recheck]) -> tuple[Asked, ...]:
    """What the holding's rules ask for. A later finding under the same rule starts its time again.

    Args:
        findings: in the order of recording.
        rules: those of the holding.
    """
    latest: dict[tuple[str, int], list[Finding]] = {}
    for found in findings:
        for n, rule in enumerate(rules):
            if found.what in rule.findings and rule.grade in (None, found.grade):
                held = latest.setdefault((found.animal, n), [])
                if held and held[0].day != found.day:
                    held.clear()
                held.append(found)
    return tuple(
        Asked(
            held[0].entry,
            animal,
            rules[n].what,
            held[0].day,
            held[0].day + timedelta(days=rules[n].days),
            "; ".join(dict.fromkeys(f"{one.place} {one.what}".strip() for one in held)),
        )
        for (animal, n), held in latest.items()
    )


def follow_ups(
    asked: Iterable[Asked], visits: Mapping[str, Sequence[Visit]], settled: Mapping[str, Settled], today: date
) -> tuple[FollowUp, ...]:
    """Where everything that was asked for stands, earliest first, undated last.

    Args:
        asked: by remarks and rules.
        visits: animal → its sessions, earliest first.
        settled: entry → the keeper's word on it.
        today: the day that counts.
    """
    found = [_follow_up(one, visits.get(one.animal, ()), settled.get(one.entry), today) for one in asked]
    return tuple(sorted(found, key=lambda one: (one.due is None, one.due or date.max)))


def is_open(one: FollowUp) -> bool:
    """Whether it is still to be done."""
    return one.state is not FollowUpState.DONE


def is_now(one: FollowUp) -> bool:
    """Whether it is due or overdue."""
    return one.state in (FollowUpState.DUE, FollowUpState.OVERDUE)


def _follow_up(asked: Asked, visits: Sequence[Visit], word: Settled | None, today: date) -> FollowUp:
    if word and word.settlement is Settlement.DONE:
        return FollowUp(asked, asked.due, FollowUpState.DONE, word.day)
    due = word.until if word and word.until else asked.due
    done = next((visit.day for visit in visits if visit.day <= today and _settles(visit, asked, due)), None)
    state = FollowUpState.DONE if done else _state(due, today)
    return FollowUp(asked, due, state, done, is_put_off=bool(word))


def _settles(visit: Visit, asked: Asked, due: date | None) -> bool:
    if asked.what in BY_WORD_ONLY or visit.day <= asked.said:
        return False
    if asked.what.startswith("re-trim"):
        return visit.is_trimmed
    return due is None or visit.day >= due - timedelta(days=EARLY_DAYS)


def _state(due: date | None, today: date) -> FollowUpState:
    if due is None:
        return FollowUpState.UNDATED
    if due > today:
        return FollowUpState.TO_COME
    return FollowUpState.DUE if due == today else FollowUpState.OVERDUE

"""The decisions that can be made on a session's record, each as the changes that it consists of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from itertools import zip_longest

from assistant.session.review import Change, Closed, Decision, Fact, Put, Review
from assistant.values import Part, State


def accepted(review: Review, lines: Sequence[str]) -> Decision:
    """The facts are right as they are."""
    tips = [(line, review.tip(line)) for line in lines]
    return Decision("accepted", tuple(Put(line, Fact(e.animal, e.part), State.CONFIRMED) for line, e in tips))


def changed(line: str, fact: Fact, what: str = "changed") -> Decision:
    """The fact is another one."""
    return Decision(what, (Put(line, fact),))


def withdrawn(lines: Sequence[str]) -> Decision:
    """The facts do not hold."""
    return Decision("withdrawn", tuple(Put(line, None) for line in lines))


def split(review: Review, line: str, parts: Sequence[Part], new: Mapping[int, str]) -> Decision:
    """One fact was two or more: the first takes its place, the others are recorded beside it.

    Args:
        review: the record.
        line: the fact.
        parts: what it is split into.
        new: ids for the lines that are made, by index of the part, from 1.
    """
    tip = review.tip(line)
    first = Put(line, Fact(tip.animal, parts[0]))
    rest = (
        Put(new[n], Fact(tip.animal, part), State.CORRECTED, tip.remark, tip.time)
        for n, part in enumerate(parts[1:], start=1)
    )
    return Decision("split", (first, *rest))


def reread(
    review: Review,
    remark: str,
    animal: str,
    parts: Sequence[Part],
    time: datetime,
    new: Sequence[str],
    state: State = State.CONFIRMED,
) -> Decision:
    """A remark means these facts: they take the place of what is on record from it, and it waits no longer.

    Args:
        review: the record.
        remark: its id.
        animal: whom it is about.
        parts: its facts; those that are over on record are withdrawn.
        time: when it was said.
        new: at least as many fresh ids as there are parts.
        state: of the entries that are made.
    """
    changes: list[Change] = []
    for n, (line, part) in enumerate(_paired(review, remark, animal, parts)):
        fact = Fact(animal, part) if part is not None else None
        if line is None:
            changes.append(Put(new[n], fact, state, remark, time))
        else:
            changes.append(Put(line, fact, state if fact == _held(review, line) else State.CORRECTED))
    if remark in review.open:
        changes.append(Closed(remark))
    return Decision("read anew" if review.lines_from(remark) else "accepted", tuple(changes))


def _paired(review: Review, remark: str, animal: str, parts: Sequence[Part]) -> list[tuple[str | None, Part | None]]:
    """The remark's lines beside the facts that take their place: a line keeps a fact that stays, in history too."""
    lines, facts = list(review.lines_from(remark)), list(parts)
    pairs: list[tuple[str | None, Part | None]] = []
    for part in parts:
        if same := next((line for line in lines if _held(review, line) == Fact(animal, part)), None):
            lines.remove(same)
            facts.remove(part)
            pairs.append((same, part))
    return [*pairs, *zip_longest(lines, facts)]


def _held(review: Review, line: str) -> Fact:
    return Fact(review.tip(line).animal, review.tip(line).part)


def dismissed(remark: str) -> Decision:
    """Nothing in the remark is to be recorded."""
    return Decision("nothing to record", (Closed(remark),))


def added(line: str, fact: Fact, remark: str, time: datetime) -> Decision:
    """A fact that was not said, or not heard.

    Args:
        line: a fresh id.
        fact: what is recorded.
        remark: id of the typed remark that it comes from.
        time: when the fact was so; it gives the day of the record.
    """
    return Decision("added", (Put(line, fact, State.CONFIRMED, remark, time),))

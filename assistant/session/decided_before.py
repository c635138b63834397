"""Decisions of earlier reviews as they can be undone: worked out from the record, newest last."""

from __future__ import annotations

from collections.abc import Iterable

from assistant.session.events import Reviewed
from assistant.session.review import Change, Closed, Decision, Fact, Put, Review
from assistant.values import State

UNDONE, AGAIN = ", undone", ", done again"
"""How the name of a decision ends that takes another back, or makes it again."""


def decided_before(review: Review, events: Iterable[Reviewed]) -> tuple[list[Decision], list[Decision]]:
    """What a review that is begun anew can undo and do again.

    A decision can be undone only while all that came after it on the same facts can: where something other than a
    review put a fact right since then (a remark of the session, a second hearing), it and all before it stay.

    Args:
        review: the record of the session.
        events: its decisions, in the order in which they were made.

    Returns:
        The decisions that undo, and those that do again; the next one is the last of each.
    """
    undos: list[tuple[Decision, Reviewed]] = []
    redos: list[tuple[Decision, Reviewed]] = []
    for event in events:
        back = (_taking_back(review, event), event)
        if event.what.endswith(UNDONE) and undos:
            undos.pop()
            redos.append(back)
        elif event.what.endswith(AGAIN) and redos:
            redos.pop()
            undos.append(back)
        else:
            undos.append(back)
            redos.clear()
    return _free(review, undos), _free(review, redos)


def _free(review: Review, found: list[tuple[Decision, Reviewed]]) -> list[Decision]:
    """Those after the last that something else has overtaken."""
    overtaken = [n for n, (_, event) in enumerate(found) if any(_is_overtaken(review, e) for e in _made(review, event))]
    first = overtaken[-1] + 1 if overtaken else 0
    return [decision for decision, _ in found[first:]]


def _made(review: Review, event: Reviewed) -> list[str]:
    """The entries of a decision that are on record: one that two machines made differently may have been left out."""
    return [entry for entry in event.entries if review.holds(entry)]


def _is_overtaken(review: Review, entry: str) -> bool:
    versions = review.lines[review.line_of(entry)]
    at = next(n for n, version in enumerate(versions) if version.id == entry)
    return any(version.id not in review.decided for version in versions[at + 1 :])


def _taking_back(review: Review, event: Reviewed) -> Decision:
    changes: list[Change] = [_before(review, entry) for entry in _made(review, event)]
    changes += [Closed(remark, is_open=True) for remark in event.closed]
    changes += [Closed(remark) for remark in event.reopened]
    what = event.what
    while what.endswith((UNDONE, AGAIN)):
        what = what.removesuffix(UNDONE).removesuffix(AGAIN)
    return Decision(what, tuple(reversed(changes)))


def _before(review: Review, entry: str) -> Put:
    """What a fact was before a version of it was made."""
    line = review.line_of(entry)
    versions = review.lines[line]
    at = next(n for n, version in enumerate(versions) if version.id == entry)
    if not at or versions[at - 1].state is State.WITHDRAWN:
        return Put(line, None, State.WITHDRAWN)
    tip = versions[at - 1]
    return Put(line, Fact(tip.animal, tip.part), tip.state)

"""What was decided in earlier reviews can be undone: a review that is begun anew goes on where the last was left."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.session import deciding
from assistant.session.decided_before import decided_before
from assistant.session.events import Reviewed
from assistant.session.review import Fact, Review, Step
from assistant.values import Entry
from tests.store_stage import HOLLOW, TRIMMED, entry
from tests.test_review import CRACK, DECISIONS, KEPT, facts, stamp, two_facts

Kept = list[Entry | Reviewed]


def keep(record: Kept, step: Step) -> None:
    record += [event if isinstance(event, Reviewed) else event.entry for event in step.events]


def anew(record: Kept) -> Review:
    """The review of what is kept, as the next program makes it."""
    entries = [entry("e1", HOLLOW), entry("e2", TRIMMED, "a2"), *(one for one in record if isinstance(one, Entry))]
    decisions = [one for one in record if isinstance(one, Reviewed)]
    review = Review.of("s1", entries, [KEPT, *decisions])
    review.undos, review.redos = decided_before(review, decisions)
    return review


@pytest.mark.parametrize(("decide", "expected"), DECISIONS)
def test_a_decision_is_undone_and_done_again_by_the_next_review(decide, expected) -> None:
    record: Kept = []
    first = two_facts()
    before, open_before = facts(first), dict(first.open)
    keep(record, first.step(decide(first), stamp()))

    second = anew(record)
    assert facts(second) == expected
    undone = second.undo(stamp(1))
    assert undone is not None
    keep(record, undone)

    third = anew(record)
    assert (facts(third), third.open) == (before, open_before)
    assert third.undo(stamp(2)) is None
    again = third.redo(stamp(3))
    assert again is not None
    assert again.decision.what.endswith(", done again")
    keep(record, again)
    assert facts(anew(record)) == expected


@given(st.lists(st.sampled_from(["accept", "change", "withdraw", "add", "undo", "redo"]), max_size=12))
def test_it_goes_on_as_if_the_program_had_never_been_left(deeds) -> None:
    """One review that stays open, and one that is begun anew before each deed, come to the same record."""
    stays, record = two_facts(), list[Entry | Reviewed]()
    for n, deed in enumerate(deeds):
        seen = []
        for review in (stays, anew(record)):
            decision = {
                "accept": lambda r: deciding.accepted(r, ["e2"]),
                "change": lambda _: deciding.changed("e1", Fact("a1", CRACK)),
                "withdraw": lambda _: deciding.withdrawn(["e1"]),
                "add": lambda _, n=n: deciding.added(f"n{n}", Fact("a2", CRACK), "r8", KEPT.time),
            }.get(deed)
            step = getattr(review, deed)(stamp(n)) if decision is None else review.step(decision(review), stamp(n))
            seen.append(step)
            if step is not None:
                {"undo": review.take_undo, "redo": review.take_redo}.get(deed, review.take)(step)
        assert [step and step.events for step in seen[:1]] == [step and step.events for step in seen[1:]]
        if seen[0] is not None:
            keep(record, seen[0])
    assert facts(stays) == facts(anew(record))


def test_what_something_else_has_put_right_since_then_stays() -> None:
    """A second hearing or a spoken correction after the review: undoing would take back what the review did not do."""
    record: Kept = []
    review = two_facts()
    keep(record, review.step(deciding.accepted(review, ["e1"]), stamp()))
    tip = record[0]
    assert isinstance(tip, Entry)
    record.append(replace(tip, id="e9", part=CRACK, supersedes=tip.id))
    later = anew(record)
    assert later.undo(stamp(1)) is None
    keep(record, later.step(deciding.accepted(later, ["e2"]), stamp(2)))
    last = anew(record)
    assert [decision.what for decision in last.undos] == ["accepted"], "what came after it can be undone"


def test_entries_of_a_decision_that_are_not_on_record_are_passed_over() -> None:
    record: Kept = []
    first = two_facts()
    keep(record, first.step(deciding.withdrawn(["e1"]), stamp()))
    decision = record[-1]
    assert isinstance(decision, Reviewed)
    record[-1] = replace(decision, entries=(*decision.entries, "left out by a merge"))
    undone = anew(record).undo(stamp(1))
    assert undone is not None
    keep(record, undone)
    assert facts(anew(record)) == facts(first)

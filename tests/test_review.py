"""Putting a record right: every decision supersedes, can be undone and redone, and shows in the fact's history."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.session import deciding
from assistant.session.events import EntryMade, RemarkKept, Reviewed, event_from_flat, event_to_flat, flat_event
from assistant.session.fold import applied, replay
from assistant.session.review import Closed, Decision, Fact, Put, Review, Stamp
from assistant.store.store import Store
from assistant.values import ActionPart, FindingPart, FollowUpPart, Grade, MeasurePart, PlacePart, State, recordable
from tests.store_stage import HOLLOW, START, TRIMMED, entry, made, session_info

KEPT = RemarkKept(START, "r9", "nobody answered: Left hind or left fore?", True, ("a2", "a1"))
CRACK = FindingPart("right fore", "crack", grade=Grade.SEVERE)
LATER = START + timedelta(days=3)


def stamp(n: int = 0) -> Stamp:
    return Stamp(f"seed {n}", LATER, "Hazel")


def two_facts() -> Review:
    return Review.of("s1", [entry("e1", HOLLOW), entry("e2", TRIMMED, "a2")], [KEPT])


def carried(review: Review, decision: Decision, n: int = 0) -> tuple[object, ...]:
    step = review.step(decision, stamp(n))
    review.take(step)
    return step.events


def facts(review: Review) -> set[tuple[str, object, State]]:
    return {(tip.animal, tip.part, tip.state) for lines in review.live().values() for tip in map(review.tip, lines)}


DECISIONS = [
    (lambda r: deciding.accepted(r, ["e1"]), {("a1", HOLLOW, State.CONFIRMED), ("a2", TRIMMED, State.HEARD)}),
    (
        lambda _: deciding.changed("e1", Fact("a1", CRACK)),
        {("a1", CRACK, State.CORRECTED), ("a2", TRIMMED, State.HEARD)},
    ),
    (
        lambda _: deciding.changed("e1", Fact("a2", HOLLOW)),
        {("a2", HOLLOW, State.CORRECTED), ("a2", TRIMMED, State.HEARD)},
    ),
    (lambda _: deciding.withdrawn(["e1", "e2"]), set()),
    (
        lambda r: deciding.split(r, "e1", [CRACK, HOLLOW], {1: "n1"}),
        {("a1", CRACK, State.CORRECTED), ("a1", HOLLOW, State.CORRECTED), ("a2", TRIMMED, State.HEARD)},
    ),
    (
        lambda r: deciding.reread(r, "r9", "a2", [CRACK], START, ["n1"]),
        {("a1", HOLLOW, State.HEARD), ("a2", TRIMMED, State.HEARD), ("a2", CRACK, State.CONFIRMED)},
    ),
    (
        lambda r: deciding.reread(r, "r-e1", "a1", [CRACK, TRIMMED], START, ["n1", "n2"]),
        {("a1", CRACK, State.CORRECTED), ("a1", TRIMMED, State.CONFIRMED), ("a2", TRIMMED, State.HEARD)},
    ),
    (  # a fact that stays keeps its line, wherever it is said in the remark
        lambda r: deciding.reread(r, "r-e1", "a1", [CRACK, HOLLOW], START, ["n1", "n2"]),
        {("a1", HOLLOW, State.CONFIRMED), ("a1", CRACK, State.CONFIRMED), ("a2", TRIMMED, State.HEARD)},
    ),
    (
        lambda _: deciding.added("n1", Fact("a2", CRACK), "r8", START),
        {("a1", HOLLOW, State.HEARD), ("a2", TRIMMED, State.HEARD), ("a2", CRACK, State.CONFIRMED)},
    ),
]


@pytest.mark.parametrize(("decide", "expected"), DECISIONS)
def test_a_decision_holds_is_undone_and_done_again(decide, expected) -> None:
    review = two_facts()
    before = facts(review)
    carried(review, decide(review))
    assert facts(review) == expected
    review.take_undo(review.undo(stamp(1)))
    assert facts(review) == before
    assert review.undo(stamp(2)) is None
    review.take_redo(review.redo(stamp(3)))
    assert facts(review) == expected
    assert review.redo(stamp(4)) is None


def test_a_correction_keeps_the_day_and_tells_who_and_when() -> None:
    review = two_facts()
    carried(review, deciding.changed("e1", Fact("a1", CRACK)))
    first, second = review.lines["e1"]
    assert (first.part, second.part) == (HOLLOW, CRACK)
    assert second.supersedes == "e1"
    assert second.time == first.time
    assert (review.decided[second.id].time, second.by) == (LATER, "Hazel")


def test_a_remark_waits_until_it_is_decided_and_waits_again_when_undone() -> None:
    review = two_facts()
    assert review.open["r9"].animals == ("a2", "a1")
    carried(review, deciding.dismissed("r9"))
    assert review.open == {}
    review.take_undo(review.undo(stamp(1)))
    assert review.open["r9"].reason == KEPT.reason


def test_the_session_forgets_what_was_decided() -> None:
    state = applied(applied(replay([]), KEPT), Reviewed(LATER, "accepted", "Hazel", (), ("r9",)))
    assert state.review == ()
    assert applied(state, Reviewed(LATER, "accepted, undone", reopened=("r9",))).review == ("r9",)


def test_a_review_is_kept_as_it_is() -> None:
    event = Reviewed(LATER, "split", "Hazel", ("n1", "n2"), ("r9",), ())
    assert event_from_flat(*event_to_flat(event)) == event


def test_a_new_decision_forgets_what_was_undone() -> None:
    review = two_facts()
    carried(review, deciding.withdrawn(["e1"]))
    review.take_undo(review.undo(stamp(1)))
    carried(review, deciding.withdrawn(["e2"]), 2)
    assert review.redo(stamp(3)) is None


def test_only_facts_can_be_recorded() -> None:
    assert recordable([PlacePart("udder"), HOLLOW, MeasurePart("condition", 3)]) == (
        HOLLOW,
        MeasurePart("condition", 3),
    )


def test_the_store_holds_what_the_review_shows(tmp_path) -> None:
    """Each decision, its undoing and a fresh reading of the store agree on what holds."""
    with Store.open(tmp_path / "herd.db") as store:
        store.begin(session_info())
        store.append("s1", 1, [made(entry("e1")), made(entry("e2", TRIMMED, "a2")), flat_event(KEPT)])
        review = two_facts()
        for n, (decide, _) in enumerate(DECISIONS[:5]):
            for step, take in ((review.step(decide(review), stamp(n)), review.take),):
                store.append("s1", store.version("s1"), [flat_event(event) for event in step.events])
                take(step)
            undo = review.undo(stamp(n + 100))
            store.append("s1", store.version("s1"), [flat_event(event) for event in undo.events])
            review.take_undo(undo)
            held = {(e.animal, e.part, e.state) for e in store.entries("s1")}
            assert held == facts(review)
        events = [event_from_flat(f.pop("type"), f) for f in store.events("s1")]
        again = Review.of(
            "s1",
            store.entries("s1", live_only=False),
            [event for event in events if isinstance(event, RemarkKept | Reviewed)],
        )
        assert again.lines == review.lines
        assert again.decided == review.decided
        live = {(e.animal, e.part, e.state) for of_one in replay(events).entries.values() for e in of_one}
        assert live == facts(review)


parts = st.sampled_from(
    [HOLLOW, TRIMMED, CRACK, MeasurePart("condition", 2.5), FollowUpPart("vet"), ActionPart("udder", "treated")]
)
changes = st.lists(
    st.tuples(st.sampled_from(["e1", "e2", "new"]), st.none() | parts, st.sampled_from(["a1", "a2"])), max_size=8
)


@given(changes)
def test_undoing_everything_leads_back_and_redoing_forward(wanted) -> None:
    review = two_facts()
    before = facts(review)
    for n, (line, part, animal) in enumerate(wanted):
        if line == "new":
            put = Put(f"n{n}", Fact(animal, part or HOLLOW), remark="r9", time=START)
        else:
            put = Put(line, None if part is None else Fact(animal, part))
        carried(review, Decision("tried", (put, Closed("r9"))), n)
    after = facts(review)
    n_versions = sum(map(len, review.lines.values()))
    for n in range(len(wanted)):
        review.take_undo(review.undo(stamp(100 + n)))
    assert facts(review) == before
    for n in range(len(wanted)):
        review.take_redo(review.redo(stamp(200 + n)))
    assert facts(review) == after
    assert sum(map(len, review.lines.values())) >= n_versions, "nothing is ever taken out"


def test_events_come_with_the_new_line_before_the_note() -> None:
    review = two_facts()
    new, note = carried(review, deciding.added("n1", Fact("a2", CRACK), "r8", START))
    assert isinstance(new, EntryMade)
    assert note == Reviewed(LATER, "added", "Hazel", ("n1",))

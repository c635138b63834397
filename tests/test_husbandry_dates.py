"""Gestation, returns, trims and follow-ups by the calendar, against worked dates of teaching tables."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.husbandry.follow_up import FollowUpState, asked_by_rules, follow_ups, is_now, is_open
from assistant.husbandry.gestation import expected, pregnancies, pregnancy, returns
from assistant.husbandry.practice import Practice, Recheck
from assistant.husbandry.trim import own_minutes, plan, trims
from assistant.store.outlook import Found, Visit
from assistant.values import Animal, Grade, Sex, Species
from assistant.values.book import Mating, Settled, Settlement
from assistant.values.outlook import Asked, Head, head


def day(text: str) -> date:
    return date.fromisoformat(text)


def one(key: str = "a1", **keys) -> Head:
    return head(Animal(key, name=keys.pop("name", key), sex=Sex.FEMALE, **keys))


# Worked by hand from the sources named in `assistant.husbandry.gestation`: species, in, out, first and last due,
# earliest, latest, no tipping from. The third runs over 29 February 2028.
SPANS = [
    ("goat", "2025-10-01", None, "2026-02-28", "2026-04-11", "2026-02-23", "2026-04-16", "2026-01-12"),
    ("sheep", "2025-11-05", None, "2026-04-01", "2026-05-05", "2026-03-27", "2026-05-10", "2026-02-13"),
    ("goat", "2027-10-10", None, "2028-03-08", "2028-04-19", "2028-03-03", "2028-04-24", "2028-01-21"),
    ("goat", "2025-10-01", "2025-10-22", "2026-02-28", "2026-03-21", "2026-02-23", "2026-03-26", "2026-01-12"),
    ("goat", "2026-08-20", "2026-08-20", "2027-01-17", "2027-01-17", "2027-01-12", "2027-01-22", "2026-12-01"),
]


@pytest.mark.parametrize("row", SPANS)
def test_births_after_males_ran_with_females(row) -> None:
    species, began, ended, *dates = row
    mating = Mating("m", ("b1",), ("a1",), day(began), ended and day(ended))
    found = pregnancy(mating, Species(species))
    assert [found.first_due, found.last_due, found.earliest, found.latest, found.no_tip_from] == list(map(day, dates))
    assert found.males == ("b1",)


def test_one_mating_that_was_seen() -> None:
    """A doe mated on 2025-10-20: due 2026-03-19, window 14th to 24th, watched for return 7th to 11th of November."""
    mating = Mating("m", ("b1",), ("a1",), day("2025-10-20"), is_seen=True)
    found = pregnancy(mating, Species.GOAT)
    assert (found.first_due, found.earliest, found.latest) == (day("2026-03-19"), day("2026-03-14"), day("2026-03-24"))
    assert found.last_due == found.first_due
    assert returns(mating, Species.GOAT) == (day("2025-11-07"), day("2025-11-11"))
    ewe = Mating("m", ("b1",), ("a1",), day("2025-11-05"), is_seen=True)
    assert returns(ewe, Species.SHEEP) == (day("2025-11-19"), day("2025-11-25"))


# One mating that was seen, counted by hand on a calendar with 150 days for a doe and 147 for a ewe (the conventional
# figures of teaching notes) and the ranges of Ozarks Farm & Neighbor, 2009, and University of Missouri Extension
# (Brown): species, mated, due, earliest, latest. Over a leap day, without it, over a year's end, from its last day.
SEEN = [
    ("goat", "2025-10-20", "2026-03-19", "2026-03-14", "2026-03-24"),
    ("goat", "2027-10-10", "2028-03-08", "2028-03-03", "2028-03-13"),
    ("goat", "2026-10-10", "2027-03-09", "2027-03-04", "2027-03-14"),
    ("goat", "2025-08-01", "2025-12-29", "2025-12-24", "2026-01-03"),
    ("goat", "2027-10-03", "2028-03-01", "2028-02-25", "2028-03-06"),
    ("sheep", "2025-11-05", "2026-04-01", "2026-03-27", "2026-04-06"),
    ("sheep", "2025-12-31", "2026-05-27", "2026-05-22", "2026-06-01"),
    ("sheep", "2027-10-10", "2028-03-05", "2028-02-29", "2028-03-10"),
]


@pytest.mark.parametrize("row", SEEN)
def test_due_after_a_mating_that_was_seen(row) -> None:
    species, mated, *dates = row
    found = pregnancy(Mating("m", ("b1",), ("a1",), day(mated), is_seen=True), Species(species))
    assert [found.first_due, found.earliest, found.latest] == list(map(day, dates))
    assert found.last_due == found.first_due


def test_a_doe_on_a_day_of_late_pregnancy() -> None:
    """Mated on 2025-10-20: on 2026-02-10 it is day 113, 37 days before she is due, in the last six weeks.

    Source: late pregnancy, Chappell, University of Kentucky ASC-129, 1991; six weeks, common practice, no source.
    """
    mated, today = day("2025-10-20"), day("2026-02-10")
    found = pregnancy(Mating("m", ("b1",), ("a1",), mated, is_seen=True), Species.GOAT)
    assert ((today - mated).days, (found.first_due - today).days) == (113, 37)
    assert found.no_tip_from == day("2026-01-31")
    assert found.caution(today) == "heavily pregnant then: do not tip; trim standing, or wait, unless lame"


def test_nobody_is_tipped_in_the_last_six_weeks() -> None:
    """Sheep due 2026-04-01: earliest 2026-03-27, so from 2026-02-13 on."""
    found = expected(day("2026-04-01"), Species.SHEEP)
    assert found.no_tip_from == day("2026-02-13")
    assert [bool(found.caution(day(text))) for text in ("2026-02-12", "2026-02-13", "2026-04-06", "2026-04-07")] == [
        *(False, True, True, False)
    ]


@settings(deadline=None)
@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.integers(0, 90), st.sampled_from(Species))
def test_births_are_a_count_of_days_whatever_the_calendar_does(began: date, days: int, species: Species) -> None:
    found = pregnancy(Mating("m", (), (), began, began + timedelta(days=days)), species)
    assert (found.last_due - found.first_due).days == days
    assert found.no_tip_from < found.earliest < found.first_due <= found.last_due < found.latest


def test_the_latest_mating_counts_and_what_is_past_is_left_out() -> None:
    heads = {key: one(key, **keys) for key, keys in {"a1": {}, "a2": {"due": day("2026-05-01")}, "a3": {}}.items()}
    heads["a4"] = one("a4", status="sold")
    females = ("a1", "a2", "a4", "gone")
    matings = [
        Mating("m2", ("b2",), females, day("2025-12-01"), is_seen=True),
        Mating("m1", ("b1",), females, day("2025-10-01")),
        Mating("m0", ("b1",), ("a3",), day("2024-10-01")),
        Mating("m3", ("b3",), ("a1",), day("2026-03-01")),
    ]
    found = pregnancies(heads, matings, day("2026-02-01"))
    assert {key: (item.first_due, item.males) for key, item in found.items()} == {
        "a1": (day("2026-04-30"), ("b2",)),
        "a2": (day("2026-05-01"), ()),
    }


def test_a_day_of_the_register_that_is_long_past_hides_no_later_mating() -> None:
    """Kidded in May 2025 and mated again on 2025-10-20: due 2026-03-19, whatever the register still says."""
    mating = Mating("m", ("b1",), ("a1",), day("2025-10-20"), is_seen=True)
    found = pregnancies({"a1": one(due=day("2025-05-01"))}, [mating], day("2026-01-10"))
    assert found["a1"].first_due == day("2026-03-19")
    found = pregnancies({"a1": one(due=day("2026-03-25"))}, [mating], day("2026-01-10"))
    assert found["a1"].first_due == day("2026-03-25"), "a scan knows better than the book"


def test_of_two_joinings_nobody_knows_when_she_took() -> None:
    """A second buck runs with the does: they may still kid by the first, and are not tipped from then on."""
    first = Mating("m1", ("b1",), ("a1",), day("2025-10-01"), day("2025-11-12"))
    second = Mating("m2", ("b2",), ("a1",), day("2025-11-12"), day("2025-12-01"))
    found = pregnancies({"a1": one()}, [second, first], day("2026-01-20"))["a1"]
    assert found == pregnancies({"a1": one()}, [first], day("2026-01-20"))["a1"]._replace(
        last_due=day("2026-04-30"), latest=day("2026-05-05"), males=("b1", "b2")
    )
    after = pregnancies({"a1": one()}, [first, second], day("2026-04-17"))["a1"]
    assert (after.first_due, after.males) == (day("2026-04-11"), ("b2",)), "the first time is over"
    # Kidded on 2026-03-01, so by the first joining: the second, which ends nothing of it, may not count either.
    assert pregnancies({"a1": one()}, [first, second], day("2026-03-02"), {"a1": day("2026-03-01")}) == {}
    # With the males again five weeks before she kids: the birth ends the first time, not the second.
    again = Mating("m3", ("b1",), ("a1",), day("2026-02-01"), day("2026-03-15"))
    left = pregnancies({"a1": one()}, [first, again], day("2026-03-20"), {"a1": day("2026-03-08")})
    assert (left["a1"].first_due, left["a1"].last_due) == (day("2026-07-01"), day("2026-08-12"))


def test_a_birth_ends_what_was_due_about_then() -> None:
    """Mated 2025-10-20: due 2026-03-19, no tipping from 2026-01-31; a birth the year before ends nothing."""
    mating = Mating("m", ("b1",), ("a1",), day("2025-10-20"), is_seen=True)
    for born, is_due in (("2025-10-01", True), ("2026-01-30", True), ("2026-01-31", False), ("2026-03-20", False)):
        found = pregnancies({"a1": one()}, [mating], day("2026-03-21"), {"a1": day(born)})
        assert bool(found) == is_due, born


# ----------------------------------------------------------------------------------------------------------- trims


PRACTICE = Practice({Species.GOAT: 56, Species.SHEEP: 0}, {"young": 84}, overgrown_days=14)
TODAY = day("2026-05-26")

TRIMS = [  # animal, last trim, last overgrown, due, reason
    ({}, "2026-03-10", None, "2026-05-05", "every 56 days"),
    ({}, "2027-12-31", None, "2028-02-25", "every 56 days"),
    ({}, "2028-01-10", None, "2028-03-06", "every 56 days"),
    ({"group": "Young"}, "2026-03-10", None, "2026-06-02", "every 84 days"),
    ({"born": date(2026, 5, 1)}, None, None, "2026-06-26", "no trim on record"),
    ({}, None, None, "2026-05-26", "no trim on record"),
    ({"species": Species.SHEEP}, "2026-03-10", None, None, "no interval set"),
    ({"species": Species.SHEEP}, "2026-03-10", "2026-05-20", "2026-06-03", "overgrown on 2026-05-20"),
    ({}, "2026-05-10", "2026-05-20", "2026-06-03", "overgrown on 2026-05-20"),
    ({}, "2026-05-20", "2026-05-20", "2026-07-15", "every 56 days"),
    ({}, "2026-03-10", "2026-05-20", "2026-05-05", "every 56 days"),
]


@pytest.mark.parametrize("row", TRIMS)
def test_when_an_animal_is_due_for_trimming(row) -> None:
    keys, last, long_since, due, reason = row
    lasts = {"a1": day(last)} if last else {}
    (got,) = trims([one(**keys)], PRACTICE, lasts, {"a1": day(long_since)} if long_since else {}, TODAY)
    assert (got.due, got.reason) == (due and day(due), reason)


def test_a_trim_that_falls_late_in_pregnancy_has_a_caution_and_who_left_is_not_listed() -> None:
    birth = {"a1": expected(day("2026-06-20"), Species.GOAT)}
    heads = [one("a1"), one("a2"), one("a3", status="sold")]
    lasts = {"a1": day("2026-04-20"), "a2": day("2026-04-01")}
    second, first = trims(heads, PRACTICE, lasts, {}, TODAY, birth)[::-1]
    assert (first.animal, first.caution) == ("a2", "")
    assert "do not tip" in second.caution


def test_the_plan_says_whether_the_days_left_suffice() -> None:
    """20 does at 6 minutes are 120 minutes: one day of two hours, three of 45 minutes."""
    lasts = {f"a{n}": day("2026-04-01") for n in range(20)} | {f"b{n}": day("2026-05-25") for n in range(5)}
    due = trims([one(key) for key in lasts], PRACTICE, lasts, {}, TODAY)
    got = plan(due, day("2026-05-28"), TODAY, 6, 120)
    assert (len(got.must), got.minutes, got.days_needed, got.days_left, got.is_enough) == (20, 120, 1, 2, True)
    assert plan(due, day("2026-05-27"), TODAY, 6, 120).is_enough, "the one day that is left is the one that is needed"
    assert len(plan(due, day("2026-07-20"), TODAY, 6, 120).must) == 25, "who falls due on the day itself is done before"
    slow = plan(due, day("2026-05-28"), TODAY, 6, 45)
    assert (slow.days_needed, slow.is_enough) == (3, False)
    assert plan(due, day("2026-05-20"), TODAY, 6, 45).days_left == 0


def test_own_minutes_are_the_median_without_breaks() -> None:
    start = datetime(2026, 5, 26, 9, tzinfo=UTC)
    minutes = [0, 4, 9, 15, 15, 15, 15, 15, 115, 121, 128]
    times = tuple(start + timedelta(minutes=n) for n in minutes)
    assert own_minutes([times]) == 6  # 4 5 6 (spoken of together: 0 0 0 0) (100) 6 7
    assert own_minutes([times[:3]]) is None


# ------------------------------------------------------------------------------------------------------ follow-ups


def check(asked: Asked, visits=(), settled=(), today: str = "2026-05-26"):
    words = {word.entry: word for word in settled}
    (got,) = follow_ups([asked], {"a1": tuple(visits)}, words, day(today))
    return got


def asked(what: str = "re-check", said: str = "2026-05-10", days: int | None = 14) -> Asked:
    return Asked("e1", "a1", what, day(said), day(said) + timedelta(days=days) if days is not None else None)


def seen(text: str, is_trimmed: bool = False) -> Visit:
    return Visit(day(text), "s2", is_trimmed)


def word(settlement: Settlement, until: str | None = None) -> Settled:
    return Settled("w1", "e1", settlement, day("2026-05-25"), until and day(until))


FOLLOW_UPS = [  # asked for, visits, the keeper's word, where it stands
    (asked(), [], [], FollowUpState.OVERDUE),
    (asked(days=16), [], [], FollowUpState.DUE),
    (asked(days=17), [], [], FollowUpState.TO_COME),
    (asked(days=None), [], [], FollowUpState.UNDATED),
    (asked(), [seen("2026-05-12")], [], FollowUpState.OVERDUE),
    (asked(), [seen("2026-05-21")], [], FollowUpState.DONE),
    (asked(), [seen("2026-05-10")], [], FollowUpState.OVERDUE),
    (asked(), [seen("2026-05-27")], [], FollowUpState.OVERDUE),
    (asked(), [seen("2026-05-26")], [], FollowUpState.DONE),
    (asked(days=None), [seen("2026-05-10")], [], FollowUpState.UNDATED),
    (asked(days=None), [seen("2026-05-11")], [], FollowUpState.DONE),
    (asked("vet"), [seen("2026-05-25")], [], FollowUpState.OVERDUE),
    (asked("vet"), [], [word(Settlement.DONE)], FollowUpState.DONE),
    (asked("re-trim when soft", days=None), [seen("2026-05-21")], [], FollowUpState.UNDATED),
    (asked("re-trim when soft", days=None), [seen("2026-05-21", True)], [], FollowUpState.DONE),
    (asked(), [], [word(Settlement.PUT_OFF, "2026-06-01")], FollowUpState.TO_COME),
    (asked(), [seen("2026-05-24")], [word(Settlement.PUT_OFF, "2026-06-01")], FollowUpState.TO_COME),
]


@pytest.mark.parametrize("row", FOLLOW_UPS)
def test_where_a_follow_up_stands(row) -> None:
    what, visits, words, state = row
    got = check(what, visits, words)
    assert got.state is state
    assert is_open(got) == (state is not FollowUpState.DONE)
    assert is_now(got) == (state in (FollowUpState.DUE, FollowUpState.OVERDUE))


def test_follow_ups_stand_in_the_order_of_their_days_the_undated_last() -> None:
    items = [asked(days=days)._replace(entry=str(days)) for days in (None, 20, 14, 17)]
    found = follow_ups(items, {}, {"14": word(Settlement.PUT_OFF, "2026-06-20")}, TODAY)
    assert [one.asked.entry for one in found] == ["17", "20", "14", "None"]


def test_what_is_put_off_keeps_the_day_asked_for_and_comes_due_again() -> None:
    got = check(asked(), [], [word(Settlement.PUT_OFF, "2026-06-01")], "2026-06-02")
    assert (got.asked.due, got.due, got.state, got.is_put_off) == (
        *(day("2026-05-24"), day("2026-06-01"), FollowUpState.OVERDUE, True),
    )


@pytest.mark.parametrize(
    ("found", "days", "due"),
    [("2028-02-20", 14, "2028-03-05"), ("2027-02-20", 14, "2027-03-06"), ("2026-12-25", 7, "2027-01-01")],
)
def test_a_rule_counts_over_leap_days_and_year_ends(found: str, days: int, due: str) -> None:
    """A lame sheep again after 14 days: Quality Meat Scotland, Diagnosis and treatment of lameness in sheep."""
    (got,) = asked_by_rules([Found("a1", "", "lame", 1, day(found), "e1")], [Recheck(("lame",), days)])
    assert got.due == day(due)


def test_rules_ask_again_from_the_last_finding() -> None:
    rules = [Recheck(("scald", "foot rot"), 7), Recheck(("overgrown",), 21, Grade.SEVERE, "re-trim")]
    findings = [
        Found("a1", "left hind", "scald", 1, day("2026-05-01"), "e1"),
        Found("a2", "left fore", "overgrown", 2, day("2026-05-01"), "e2", "slight"),
        Found("a2", "right fore", "overgrown", 3, day("2026-05-01"), "e3", "severe"),
        Found("a1", "left fore", "scald", 4, day("2026-05-09"), "e4"),
        Found("a1", "right fore", "foot rot", 5, day("2026-05-09"), "e5"),
    ]
    got = {item.entry: (item.animal, item.what, item.due, item.reason) for item in asked_by_rules(findings, rules)}
    assert got == {
        "e4": ("a1", "re-check", day("2026-05-16"), "left fore scald; right fore foot rot"),
        "e3": ("a2", "re-trim", day("2026-05-22"), "right fore overgrown"),
    }

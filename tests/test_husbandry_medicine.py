"""Withdrawal: sums of days against worked examples, and what is never released or made up."""

from __future__ import annotations

import ast
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.husbandry.medicine import (
    missing,
    off_label_days,
    reminders,
    treatment,
    treatments,
    withheld,
)
from assistant.husbandry.practice import Medicine, Practice
from assistant.store.outlook import Entered
from assistant.values.book import Given


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def dose(text: str, medicine: str = "drench", animal: str = "a1", **keys) -> Given:
    return Given(f"g{text}{medicine}", animal, medicine, at(text), is_hour_known=" " in text, **keys)


# Worked sums: last dose, days for meat, hours for milk, meat clear, milk free, first whole days of meat and milk.
# "28 d from 2026-02-10 is 2026-03-10, from 2028-02-10 (leap year) 2028-03-09"; "84 h from 18:00 ends at 06:00".
SUMS = [
    ("2026-03-01", 28, 168, "2026-03-29", "2026-03-09 00:00", "2026-03-30", "2026-03-09"),
    ("2026-02-10", 28, 0, "2026-03-10", None, "2026-03-11", None),
    ("2028-02-10", 28, 0, "2028-03-09", None, "2028-03-10", None),
    ("2026-03-01 18:00", 28, 84, "2026-03-29", "2026-03-05 06:00", "2026-03-30", "2026-03-06"),
    ("2026-12-20", 20, 24, "2027-01-09", "2026-12-22 00:00", "2027-01-10", "2026-12-22"),
    ("2026-03-01", 0, 0, "2026-03-01", None, None, None),
]


@pytest.mark.parametrize("row", SUMS)
def test_worked_sums(row) -> None:
    last, meat, milk, meat_clear, milk_end, meat_from, milk_from = row
    one = treatment(dose(last), Medicine("drench", meat, milk))
    assert one.meat_clear == date.fromisoformat(meat_clear)
    if milk_end:
        assert one.milk_end == at(milk_end)
    found = withheld([one], at(last) + timedelta(minutes=1)).get("a1")
    got = (found.meat_from, found.milk_from) if found else (None, None)
    assert got == tuple(text and date.fromisoformat(text) for text in (meat_from, milk_from))


@settings(deadline=None)
@given(
    st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)), st.integers(0, 400), st.booleans()
)
def test_nothing_is_released_before_the_period_is_over(moment: datetime, days: int, is_hour_known: bool) -> None:
    """Whatever the hour of the dose was on that day, the first whole day of use begins after the whole period."""
    one = treatment(Given("g", "a1", "x", moment, is_hour_known), Medicine("x", days, 0))
    end = moment + timedelta(days=days)
    if days and not is_hour_known:
        end = end.replace(hour=23, minute=59, second=59)
    found = withheld([one], max(moment, end - timedelta(seconds=1)))
    assert ("a1" in found) == (days > 0)
    if days:
        first = datetime.combine(found["a1"].meat_from, datetime.min.time(), UTC)
        assert end <= first <= end + timedelta(days=1, seconds=1)


PRACTICE = Practice(
    medicines={"drench": Medicine("Drench", 10, 48), "spray": Medicine("Spray", 0, 0), "jab": Medicine("Jab", 28, None)}
)


def test_a_repeated_dose_starts_again_and_of_two_medicines_the_later_counts() -> None:
    given = [dose("2026-03-01"), dose("2026-03-05"), dose("2026-03-06", "spray")]
    found = withheld(treatments([], given, PRACTICE), at("2026-03-06 12:00"))["a1"]
    assert (found.meat_from, found.milk_from, found.unknown) == (date(2026, 3, 16), date(2026, 3, 8), ())
    assert found.free_from == date(2026, 3, 16)
    assert withheld(treatments([], given, PRACTICE), at("2026-03-04 12:00"))["a1"].meat_from == date(2026, 3, 12)
    assert withheld(treatments([], given, PRACTICE), at("2026-02-28 12:00")) == {}, "nothing is given yet"


def test_without_a_period_nothing_is_released() -> None:
    given = [dose("2026-03-01", "pond water"), dose("2026-03-01", "jab", "a2")]
    found = withheld(treatments([], given, PRACTICE), at("2026-05-01 12:00"))
    assert {key: (one.unknown, one.meat_from) for key, one in found.items()} == {
        "a1": (("pond water",), None),
        "a2": (("Jab",), None),
    }
    by_vet = replace(given[1], milk_hours=96)
    assert withheld(treatments([], [by_vet], PRACTICE), at("2026-05-01 12:00")) == {}


def test_details_complete_the_entry_of_a_session() -> None:
    entered = [
        Entered("e1", "a1", at("2026-03-01 10:00"), "drench", "Rowan"),
        Entered("e2", "a2", at("2026-02-01 09:00"), "spray", ""),
    ]
    detail = Given(
        "g1", "", "drench", at("2026-03-03 00:00"), entry="e1", batch="B7", dose="as the vet said", meat_days=15
    )
    first, second = treatments(entered, [detail], PRACTICE)
    assert (first.given.animal, second.given.animal) == ("a2", "a1")
    assert (second.given.batch, second.given.by, second.given.time) == ("B7", "Rowan", at("2026-03-01 10:00"))
    assert (second.meat_days, second.milk_hours, second.meat_clear) == (15, 48, date(2026, 3, 16))


def test_one_breath_about_several_feet_is_one_dose() -> None:
    """Both fores treated in one remark make an entry for each foot; a detail of either completes the dose."""
    moment = at("2026-03-01 10:00")
    entered = [Entered(key, "a1", moment, "drench", "") for key in ("e1", "e2")]
    later = Entered("e3", "a1", moment + timedelta(minutes=1), "drench", "")
    detail = Given("g1", "a1", "drench", moment, entry="e2", batch="B7")
    found = treatments([*entered, later], [detail], PRACTICE)
    assert [(one.given.time, one.given.batch) for one in found] == [(moment, "B7"), (later.time, "")]


def test_what_the_record_lacks_is_named() -> None:
    first = treatment(dose("2026-03-01", vet="Dr Ash"), Medicine("x", 10, None))
    assert missing(first) == ("quantity", "milk period", "batch")
    assert missing(treatment(dose("2026-03-01", dose="one pump"), Medicine("x", 10, 0))) == ()
    by_whom = treatment(dose("2026-03-01", dose="one pump", meat_days=20), Medicine("x", 10, 0))
    assert missing(by_whom) == ("vet who set the period",)


def test_reminders_are_the_law_and_no_period_to_go_by() -> None:
    """Label 13 days times one and a half is 19.5, so 20; 18 gives 27."""
    assert [off_label_days(n) for n in (0, 13, 18)] == [0, 20, 27]
    (told,) = reminders(Medicine("Drench", 13, 0))
    assert "at least 20 days for meat, one and a half times the label's 13" in told
    assert "at least 1 day for milk, the label has none" in told
    assert "the vet sets" in told
    (told,) = reminders(Medicine("Drench", 0, 84))
    assert "at least 6 days for milk, one and a half times the label's 84 hours" in told, "126 hours"
    assert "meat" not in told
    assert reminders(Medicine("Drench")) == ()
    first, second = reminders(Medicine("Jab", 10, 0, "vet", is_label_for_food=False))
    assert "28 days" in first
    assert "Ask your vet" in second
    assert len(reminders(Medicine("Jab", 28, 168, "vet", is_label_for_food=False))) == 1
    assert reminders(Medicine("Jab", 28, 168, "vet")) == ()


def test_treatments_are_in_the_order_of_time() -> None:
    days = [dose(text) for text in ("2026-03-05", "2026-03-01", "2026-03-03 10:00")]
    found = [one.given.time for one in treatments([], days, PRACTICE)]
    assert all(a <= b for a, b in pairwise(found))


def sentences() -> list[str]:
    """Every text in the programs that speak of mating, medicines and feet, without documentation strings."""
    root = Path(__file__).parent.parent / "assistant"
    files = [
        *root.glob("husbandry/*.py"),
        *(root / "cli" / f"{name}.py" for name in ("due", "mating", "treatments", "feet", "plan", "calendar")),
        *(root / "records").glob("*.py"),
        root / "live" / "herd.py",
        root / "session" / "replies.py",
    ]
    found = []
    for file in [*files, root / "report" / "treatment_record.py"]:
        nodes = list(ast.walk(ast.parse(file.read_text(encoding="utf-8"))))
        alone = {id(node.value) for node in nodes if isinstance(node, ast.Expr)}
        texts = [node for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)]
        found += [node.value for node in texts if id(node) not in alone]
    return found


def test_no_text_names_a_disease_as_present_or_a_dose() -> None:
    texts = sentences()
    assert any("ask your vet" in text for text in texts)
    wrong = re.compile(
        r"\b\d+(\.\d+)? ?(mg|ml|cc|units?)\b|diagnos|suffers from|give (her|him|it)\b|inject|overdose", re.I
    )
    assert [text for text in texts if wrong.search(text)] == []

"""The calendar: read back by another library, the same identities however often, changed days and taken back ones."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.cli import calendar as calendar_command
from assistant.cli.main import ExitStatus, run
from assistant.husbandry.practice import Medicine, Practice
from assistant.records.calendar_out import KINDS, coming
from assistant.records.look_ahead import LookAhead
from assistant.report.calendar import Due, calendar
from assistant.values import Sex
from assistant.values.book import Given, Settled, Settlement
from tests.live_stage import ANIMALS, Stage
from tests.records_stage import filled

NOW = datetime(2026, 9, 15, 20, 0, tzinfo=UTC)
RECHECK = Due("follow-up", "e1", date(2026, 9, 29), "Tansy: re-check")


@pytest.fixture
def stage(tmp_path) -> Iterator[Stage]:
    made = filled(tmp_path / "herd")
    yield made
    made.store.close()


def items(stage: Stage, practice: Practice | None = None) -> tuple[Due, ...]:
    return coming(stage.store, LookAhead(stage.store, practice or Practice(), NOW))


def events(content: bytes) -> dict[str, vobject.base.Component]:
    """UID → event, as the library vobject reads them."""
    return {str(event.uid.value): event for event in vobject.readOne(content.decode()).contents.get("vevent", [])}


def test_another_reader_finds_what_was_written() -> None:
    (event,) = events(calendar([RECHECK], NOW, "Hedge End")).values()
    assert event.summary.value == "Tansy: re-check"
    assert event.dtstart.value == date(2026, 9, 29)
    assert event.dtend.value == date(2026, 9, 30)


def test_a_second_export_has_the_same_identity_and_counts_as_later() -> None:
    """RFC 5545, 3.8.7.4: what has the higher SEQUENCE holds."""
    ((uid, before),) = events(calendar([RECHECK], NOW)).items()
    moved = replace(RECHECK, day=date(2026, 10, 6), title="Sorrel: re-check")
    ((uid_after, after),) = events(calendar([moved], NOW + timedelta(hours=1))).items()
    assert uid == uid_after
    assert int(after.sequence.value) > int(before.sequence.value)
    assert after.dtstart.value == date(2026, 10, 6)


def test_identities_differ_by_kind_and_key() -> None:
    assert len({RECHECK.uid, replace(RECHECK, key="e2").uid, replace(RECHECK, kind="birth").uid}) == 3


@settings(deadline=None)
@given(st.text(), st.text())
def test_any_words_are_read_back(title, about) -> None:
    """Commas, semicolons, backslashes, long lines and letters of any script; control characters become blanks."""
    content = calendar([replace(RECHECK, title=title.encode("utf-8", "replace").decode(), about=about)], NOW)
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    (read,) = icalendar.Calendar.from_ical(content).walk("VEVENT")
    assert not set(map(ord, str(read["summary"]))) & (set(range(32)) - {9, 10, 13})
    plain = "".join(ch for ch in title if ch.isalnum() and ord(ch) > 32)
    assert "".join(ch for ch in str(read["summary"]) if ch.isalnum()) == plain


def test_what_was_asked_for_is_in_it(stage) -> None:
    """With a day as an event, without as a task; a birth that the register expects besides."""
    stage.store.save_animals([replace(ANIMALS[1], sex=Sex.FEMALE, due=date(2026, 11, 20))])
    read = vobject.readOne(calendar(items(stage), NOW).decode())
    days = {event.summary.value: event.dtstart.value for event in read.vevent_list}
    assert days["Tansy: re-check"] == date(2026, 9, 29)
    assert days["Sorrel: kidding expected"] == date(2026, 11, 20)
    assert date(2026, 9, 20) < days["Sorrel: heavily in kid from today, do not tip"] < date(2026, 11, 1)
    assert days["Tansy: trim"] == date(2026, 9, 15) + timedelta(days=56)
    assert [todo.summary.value for todo in read.vtodo_list] == ["Sorrel: vet"]


def test_what_was_taken_back_is_taken_out(stage) -> None:
    stage.session("s4")
    stage.type("tansy")
    stage.type("check her in three weeks")
    before = {one.uid for one in items(stage)}
    stage.type("scratch that")
    after = items(stage)
    assert {one.uid for one in after} == before
    assert [(one.title, one.is_off) for one in after if one.is_off] == [("Tansy: re-check", True)]
    statuses = {event.status.value for event in events(calendar(after, NOW)).values()}
    assert statuses == {"CONFIRMED", "CANCELLED"}


def test_the_command_writes_a_file(stage, tmp_path, capsys) -> None:
    file = tmp_path / "out" / "handling.ics"
    assert run(["--store", str(stage.store.path), "calendar", "--out", str(file)]) == ExitStatus.OK
    assert "handling.ics: " in capsys.readouterr().out
    assert "Tansy: trim" in {event.summary.value for event in events(file.read_bytes()).values()}
    words = ["--store", str(stage.store.path), "calendar", "--out", str(file), "--only", "meat"]
    assert run(words) == ExitStatus.OK
    assert "0 to come" in capsys.readouterr().out


def test_the_command_offers_what_there_is() -> None:
    assert calendar_command.KINDS == KINDS


def test_a_follow_up_that_was_done_or_put_off_keeps_its_identity(stage) -> None:
    (recheck,) = (one for one in items(stage) if one.title == "Tansy: re-check")
    entry = next(one.entry for one in stage.store.follow_ups() if one.what == "re-check")
    put_off = Settled("k", entry, Settlement.PUT_OFF, date(2026, 9, 20), date(2026, 10, 20))
    stage.store.save_record(put_off)
    (moved,) = (one for one in items(stage) if one.uid == recheck.uid)
    assert (moved.day, moved.is_off) == (date(2026, 10, 20), False)
    stage.store.save_record(replace(put_off, settlement=Settlement.DONE))
    (done,) = (one for one in items(stage) if one.uid == recheck.uid)
    assert done.is_off


def test_withdrawal_periods_are_those_of_the_holdings_list(stage) -> None:
    medicines = {"oxy": Medicine("oxy", meat_days=28, milk_hours=72), "other": Medicine("other")}
    for name in medicines:
        stage.store.save_record(Given(name, "a2", name, NOW))
    found = {one.kind: one for one in items(stage, Practice(medicines=medicines)) if one.kind in ("meat", "milk")}
    assert found["meat"].day == date(2026, 10, 14)
    assert "no period is written down for: other" in found["meat"].about
    assert found["milk"].day == date(2026, 9, 19)

"""The holding's books: what is written down outside sessions comes back as it was, and is never overwritten."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from family_stage import called
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import BadStore
from assistant.store import outlook
from assistant.store.store import Store
from assistant.values import Animal, Sex, Species, Tag, book
from assistant.values.book import Bought, Given, Mating, Settled, Settlement
from assistant.values.outlook import head

texts = st.text(max_size=8)
days = st.dates(date(1990, 1, 1), date(2100, 1, 1))
ids = st.lists(texts, max_size=3).map(tuple)
RECORDS = [
    st.builds(Mating, texts, ids, ids, days, st.none() | days, st.booleans(), st.booleans()),
    st.builds(
        Given,
        *(texts, texts, texts, st.datetimes(timezones=st.just(UTC)), st.booleans(), st.none() | days),
        *[texts] * 5,
        *[st.none() | st.integers(0, 999)] * 2,
    ),
    st.builds(book.Birth, texts, texts, days, st.integers(1, 8), st.booleans()),
    st.builds(Bought, texts, texts, days, texts, texts, texts),
    st.builds(Settled, texts, texts, st.sampled_from(Settlement), days, st.none() | days),
]


@settings(deadline=None)
@given(record=st.one_of(RECORDS))
def test_record_to_plain_to_record(record: book.Record) -> None:
    assert book.record_from_flat(book.book_of(type(record)), book.record_to_flat(record)) == record


@pytest.fixture
def store(tmp_path: Path):
    with Store.open(tmp_path / "herd.db") as store:
        yield store


MATING = Mating("m1", ("b1",), ("a1", "a2"), date(2025, 10, 1))


def test_a_later_version_holds_and_the_earlier_one_stays(store: Store) -> None:
    store.save_record(MATING, datetime(2025, 10, 1, 9, tzinfo=UTC))
    store.save_record(Bought("x1", "blue spray", date(2025, 9, 1), "B7", "2 cans", "Hedge Supplies"))
    ended = replace(MATING, ended=date(2025, 11, 12))
    store.save_record(ended)
    assert store.records(Mating) == (ended,)
    assert [one.batch for one in store.records(Bought)] == ["B7"]
    assert store._db.execute("SELECT count(*) FROM record_version").fetchone() == (3,)
    store.rebuild()
    assert store.records(Mating) == (ended,)
    assert store.check() == ()
    store.save_record(replace(ended, is_withdrawn=True))
    assert store.records(Mating) == ()


def test_a_record_is_never_changed_in_place_and_damage_is_seen(store: Store) -> None:
    store.save_record(MATING)
    with pytest.raises(sqlite3.IntegrityError, match="only ever added to"):
        store._db.execute("UPDATE record_version SET payload = '{}'")
    store._db.execute("DROP TRIGGER record_version_no_update")
    store._db.execute("UPDATE record_version SET payload = json_set(payload, '$.males[0]', 'b9')")
    problems = " ".join(store.check())
    assert "Version 1 of record m1 was changed" in problems
    assert "record_version_no_update is missing" in problems
    store._db.execute("UPDATE record SET payload = '{}'")
    with pytest.raises(BadStore, match="cannot be read"):
        store.records(Mating)


def test_heads_and_families_say_what_the_register_says(store: Store) -> None:
    tags = (Tag("official", "UK 0 654321 00001"),)
    animals = [
        Animal("a1", "UK 1", "401", "Tansy", Sex.FEMALE, date(2020, 2, 29), "a9", "Bramble", "milkers"),
        Animal("a2", number="007", species=Species.SHEEP, nicknames=("Dot", "Spot"), past_tags=tags),
        Animal("a3", name="Teasel", status="sold", due=date(2026, 3, 1), electronic="826012345600001"),
        Animal("a4", tag="UK 4", born=date(2020, 3, 1), dam="Tansy"),
    ]
    store.save_animals(animals)
    assert store.heads() == tuple(map(head, animals))
    assert store.ask(outlook.names) == {
        "a1": ("Tansy", "401"),
        "a2": ("007", "007"),
        "a3": ("Teasel", ""),
        "a4": ("UK 4", ""),
    }
    assert [one.is_here for one in store.heads()] == [True, True, False, True]
    assert store.ask(outlook.called) == tuple(called(animals))
    assert store.ask(outlook.children) == (("a1", "a9", "Bramble"), ("a2", "", ""), ("a3", "", ""), ("a4", "Tansy", ""))
    assert store.ask(outlook.children, (date(2020, 2, 29), date(2020, 2, 29))) == (("a1", "a9", "Bramble"),)

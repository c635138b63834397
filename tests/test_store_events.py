"""Events are only ever added to, come back as they were, and the tables for reading follow from them."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as chance
from store_stage import (
    HOLLOW,
    START,
    TRIMMED,
    animals,
    entries,
    entry,
    made,
    moments,
    remarks,
    session_info,
    superseding,
    texts,
    tone,
)

from assistant.errors import BadStore
from assistant.session.events import (
    AnimalCaught,
    AnimalLeft,
    EntryMade,
    Event,
    Finished,
    GapsTold,
    Noted,
    RemarkKept,
    Replied,
    Said,
    ScopeOpened,
    Started,
    event_value,
    flat_event,
)
from assistant.session.fold import replay
from assistant.session.state import Outcome, OutcomeKind
from assistant.store.store import Store
from assistant.values import (
    ActionPart,
    Animal,
    Entry,
    FindingPart,
    FollowUpPart,
    Grade,
    MeasurePart,
    PlacePart,
    Remark,
    Scope,
    State,
)

few = chance(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with one session, made once: each test works on a copy, which is quicker than making one."""
    path = tmp_path_factory.mktemp("begun") / "herd.db"
    with Store.open(path) as opened:
        opened.begin(session_info())
    return path


@pytest.fixture
def store(begun: Path, tmp_path: Path) -> Iterator[Store]:
    with Store.open(Path(shutil.copy(begun, tmp_path))) as opened:
        yield opened


# ----------------------------------------------------------------------------------------------------- round trips


@few
@given(entry=entries, remark=remarks, time=moments, text=texts)
def test_event_to_row_to_event(store: Store, entry: Entry, remark: Remark, time: datetime, text: str) -> None:
    """What is added comes back: the flat form equal, the value equal, and read as entry and remark too."""
    entry, remark = replace(entry, id=str(uuid4())), replace(remark, id=str(uuid4()))
    kept: list[Event] = [
        Said(remark, {text: ("a1", text)}, (remark,)),
        EntryMade(entry),
        AnimalCaught(time, text, text),
        AnimalLeft(time, text, Outcome(OutcomeKind.SKIPPED, text), text),
        GapsTold(time, (text,), text),
        ScopeOpened(time, Scope((text,), None)),
        RemarkKept(time, text, text, to_review=False),
        Noted(time, text, None, text),
        Replied(time, text, text),
    ]
    before = store.version("s1")
    flat = [flat_event(event) for event in kept]
    store.append("s1", before, flat)
    assert list(store.events("s1"))[before:] == flat
    assert [event_value(one) for one in store.events("s1")][before:] == kept
    assert store.entries(live_only=False)[-1] == entry
    assert store.remarks("s1")[-1] == remark


@few
@given(animal=animals)
def test_animal_to_row_to_animal(store: Store, animal: Animal) -> None:
    animal = replace(animal, id=str(uuid4()))
    store.save_animals([animal])
    assert store.animals()[-1] == animal
    store.save_animals([animal])
    ((n,),) = store._db.execute("SELECT count(*) FROM animal_version WHERE animal = ?", (animal.id,))
    assert n == 1, "saving what is held already adds nothing"


# ----------------------------------------------------------------------------------------------------- append-only

ATTACKS = {
    "event": [
        "UPDATE event SET payload = '{}'",
        "DELETE FROM event",
        "INSERT OR REPLACE INTO event (session, version, type, payload, digest) VALUES ('s1', 1, 'X', '{}', '')",
        "INSERT OR REPLACE INTO event (number, session, version, type, payload, digest) "
        "VALUES (1, 's9', 9, 'X', '{}', '')",
        "INSERT INTO event (session, version, type, payload, digest) VALUES ('s1', 1, 'X', '{}', '') "
        "ON CONFLICT (session, version) DO UPDATE SET payload = '{}'",
    ],
    "animal_version": [
        "UPDATE animal_version SET animal = 'a9'",
        "DELETE FROM animal_version",
        "REPLACE INTO animal_version (animal, version, payload, digest) VALUES ('a1', 1, '{}', '')",
    ],
    "sound": [
        "UPDATE sound SET sha256 = ''",
        "DELETE FROM sound",
        "REPLACE INTO sound (remark, session, time, by, file, sha256, start_s, end_s) "
        "SELECT remark, 'other', time, by, file, sha256, 0, 0 FROM sound",
    ],
}


@pytest.mark.parametrize("attack", [attack for table in ATTACKS.values() for attack in table])
def test_a_plain_connection_cannot_change_what_was_kept(begun: Path, tmp_path: Path, attack: str) -> None:
    """Even another program, with SQLite's defaults, is refused by the file itself."""
    with Store.open(Path(shutil.copy(begun, tmp_path))) as store:
        store.save_animals([Animal("a1", name="Tansy")])
        store.keep_sound("s1", tone(), START)
    plain = sqlite3.connect(tmp_path / "herd.db")
    dump = list(plain.iterdump())
    with pytest.raises(sqlite3.IntegrityError, match="only ever added to"):
        plain.execute(attack)
    plain.rollback()
    assert list(plain.iterdump()) == dump
    plain.close()


def test_three_guards_on_each_table(store: Store) -> None:
    rows = store._db.execute("SELECT tbl_name, count(*) FROM sqlite_schema WHERE type = 'trigger' GROUP BY 1")
    assert dict(rows.fetchall()) == {"event": 3, "sound": 3, "animal_version": 3, "record_version": 3}


def test_the_file_refuses_what_is_no_json_or_of_the_wrong_type(store: Store) -> None:
    with pytest.raises(sqlite3.IntegrityError):
        store._db.execute("INSERT INTO event (session, version, type, payload, digest) VALUES ('s2', 1, 'X', '{', '')")
    with pytest.raises(sqlite3.IntegrityError):
        store._db.execute(
            "INSERT INTO event (session, version, type, payload, digest) VALUES ('s2', 'one', 'X', '{}', '')"
        )


# -------------------------------------------------------------------------------------------------------- versions


def test_two_writers_on_one_session_collide_and_nothing_of_the_second_is_kept(store: Store) -> None:
    with Store.open(store.path) as other:
        at = other.version("s1")
        store.append("s1", at, [made(entry("e1"))])
        with pytest.raises(BadStore, match=r"Session s1 has 2 events, not 1: another program"):
            other.append("s1", at, [made(entry("e2"))])
        assert [e.id for e in other.entries()] == ["e1"]
        other.begin(session_info("s2"))
        other.append("s2", 1, [made(entry("e3", session="s2"))])
    assert [e.id for e in store.entries()] == ["e1", "e3"]


@pytest.mark.parametrize(
    ("session", "at", "flat", "said"),
    [
        ("s1", 1, {"type": "EntryMade"}, "not complete"),
        ("s1", 1, {"type": "EntryMade", "entry": {"id": "e"}}, "not complete"),
        ("s1", 1, {"type": "EntryMade", "entry": 7}, "cannot be kept"),
        ("s1", 1, {"type": "Replied", "time": START.isoformat(), "kind": "a", "text": "b", "odd": 1}, "odd"),
        ("s1", 1, {"type": "AnimalCaught", "time": "noon", "animal": "a1", "remark": ""}, "noon"),
        ("s1", 1, {"type": "Elsewhere", "value": float("nan")}, "cannot be kept"),
        ("s1", 1, {"type": "Elsewhere", "value": {1, 2}}, "cannot be kept"),
        ("s1", 1, {"type": "Elsewhere", "value": "\ud800"}, "surrogates"),
        ("s1", 1, made(entry("e1", FollowUpPart("vet", 2**70))), "cannot be kept"),
        ("s1", 1, made(entry("e1", FollowUpPart("vet", 10**9))), "1000000000 days after .* is no day"),
        ("s1", 1, made(entry("e1", FollowUpPart("vet", 1.5))), "cannot hold"),
        ("s1", 1, made(replace(entry("e1"), time=datetime(9999, 12, 31, tzinfo=UTC))), "9999-12-31 is no day"),
        ("s1", 1, made(entry("e1", MeasurePart("condition", "two"))), "cannot"),
        ("s1", 1, made(entry("e1", FindingPart(7, "crack"))), "cannot hold"),
        ("s1", 1, made(entry("e1", animal=5)), "5 is no str"),
        ("s1", 1, {"type": "Finished", "time": "2026-05-26T09:00:00"}, "has no zone"),
        ("s1", 1, {"type": "Reviewed", "time": START.isoformat(), "what": "split", "entries": "e1"}, "'e1' is no list"),
        ("s1", 1, {"value": 1}, "no 'type'"),
        ("s1", 1, flat_event(Started("s1", START)), "begun already"),
        ("s3", 0, made(entry("e1", session="s3")), "not begun"),
        ("s1", 1, made(entry("e1", part=PlacePart("left hind"))), "PlacePart"),
        ("s1", 1, superseding(entry("e2"), "nobody"), "refuses this record"),
    ],
)
def test_an_event_that_is_not_whole_is_refused_and_takes_its_company_with_it(
    store: Store, session: str, at: int, flat: dict[str, object], said: str
) -> None:
    good = [made(entry("e0"))] if session == "s1" else []
    with pytest.raises(BadStore, match=said):
        store.append(session, at, [*good, flat])
    assert store.version("s1") == 1
    assert store.entries(live_only=False) == ()
    assert store.append("s1", 1, [made(entry("e0"))]) == 2, "the store goes on"


def test_an_event_of_a_type_that_sessions_do_not_know_is_kept_as_it_is(store: Store) -> None:
    flat = {"type": "Mated", "male": "a7", "days": [1, 2.5, None, True, {"ä": "ß"}]}
    store.append("s1", 1, [flat])
    assert list(store.events("s1"))[1:] == [flat]


def test_a_session_begins_once(store: Store) -> None:
    with pytest.raises(BadStore, match="has 1 events, not 0"):
        store.begin(session_info())


def test_a_clock_set_back_changes_no_order(store: Store) -> None:
    """Times are data; what came after stays after."""
    store.append("s1", 1, [made(entry("e1", days=0))])
    store.append("s1", 2, [made(entry("e2", days=-400))])
    store.begin(session_info("s2", days=-900))
    assert [e.id for e in store.entries()] == ["e1", "e2"]
    assert [info.id for info in store.sessions()] == ["s1", "s2"]
    store.rebuild()
    assert [e.id for e in store.entries()] == ["e1", "e2"]
    assert store.check() == ()


# ----------------------------------------------------------------------------------------------------- projections


def test_entries_that_hold_are_those_of_the_session_s_own_fold(store: Store) -> None:
    """Corrected once, withdrawn, withdrawn after a correction, moved to another animal: store and fold agree."""
    corrected = entry("c1", FindingPart("right hind", "hollow wall"), state=State.CORRECTED)
    steps = [
        *(made(entry(key)) for key in ("e1", "e2", "e3", "e4", "e5")),
        superseding(corrected, "e1"),
        superseding(entry("w2", state=State.WITHDRAWN), "e2"),
        superseding(entry("c3", TRIMMED, state=State.CORRECTED), "e3"),
        superseding(entry("w3", TRIMMED, state=State.WITHDRAWN), "c3"),
        superseding(entry("m4", animal="a2", state=State.CORRECTED), "e4"),
    ]
    store.append("s1", 1, steps)
    folded = replay(event_value(flat) for flat in store.events("s1"))
    for _ in range(2):
        live = store.entries("s1")
        assert {e.id for e in live} == {"c1", "m4", "e5"} == {e.id for of in folded.entries.values() for e in of}
        assert {e.id for e in store.entries(animal="a2")} == {"m4"}
        assert len(store.entries(live_only=False)) == 10
        assert next(e for e in live if e.id == "c1").supersedes == "e1"
        store.rebuild()


def test_rebuild_gives_the_same_tables_and_check_sees_when_they_differ(store: Store) -> None:
    store.save_animals([Animal("a1", name="Tansy"), Animal("a2", name="Sorrel")])
    store.save_animals([Animal("a1", name="Tansy", status="sold")])
    store.settle(Remark("r1", "s1", START, "left hind hollow wall"), [made(entry("e1"))])
    store.append("s1", 3, [flat_event(Finished(START + timedelta(hours=2)))])
    before = list(store._db.conn.iterdump())
    assert store.check() == ()
    store._db.execute("UPDATE entry SET place = 'left fore'")
    assert store.check() == ("The table entry does not agree with the events. Make it again as docs/store.md says.",)
    store.rebuild()
    assert store.check() == ()
    assert sorted(store._db.conn.iterdump()) == sorted(before)
    assert store.sessions()[0].ended == START + timedelta(hours=2)
    assert [(a.id, a.status) for a in store.animals()] == [("a1", "sold"), ("a2", "in herd")]


def test_every_version_of_an_animal_is_kept(store: Store) -> None:
    for status in ("in herd", "sold", "in herd"):
        store.save_animals([Animal("a1", name="Tansy", status=status)], START)
    rows = store._db.execute("SELECT version, saved, payload ->> 'status' FROM animal_version ORDER BY version")
    assert rows.fetchall() == [(n, START.isoformat(), s) for n, s in ((1, "in herd"), (2, "sold"), (3, "in herd"))]
    assert store.animals() == (Animal("a1", name="Tansy"),)


def test_last_time_comes_from_earlier_sessions_only(store: Store) -> None:
    store.append("s1", 1, [made(entry("e1")), made(entry("e2", TRIMMED))])
    store.begin(session_info("s2", 84))
    store.append("s2", 1, [made(entry("e3", TRIMMED, session="s2", days=84)), made(entry("e4", HOLLOW, "a2", "s2"))])
    earlier = store.history("a1", before="s2")
    assert ([e.id for e in earlier.entries], earlier.trimmed) == (["e1", "e2"], date(2026, 9, 1))
    assert store.history("a1").trimmed == date(2026, 11, 24)
    assert store.history("a1", before="s1").entries == ()
    assert store.history("nobody").trimmed is None
    assert store.last_days() == {"a1": date(2026, 11, 24)}


def test_a_recording_of_an_old_day_is_heard_with_what_was_known_then(store: Store) -> None:
    store.append("s1", 1, [made(entry("e1", TRIMMED))])
    store.begin(session_info("older", -30))
    assert store.history("a1", before="older").entries == ()
    store.append("older", 1, [made(entry("e2", session="older", days=-30))])
    store.begin(session_info("newer", 84))
    assert [e.id for e in store.history("a1", before="newer").entries] == ["e2", "e1"], "in the order of their days"
    assert [e.id for e in store.history("a1", before="s1").entries] == ["e2"]


def test_counts_follow_ups_and_treatments_leave_out_what_no_longer_holds(store: Store) -> None:
    bad = FindingPart("left hind", "hollow wall", grade=Grade.SEVERE)
    given = ActionPart("left hind", "treated", medicine="blue spray")
    store.append(
        "s1",
        1,
        [
            *(made(entry(f"e{n}", part)) for n, part in enumerate((HOLLOW, HOLLOW, bad, HOLLOW, given, given))),
            made(entry("f1", FollowUpPart("re-check", 14))),
            made(entry("f2", FollowUpPart("vet"))),
            made(entry("f3", FollowUpPart("move", 3))),
            made(entry("m1", MeasurePart("condition", 3.5))),
            superseding(entry("w3", state=State.WITHDRAWN), "e3"),
            superseding(entry("w5", given, state=State.WITHDRAWN), "e5"),
        ],
    )
    assert {(c.what, c.grade, c.n) for c in store.counts()} == {("hollow wall", None, 2), ("hollow wall", "severe", 1)}
    assert store.counts(since=date(2026, 9, 2)) == ()
    assert sum(c.n for c in store.counts(until=date(2026, 9, 1))) == 3
    assert [(f.what, f.due) for f in store.follow_ups()] == [
        ("move", date(2026, 9, 4)),
        ("re-check", date(2026, 9, 15)),
        ("vet", None),
    ]
    assert [f.what for f in store.follow_ups(until=date(2026, 9, 4))] == ["move"]
    assert [(t.entry, t.medicine) for t in store.treatments("a1")] == [("e4", "blue spray")]
    assert store.treatments("a2") == ()


def test_a_remark_settles_once(store: Store) -> None:
    typed = Remark("r1", "s1", START, "left hind hollow wall")
    assert store.settle(typed, [made(entry("e1"))], 1) == 3
    with pytest.raises(BadStore, match="settled already"):
        store.settle(typed, [made(entry("e2"))])
    assert [e.id for e in store.entries()] == ["e1"]
    assert store.remarks("s1") == (typed,)

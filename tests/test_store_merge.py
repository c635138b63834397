"""Stores of several machines brought together: by ids, once, in any order; what differs is kept and shown."""

from __future__ import annotations

import errno
import json
import shutil
import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.cli.main import ExitStatus, run
from assistant.errors import BadStore
from assistant.session.events import AnimalCaught, AnimalLeft, EntrySuperseded, Reviewed, event_value, flat_event
from assistant.session.fold import replay
from assistant.session.review import Review
from assistant.session.state import Outcome, OutcomeKind
from assistant.store import sound_file
from assistant.store.conflict import ConflictKind
from assistant.store.journal import digest
from assistant.store.sound_file import folder_of
from assistant.store.store import Store
from assistant.values import Animal, Entry, FindingPart, MeasurePart, State
from tests.store_stage import START, entry, made, session_info, superseding, tone

ROWS = {
    "event": "session, version, type, payload, digest",
    "sound": "remark, session, time, by, file, sha256",
    "animal_version": "animal, version, saved, payload, digest",
    "entry": "session, id, animal, what, is_live, supersedes",
    "session": "id, started, ended",
    "animal": "id, payload",
}


def content(path: Path) -> dict[str, Any]:
    """All that a store holds, without the order in which machines were met."""
    with Store.open(path, read_only=True) as store:
        held: dict[str, Any] = {
            table: store._db.execute(f"SELECT {columns} FROM {table} ORDER BY 1, 2").fetchall()
            for table, columns in ROWS.items()
        }
        held["order"] = [one.id for one in store.sessions()]
        held["conflicts"] = {(one.kind, one.subject, one.sides, one.is_settled) for one in store.conflicts()}
        held["records"] = {(one.id, one.number) for one in store.animals()}
        assert store.check() == ()
    return held


def copied(path: Path, name: str) -> Path:
    target = path.with_name(f"{name}.db")
    shutil.copy(path, target)
    if folder_of(path).is_dir():
        shutil.copytree(folder_of(path), folder_of(target), dirs_exist_ok=True)
    return target


def merged(path: Path, *others: Path, name: str) -> Path:
    """A copy of a store with others brought in, one after the other."""
    target = copied(path, name)
    with Store.open(target) as store:
        for other in others:
            store.merge(other)
    return target


def begun(path: Path, key: str = "s1", days: int = 0) -> Store:
    store = Store.open(path)
    store.begin(session_info(key, days))
    return store


def add(store: Store, *events: dict[str, Any], session: str = "s1") -> None:
    store.append(session, store.version(session), events)


def fork(tmp_path: Path) -> tuple[Store, Store]:
    """One session with one entry, copied, so that two machines can go on with it."""
    with begun(tmp_path / "a.db") as store:
        store.save_animals([Animal("a1", name="Tansy")], START)
        add(store, made(entry("e1")))
    copied(tmp_path / "a.db", "b")
    return Store.open(tmp_path / "a.db"), Store.open(tmp_path / "b.db")


def later(minutes: float) -> Any:
    return START + timedelta(minutes=minutes)


def at(of: Entry, minutes: float) -> Entry:
    return replace(of, time=later(minutes))


# ----------------------------------------------------------------------------------------------------- properties

steps = st.lists(
    st.tuples(st.sampled_from(["begin", "entry", "correct", "decide", "leave", "animal"]), st.integers(0, 2)),
    max_size=6,
)


def work(store: Store, machine: int, lines: Sequence[tuple[str, int]]) -> None:
    """What one machine does: sessions of its own, and more in the session that all of them have."""
    for n, (what, which) in enumerate(lines):
        key, now = f"m{machine}-{n}", later(10 + n + machine / 10)
        live = [one for one in store.entries("s1") if one.id.startswith(("e", f"m{machine}"))]
        if what == "begin":
            store.begin(replace(session_info(key), started=now))
            add(store, made(replace(entry(key, session=key), time=now)), session=key)
        elif what == "entry":
            add(store, made(at(entry(key, animal=f"a{which}"), 10 + n + machine / 10)))
        elif what in ("correct", "decide") and live:
            old = live[which % len(live)]
            value = MeasurePart("condition", float(which))
            new = replace(at(entry(key, value), 10 + n + machine / 10), supersedes=old.id, state=State.CORRECTED)
            if what == "decide":
                new = replace(new, time=old.time)
            add(store, flat_event(EntrySuperseded(new, old.id)))
            if what == "decide":
                add(store, flat_event(Reviewed(now, "corrected", "Rowan", (key,))))
        elif what == "leave":
            outcome = Outcome(OutcomeKind.SKIPPED if which else OutcomeKind.DONE, "" if not which else "heavy")
            add(store, flat_event(AnimalCaught(now, f"a{which}", key)))
            add(store, flat_event(AnimalLeft(now, "a1", outcome, key)))
        elif what == "animal":
            store.save_animals([Animal("a1", name="Tansy", number=f"{which}")], now)


@settings(max_examples=12, deadline=None)
@given(st.tuples(steps, steps, steps))
def test_merging_is_commutative_associative_and_idempotent(lines) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        with begun(folder / "base.db") as store:
            store.save_animals([Animal("a1", name="Tansy")], START)
            add(store, made(entry("e1")))
        paths = []
        for machine, of_one in enumerate(lines):
            paths.append(copied(folder / "base.db", f"m{machine}"))
            with Store.open(paths[-1]) as store:
                work(store, machine, of_one)
        a, b, c = paths
        ab, ba = merged(a, b, name="ab"), merged(b, a, name="ba")
        assert content(ab) == content(ba)
        assert content(merged(ab, c, name="ab-c")) == content(merged(a, merged(b, c, name="bc"), name="a-bc"))
        assert content(merged(ab, b, a, name="again")) == content(ab)
        assert content(merged(ab, ab.with_name("ba.db"), name="both")) == content(ab)


# ------------------------------------------------------------------------------------------------------- by example


def test_sessions_of_two_machines_stand_in_the_order_of_their_beginning(tmp_path) -> None:
    with begun(tmp_path / "a.db", "autumn", 90) as a:
        add(a, made(entry("e1", session="autumn", days=90)), session="autumn")
        with begun(tmp_path / "b.db", "spring") as b:
            b.save_animals([Animal("a1", name="Tansy")])
            add(b, made(entry("e2", session="spring")), session="spring")
        told = a.merge(tmp_path / "b.db")
        assert (told.sessions, told.animals, told.conflicts, told.troubles) == (1, 1, (), [])
        assert [one.id for one in a.sessions()] == ["spring", "autumn"]
        assert [one.id for one in a.history("a1", before="autumn").entries] == ["e2"]
        assert a.check() == ()
        assert a.merge(tmp_path / "b.db").is_nothing_new


def test_a_session_that_went_on_elsewhere_goes_on_here(tmp_path) -> None:
    a, b = fork(tmp_path)
    with a, b:
        add(b, made(entry("e2")), superseding(entry("e3"), "e1"))
        told = a.merge(b.path)
        assert (told.sessions, told.conflicts) == (1, ())
        assert list(a.events("s1")) == list(b.events("s1"))


def test_what_two_machines_put_right_differently_is_kept_and_shown(tmp_path) -> None:
    a, b = fork(tmp_path)
    with a, b:
        add(a, superseding(at(entry("mine", FindingPart("left hind", "crack")), 5), "e1"))
        add(b, superseding(at(entry("theirs", FindingPart("left fore", "hollow wall")), 6), "e1"))
        told = a.merge(b.path)
        (one,) = told.conflicts
        assert (one.kind, one.subject, len(one.sides)) == (ConflictKind.CORRECTED, "e1", 2)
        assert {entry.id for entry in a.entries()} == {"mine", "theirs"}
        review = Review.of("s1", a.entries("s1", live_only=False), [])
        assert sorted(review.tip(line).id for line in review.live()["a1"]) == ["mine", "theirs"]
        a.settle_conflict(one.id)
        assert a.merge(b.path).conflicts == ()
        with pytest.raises(BadStore, match="no conflict"):
            a.settle_conflict("none")


def test_the_later_of_two_outcomes_holds_and_both_are_kept(tmp_path) -> None:
    a, b = fork(tmp_path)
    with a, b:
        for store, minutes, kind in ((a, 6, OutcomeKind.DONE), (b, 5, OutcomeKind.SKIPPED)):
            add(store, flat_event(AnimalCaught(later(minutes), "a1", "r")))
            add(store, flat_event(AnimalLeft(later(minutes), "a1", Outcome(kind), "r")))
        (one,) = b.merge(a.path).conflicts
        assert (one.kind, one.subject) == (ConflictKind.OUTCOME, "s1/a1")
        assert replay([event_value(flat) for flat in b.events("s1")]).done == ("a1",)


def test_one_sound_understood_differently_gives_one_entry_and_a_conflict(tmp_path) -> None:
    a, b = fork(tmp_path)
    with a, b:
        add(a, made(entry("same", FindingPart("left hind", "crack"))))
        add(b, made(entry("same", FindingPart("left hind", "hollow wall"))))
        told = [store.merge(other.path) for store, other in ((a, b), (b, a))]
        assert [one.kind for one in told[0].conflicts] == [ConflictKind.ENTRY]
        assert told[0].conflicts == told[1].conflicts
        assert a.entries() == b.entries()
        assert {json.loads(side)["part"]["finding"] for side in told[0].conflicts[0].sides} == {"crack", "hollow wall"}


def test_the_animal_that_was_saved_last_holds_and_the_other_is_kept(tmp_path) -> None:
    a, b = fork(tmp_path)
    with a, b:
        a.save_animals([Animal("a1", name="Tansy", status="sold")], later(2))
        b.save_animals([Animal("a1", name="Tansy", group="milkers")], later(1))
        (one,) = a.merge(b.path).conflicts
        assert (one.kind, one.subject) == (ConflictKind.ANIMAL, "a1")
        assert a.animals()[0].status == "sold"


def test_sounds_come_too_and_a_damaged_one_is_named(tmp_path) -> None:
    a, b = fork(tmp_path)
    with a, b:
        whole, torn, gone = (b.keep_sound("s1", tone(seed=n), later(n), "Rowan") for n in range(3))
        (b.sounds / f"{torn}.flac").write_bytes(b"fLaC")
        (b.sounds / f"{gone}.flac").unlink()
        told = a.merge(b.path)
        assert told.sounds == 1
        assert [torn in line or gone in line for line in told.troubles] == [True, True]
        assert [one.remark for one in a.pending()] == [whole]
        assert a.sound(whole).length_s == pytest.approx(0.2)
        assert a.check() == ()


@pytest.mark.parametrize("is_removed", [False, True])
def test_a_sound_that_names_another_file_takes_nothing_away_here(tmp_path, is_removed) -> None:
    a, b = fork(tmp_path)
    letter = tmp_path / "letter.flac"
    letter.write_text("of the keeper")
    with a, b:
        ours = a.keep_sound("s1", tone(), START, "Rowan")
        theirs = b.keep_sound("s1", tone(seed=1), START, "Rowan")
        if is_removed:
            b.remove_sounds(b.kept_sounds(), "by hand", later(1))
        else:
            shutil.copy(b.sounds / f"{theirs}.flac", b.sounds / f"{ours}.flac")
    file = "../letter.flac" if is_removed else f"{ours}.flac"
    with sqlite3.connect(tmp_path / "b.db") as raw:
        raw.execute("DROP TRIGGER sound_no_update")
        raw.execute("UPDATE sound SET file = ?", (file,))
    raw.close()
    with Store.open(tmp_path / "a.db") as store:
        told = store.merge(tmp_path / "b.db")
        assert [file in line for line in told.troubles] == [True]
        assert letter.read_text() == "of the keeper"
        assert store.sound(ours).length_s == pytest.approx(0.2)
        assert store.with_sound("s1") == (ours,)


@pytest.mark.parametrize("table", ["event", "animal_version"])
def test_a_changed_byte_in_the_other_store_is_found_and_the_rest_comes(tmp_path, table) -> None:
    a, b = fork(tmp_path)
    with a, b:
        b.begin(session_info("s2"))
        add(b, made(entry("e9", session="s2")), session="s2")
        add(b, made(entry("e8")))
        b.save_animals([Animal("a1", name="Yarrow"), Animal("a2", name="Sorrel")])
    with sqlite3.connect(tmp_path / "b.db") as raw:
        raw.execute(f"DROP TRIGGER {table}_no_update")
        raw.execute(f"UPDATE {table} SET payload = replace(payload, '1', '2') WHERE number = 1")
    raw.close()
    with Store.open(tmp_path / "a.db") as store:
        told = store.merge(tmp_path / "b.db")
        assert len(told.troubles) == 1
        assert "damaged in the other store" in told.troubles[0]
        assert "e9" in {one.id for one in store.entries()}
        assert "a2" in {one.id for one in store.animals()}
        assert store.check() == ()


@pytest.mark.parametrize(
    ("name", "payload"),
    [
        ("Said", "{}"),
        ("AnimalLeft", '{"animal": "a1"}'),
        ("EntryMade", '{"entry": {}}'),
        ("AnimalCaught", '{"time": 5}'),
        ("Reviewed", '{"time": "2026-09-01T09:00:00+00:00", "entries": [[1]]}'),
    ],
)
def test_an_event_that_is_none_is_refused_and_nothing_comes(tmp_path, name, payload) -> None:
    a, b = fork(tmp_path)
    b.close()
    with sqlite3.connect(b.path) as raw:
        row = ("s1", 3, name, payload)
        raw.execute(
            "INSERT INTO event (session, version, type, payload, digest) VALUES (?, ?, ?, ?, ?)", (*row, digest(*row))
        )
    raw.close()
    with a:
        add(a, made(entry("e2")))
        with pytest.raises(BadStore, match="a record that cannot be read"):
            a.merge(b.path)
        assert a.check() == ()
        assert a.version("s1") == 3


@pytest.mark.parametrize(
    ("table", "kind", "payload"),
    [
        ("animal", "", {"id": "x1", "name": 5}),
        ("animal", "", {"id": "x1", "name": "Tansy", "nicknames": ["Tan", 5]}),
        ("animal", "", {"id": "x1", "name": "Tansy", "past_tags": [{"kind": "official", "code": 5}]}),
        ("animal", "", {"id": "a1", "name": "Tansy"}),
        ("animal", "", ["x1"]),
        ("record", "mating", {"id": "x1", "males": "b1", "females": ["a1"], "began": "2026-05-26"}),
        ("record", "birth", {"id": "x1", "animal": "a1", "day": "2026-05-26", "young": "two"}),
        ("record", "removed sound", {"remark": ["r"], "file": "r.flac", "day": "2026-05-26", "reason": ""}),
    ],
)
def test_an_animal_or_record_that_is_none_is_refused_and_nothing_comes(tmp_path, table, kind, payload) -> None:
    a, b = fork(tmp_path)
    b.close()
    shared = {"kind": kind} if kind else {}
    row = {table: "x1", "version": 1, **shared, "saved": None, "payload": json.dumps(payload)}
    row["digest"] = digest(*row.values())
    with sqlite3.connect(b.path) as raw:
        raw.execute(
            f"INSERT INTO {table}_version ({', '.join(row)}) VALUES ({', '.join('?' * len(row))})", [*row.values()]
        )
    raw.close()
    with a:
        with pytest.raises(BadStore, match="a record that cannot be read"):
            a.merge(b.path)
        assert [animal.id for animal in a.animals()] == ["a1"]
        assert a.check() == ()


@pytest.mark.parametrize("code", [{"tag": "HB 100 417"}, {"electronic": "826000000000417"}])
def test_two_animals_with_one_tag_are_refused_and_nothing_comes(tmp_path, code) -> None:
    a, b = fork(tmp_path)
    with a, b:
        a.save_animals([Animal("a7", number="417", **code)])
        b.save_animals([Animal("a8", name="Sorrel", **{key: text.replace(" ", "") for key, text in code.items()})])
        b.keep_sound("s1", tone(), later(1), "Rowan")
        with pytest.raises(BadStore, match=r"417 and Sorrel.* have the same .* merge again"):
            a.merge(b.path)
        assert [animal.id for animal in a.animals()] == ["a1", "a7"]
        assert not list(a.sounds.glob("*"))
        assert a.check() == ()


@pytest.mark.parametrize("what", ["itself", "nothing", "text"])
def test_what_is_no_other_store_is_refused(tmp_path, what) -> None:
    a, b = fork(tmp_path)
    b.close()
    with a:
        other = a.path if what == "itself" else tmp_path / what
        if what == "text":
            other.write_text("not a store")
        with pytest.raises(BadStore):
            a.merge(other)
        assert a.check() == ()


def test_a_difference_is_not_looked_for_in_a_store_that_is_not_there(tmp_path, capsys) -> None:
    assert run(["--store", str(tmp_path / "none.db"), "merge", "--settle", "x"]) == ExitStatus.FAILED
    assert "There is no store" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_merge_that_runs_out_of_room_leaves_no_sound_behind(tmp_path, monkeypatch) -> None:
    a, b = fork(tmp_path)
    with a, b:
        for n in range(2):
            b.keep_sound("s1", tone(seed=n), later(n), "Rowan")
        write, written = sound_file.write, []

        def full(folder: Path, name: str, content: bytes) -> None:
            if written:
                raise OSError(errno.ENOSPC, "No space left on device")
            written.append(name)
            write(folder, name, content)

        monkeypatch.setattr(sound_file, "write", full)
        with pytest.raises(BadStore, match="no room left"):
            a.merge(b.path)
        assert written
        assert not list(a.sounds.iterdir())


def test_a_merge_that_fails_changes_nothing(tmp_path, monkeypatch) -> None:
    a, b = fork(tmp_path)
    with a, b:
        add(b, made(entry("e2")))
        before = list(a.events("s1"))

        def broken(*_: object) -> None:
            raise sqlite3.OperationalError("disk I/O error")

        monkeypatch.setattr("assistant.store.merging.rebuild", broken)
        with pytest.raises(BadStore):
            a.merge(b.path)
        monkeypatch.undo()
        assert list(a.events("s1")) == before
        assert a.check() == ()


# ---------------------------------------------------------------------------------------------------------- command


def test_the_command_says_what_came_and_what_differs(tmp_path, capsys) -> None:
    a, b = fork(tmp_path)
    with a, b:
        add(a, superseding(at(entry("mine", FindingPart("left hind", "crack")), 5), "e1"))
        add(b, superseding(at(entry("theirs", FindingPart("left fore", "hollow wall")), 6), "e1"))
        b.save_animals([Animal("a1", name="Tansy", group="milkers")], later(1))
        a.save_animals([Animal("a1", name="Tansy", status="sold")], later(2))
    words = ["--store", str(a.path), "merge"]
    assert run([*words, str(b.path)]) == ExitStatus.OK
    told = capsys.readouterr().out
    for line in ("sessions 1, animals 1,", "Rowan: Tansy, left hind: crack", "Rowan: Tansy, left fore: hollow wall"):
        assert line in told
    assert "group milkers, status in herd" in told
    key = next(line.split()[0] for line in told.splitlines() if "corrected twice" in line)
    assert run([*words, "--settle", key]) == ExitStatus.OK
    capsys.readouterr()
    assert run(words) == ExitStatus.OK
    assert "corrected twice" not in capsys.readouterr().out
    assert run([*words, "--settle", "nothing"]) == ExitStatus.FAILED


def test_two_animals_that_share_a_tag_on_two_machines_are_refused_and_nothing_is_brought(tmp_path) -> None:
    """Each machine imported the same list, one of them before the animal had its tag, so that the ids differ."""
    a, b = fork(tmp_path)
    with a, b:
        a.save_animals([Animal("x1", name="Bryony", number="7")], later(1))
        a.save_animals([Animal("x1", name="Bryony", number="7", tag="UK 0 123456 00007")], later(2))
        b.save_animals([Animal("y1", name="Bryony", number="7", tag="UK0 123456-00007")], later(1))
        before = a.animals()
        with pytest.raises(BadStore, match="have the same tag"):
            a.merge(b.path)
        assert a.animals() == before
        assert a.check() == ()


def test_the_command_names_what_could_not_come(tmp_path, capsys) -> None:
    a, b = fork(tmp_path)
    with a, b:
        gone = b.keep_sound("s1", tone(), later(1), "Rowan")
        (b.sounds / f"{gone}.flac").unlink()
    assert run(["--store", str(a.path), "merge", str(b.path)]) == ExitStatus.PARTLY
    assert gone in capsys.readouterr().err

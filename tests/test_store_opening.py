"""What can be wrong with a store's file is said in a sentence, and what was kept before stays."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import sys
import tempfile
from itertools import chain
from pathlib import Path

import pytest
from sqlite_utils import Database
from store_stage import HOLLOW, START, as_ordinary_user, entry, made, session_info, tone

from assistant.errors import AssistantError, BadStore
from assistant.store import connection, outlook
from assistant.store.projection import PROJECTIONS
from assistant.store.store import Store
from assistant.values import Animal, FindingPart, Remark


def filled(path: Path, n: int = 40) -> Path:
    with Store.open(path) as store:
        store.save_animals([Animal("a1", name="Tansy"), Animal("a2", name="Sorrel")])
        store.begin(session_info())
        store.append("s1", 1, [made(entry(f"e{k}", HOLLOW)) for k in range(n)])
        remark = store.keep_sound("s1", tone(), START)
        store.settle(Remark(remark, "s1", START, "left hind hollow wall"))
    return path


def refusal(path: Path, *, read_only: bool = False) -> str:
    with pytest.raises(BadStore) as refused:
        Store.open(path, read_only=read_only)
    assert str(path) in str(refused.value)
    return str(refused.value)


def test_what_is_not_a_store_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    text = tmp_path / "notes.txt"
    text.write_text("Tansy: left hind, hollow wall. " * 100)
    assert "not a database" in refusal(text)
    assert text.read_text().startswith("Tansy")
    other = sqlite3.connect(tmp_path / "other.db")
    other.execute("CREATE TABLE bill (amount REAL)")
    other.commit()
    other.close()
    before = (tmp_path / "other.db").read_bytes()
    assert "another program" in refusal(tmp_path / "other.db")
    assert (tmp_path / "other.db").read_bytes() == before
    assert "is a folder" in refusal(tmp_path)
    assert "no store" in refusal(tmp_path / "missing.db", read_only=True)
    assert not (tmp_path / "missing.db").exists()
    (tmp_path / "file").write_text("")
    assert refusal(tmp_path / "file" / "herd.db")


def test_an_empty_file_becomes_a_store_but_not_when_only_read(tmp_path: Path) -> None:
    (tmp_path / "herd.db").touch()
    assert "Open it once for writing" in refusal(tmp_path / "herd.db", read_only=True)
    with Store.open(tmp_path / "herd.db") as store:
        assert store.sessions() == ()


def test_a_newer_store_is_refused(tmp_path: Path) -> None:
    path = filled(tmp_path / "herd.db", 1)
    plain = sqlite3.connect(path)
    plain.execute(
        "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('handling-assistant', '99 herds', '')"
    )
    plain.commit()
    plain.close()
    for read_only in (False, True):
        assert "newer version" in refusal(path, read_only=read_only)


def test_a_step_that_fails_leaves_neither_itself_nor_its_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A migration and its record share one transaction; after the fault is mended, it is taken."""
    from sqlite_utils.migrations import Migrations

    from assistant.store import schema

    path = filled(tmp_path / "herd.db", 1)
    steps = Migrations(schema.migrations.name)
    steps._migrations = [*schema.migrations._migrations]
    is_broken = True

    @steps(name="4 weights")
    def weights(db: Database) -> None:
        db.execute("CREATE TABLE weight (kg REAL)")
        if is_broken:
            db.execute("CREATE TABLE weight (kg REAL)")

    monkeypatch.setattr(connection, "migrations", steps)
    monkeypatch.setattr(connection, "KNOWN", schema.KNOWN | {"4 weights"})
    assert "weight" in refusal(path)
    is_broken = False
    with Store.open(path) as store:
        assert [step.name for step in steps.applied(store._db)] == [*sorted(schema.KNOWN), "4 weights"]
        assert len(store.entries()) == 1
    monkeypatch.undo()
    assert "newer version" in refusal(path)


def test_the_documented_schema_is_that_of_the_store() -> None:
    from assistant.store.schema import JOURNAL_TABLES

    text = (Path(__file__).parent.parent / "docs" / "store.md").read_text(encoding="utf-8")
    for tables in (JOURNAL_TABLES, PROJECTIONS):
        sql = "\n".join(f"{one.strip()};" for one in tables.values())
        assert f"```sql\n{sql}\n```" in text


OLD_ANIMAL = """
CREATE TABLE animal (
    id TEXT PRIMARY KEY,
    number INTEGER NOT NULL,
    payload TEXT NOT NULL CHECK (json_valid(payload))
) STRICT, WITHOUT ROWID
"""
"""The animals of a store of version 1."""


BACK_TO = {
    2: (
        "DROP INDEX entry_last",
        "CREATE INDEX entry_last ON entry (kind, what, animal, day) WHERE is_live",
        "DROP INDEX entry_foot",
        "CREATE INDEX entry_foot ON entry (day, kind, what, place, animal, session) "
        "WHERE is_live AND kind IN ('finding', 'action')",
    ),
    1: (
        "DROP TABLE record_version",
        "DROP TABLE record",
        "DROP INDEX entry_foot",
        "ALTER TABLE animal RENAME TO animal_now",
        OLD_ANIMAL,
        "INSERT INTO animal SELECT id, number, payload FROM animal_now",
        "DROP TABLE animal_now",
    ),
}
"""Version → what turns a store of the next one into it."""


def old_store(path: Path, version: int) -> None:
    """Turns a store of today into an older one with the same content."""
    plain = sqlite3.connect(path, isolation_level=None)
    for sql in chain.from_iterable(steps for to, steps in BACK_TO.items() if to >= version):
        plain.execute(sql)
    plain.execute("DELETE FROM _sqlite_migrations WHERE CAST(name AS INTEGER) > ?", (version,))
    plain.close()


@pytest.mark.parametrize("version", BACK_TO)
@pytest.mark.parametrize("read_only", [False, True])
def test_a_store_of_an_older_version_opens_with_all_it_holds(tmp_path: Path, read_only: bool, version: int) -> None:
    path = filled(tmp_path / "herd.db")
    with Store.open(path) as store:
        before = everything(store)
    old_store(path, version)
    with Store.open(path, read_only=read_only) as store:
        assert everything(store) == before
        assert [one.label for one in store.ask(outlook.names).values()] == ["Tansy", "Sorrel"]
        assert store.check() == ()
        sql = "SELECT name, sql FROM sqlite_schema WHERE name IN ('entry_foot', 'entry_last')"
        assert dict(store._db.execute(sql)) == {name: PROJECTIONS[name] for name in ("entry_foot", "entry_last")}


def test_every_known_step_is_a_step() -> None:
    from assistant.store import schema

    assert {step.name for step in schema.migrations._migrations} == schema.KNOWN


def test_a_store_held_by_another_program_is_said_after_a_wait(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connection, "BUSY_WAIT_S", 0.05)
    path = filled(tmp_path / "herd.db", 1)
    with Store.open(path) as store:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BadStore, match="held by another program"):
            store.append("s1", store.version("s1"), [made(entry("late"))])
        with pytest.raises(BadStore, match=r"held by another program.*The sound is safe in"):
            store.keep_sound("s1", tone(), START)
        assert len(store.entries()) == 1, "reading goes on"
        other.execute("ROLLBACK")
        store.append("s1", store.version("s1"), [made(entry("late"))])
        other.close()
    with Store.open(path) as store:
        assert len(store.pending()) == 1, "the sound that could not be put on record was taken in"
        assert store.check() == ()
    shutil.rmtree(tmp_path / "herd_sound")
    plain = sqlite3.connect(path, isolation_level=None)
    plain.execute("PRAGMA journal_mode = DELETE")
    plain.execute("BEGIN EXCLUSIVE")
    assert "held by another program" in refusal(path)
    plain.close()


def test_no_room_for_the_database(tmp_path: Path) -> None:
    """SQLite's own limit of pages stands in for a full disk: it gives the same SQLITE_FULL."""
    path = filled(tmp_path / "herd.db")
    with Store.open(path) as store:
        version, n_entries = store.version("s1"), len(store.entries())
        (pages,) = store._db.execute("PRAGMA page_count").fetchone()
        store._db.execute(f"PRAGMA max_page_count = {pages}").fetchone()
        long = [made(entry(f"n{k}", FindingPart("left hind", "crack" * 50))) for k in range(200)]
        with pytest.raises(BadStore, match="no room left"):
            store.append("s1", version, long)
        assert (store.version("s1"), len(store.entries())) == (version, n_entries), "all or nothing"
        store._db.execute("PRAGMA max_page_count = 1000000").fetchone()
        assert store.append("s1", version, long) == version + 200
        assert store.check() == ()


@pytest.mark.skipif(sys.platform == "win32", reason="permissions work differently")
def test_only_the_owner_may_read(tmp_path: Path) -> None:
    path = tmp_path / "new" / "herd.db"
    filled(path, 1)
    store = Store.open(path)
    store.save_animals([Animal("a3", name="Yarrow")])
    modes = {file.name: file.stat().st_mode & 0o777 for file in path.parent.iterdir()}
    assert modes == {"herd.db": 0o600, "herd.db-wal": 0o600, "herd.db-shm": 0o600, "herd_sound": 0o700}
    assert {file.stat().st_mode & 0o777 for file in store.sounds.iterdir()} == {0o600}
    assert path.parent.stat().st_mode & 0o777 == 0o700
    store.close()


def test_a_folder_that_may_not_be_written_to(tmp_path: Path) -> None:
    """Writing is refused with a sentence; reading works, though SQLite can place no side files there."""
    folder = Path(tempfile.mkdtemp())
    try:
        path = filled(folder / "herd.db", 3)
        new = folder / "new.db"

        def deed() -> str:
            said = []
            for file, read_only in ((path, False), (new, False), (folder / "deep" / "new.db", False), (path, True)):
                try:
                    with Store.open(file, read_only=read_only) as store:
                        said.append(f"{len(store.entries())} entries")
                        store.keep_sound("s1", tone(), START)
                except AssistantError as error:
                    said.append(str(error))
            return "\n".join(said)

        for file in [*folder.rglob("*"), folder]:
            file.chmod(0o555 if file.is_dir() else 0o444)
        lines = as_ordinary_user(deed).splitlines()
        assert len(lines) == 5, lines
        assert all("cannot be used" in line and "who may write" in line for line in lines[:3]), lines
        assert lines[3:] == ["3 entries", f"{path} was opened for reading only."]
    finally:
        for file in [folder, *folder.rglob("*")]:
            file.chmod(0o700)
        shutil.rmtree(folder)


def test_reading_only_changes_nothing(tmp_path: Path) -> None:
    path = filled(tmp_path / "herd.db", 2)
    before = path.read_bytes()
    with Store.open(path, read_only=True) as store:
        assert len(store.entries()) == 2
        assert store.check() == ()
        for deed in (
            lambda: store.append("s1", store.version("s1"), [made(entry("x"))]),
            lambda: store.save_animals([]),
            store.rebuild,
        ):
            with pytest.raises(BadStore, match="reading only"):
                deed()
    assert path.read_bytes() == before


def everything(store: Store) -> list[object]:
    return [
        store.animals(),
        store.sessions(),
        list(store.events("s1")),
        store.remarks("s1"),
        store.entries(live_only=False),
        store.pending(),
    ]


@pytest.mark.parametrize("seed", range(3))
def test_flipped_bytes_are_refused_reported_or_harmless_but_never_read_as_truth(tmp_path: Path, seed: int) -> None:
    """Over flips at random places: opening refuses, or `check` names a problem, or all that is read is as it was."""
    path = filled(tmp_path / "herd.db")
    with Store.open(path) as store:
        truth = everything(store)
    whole = path.read_bytes()
    chance = random.Random(seed)
    n_seen = 0
    for _ in range(25):
        damaged = bytearray(whole)
        for at in chance.sample(range(len(whole)), 3):
            damaged[at] ^= 1 << chance.randrange(8)
        path.write_bytes(damaged)
        for side in ("-wal", "-shm"):
            path.with_name(path.name + side).unlink(missing_ok=True)
        try:
            with Store.open(path, read_only=True) as store:
                seen = store.check()
                n_seen += bool(seen)
                assert seen or everything(store) == truth
        except BadStore:
            n_seen += 1
    assert n_seen > 10, "most of the file matters"


def test_a_cut_off_file_is_refused(tmp_path: Path) -> None:
    path = filled(tmp_path / "herd.db")
    os.truncate(path, path.stat().st_size // 2)
    assert "damaged" in refusal(path)

"""The tables of the store, as reviewed SQL, and the steps from one version of them to the next.

Four tables are only ever added to: `event`, `sound`, `animal_version` and `record_version`. The rest are projections:
they make reading fast, hold nothing of their own, and can be dropped and made again from the four.
"""

from __future__ import annotations

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from assistant.store.projection import HEAD_COLUMNS, HEAD_VALUES, PROJECTIONS

APPLICATION_ID = int.from_bytes(b"pens")
"""Marks a database file as a store of this program (PRAGMA application_id)."""

JOURNAL = {
    "event": ("session", "version"),
    "sound": ("remark",),
    "animal_version": ("animal", "version"),
    "record_version": ("record", "version"),
}
"""Append-only table → its key."""

JOURNAL_TABLES = {
    "event": """
CREATE TABLE event (
    number INTEGER PRIMARY KEY,
    session TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version >= 1),
    type TEXT NOT NULL,
    payload TEXT NOT NULL CHECK (json_valid(payload)),
    digest TEXT NOT NULL,
    UNIQUE (session, version)
) STRICT
""",
    "sound": """
CREATE TABLE sound (
    number INTEGER PRIMARY KEY,
    remark TEXT NOT NULL UNIQUE,
    session TEXT NOT NULL,
    time TEXT NOT NULL,
    by TEXT NOT NULL,
    file TEXT NOT NULL,
    sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
    start_s REAL NOT NULL,
    end_s REAL NOT NULL
) STRICT
""",
    "animal_version": """
CREATE TABLE animal_version (
    number INTEGER PRIMARY KEY,
    animal TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version >= 1),
    saved TEXT,
    payload TEXT NOT NULL CHECK (json_valid(payload)),
    digest TEXT NOT NULL,
    UNIQUE (animal, version)
) STRICT
""",
    "record_version": """
CREATE TABLE record_version (
    number INTEGER PRIMARY KEY,
    record TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version >= 1),
    kind TEXT NOT NULL,
    saved TEXT,
    payload TEXT NOT NULL CHECK (json_valid(payload)),
    digest TEXT NOT NULL,
    UNIQUE (record, version)
) STRICT
""",
}
"""Append-only table → its SQL."""


def guards(table: str, key: tuple[str, ...]) -> dict[str, str]:
    """Name → SQL of the three triggers that keep a table append-only.

    The third refuses an insert onto a taken key: `INSERT OR REPLACE` on a plain connection fires no delete trigger, so
    that it would replace a row in silence.
    """
    same_key = " AND ".join(f"{column} = NEW.{column}" for column in key)
    refuse = f"BEGIN SELECT RAISE(ABORT, 'the table {table} is only ever added to'); END"
    return {
        f"{table}_no_update": f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} {refuse}",
        f"{table}_no_delete": f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} {refuse}",
        f"{table}_no_replace": f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN EXISTS "
        f"(SELECT 1 FROM {table} WHERE ({same_key}) OR number = NEW.number) {refuse}",
    }


migrations = Migrations("handling-assistant")


_OF_FIRST = ("event", "sound", "animal_version")
"""The append-only tables that a store had from the beginning."""

_OF_SECOND = ("entry_foot", "record")


@migrations(name="1 journal and projections")
def _first(db: Database) -> None:
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    for table in _OF_FIRST:
        _add_journal(db, table)
    for name, sql in PROJECTIONS.items():
        if name not in (*_OF_SECOND, "animal_head"):
            db.execute(sql)


@migrations(name="2 books and columns of animals")
def _second(db: Database) -> None:
    """Matings, treatments and the like get a place; lists need not read the whole payload of every animal."""
    _add_journal(db, "record_version")
    for name in _OF_SECOND:
        db.execute(PROJECTIONS[name])
    db.execute("ALTER TABLE animal RENAME TO animal_before")
    db.execute(PROJECTIONS["animal"])
    db.execute(
        f"INSERT INTO animal (id, number, payload, {HEAD_COLUMNS}) "
        f"SELECT id, number, payload, {HEAD_VALUES} FROM animal_before"
    )
    db.execute("DROP TABLE animal_before")
    db.execute(PROJECTIONS["animal_head"])


@migrations(name="3 lists day by day")
def _third(db: Database) -> None:
    for name in ("entry_last", "entry_foot"):
        db.execute(f"DROP INDEX {name}")
        db.execute(PROJECTIONS[name])


def _add_journal(db: Database, table: str) -> None:
    db.execute(JOURNAL_TABLES[table])
    for sql in guards(table, JOURNAL[table]).values():
        db.execute(sql)


KNOWN = frozenset({"1 journal and projections", "2 books and columns of animals", "3 lists day by day"})
"""Every step that this program knows; a store with others was written by a newer one."""

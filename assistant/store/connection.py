"""Opening the store's file: who may read it, whether it is one, whether it is whole, and one writer at a time."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlite_utils import Database

from assistant.errors import BadStore
from assistant.store.fault import faults_told
from assistant.store.schema import APPLICATION_ID, KNOWN, migrations

BUSY_WAIT_S = 5.0
"""How long to wait for another program's write before giving up (common practice, no source)."""

RETRY_S = 0.02

CHECKED_BYTES = 64 * 2**20
"""A larger store is not read as a whole on opening, so that a start stays within two seconds; `check` always is."""


def connected(path: Path, *, read_only: bool = False) -> Database:
    """Opens the store's file, and makes it if there is none.

    Args:
        path: the file; its folder is made too.
        read_only: nothing is made or changed.

    Raises:
        BadStore: not a store, damaged, newer than this program, not to be written to, no room, or held by another
            program.
    """
    give_up_s = time.monotonic() + BUSY_WAIT_S
    with faults_told(path):
        if path.is_dir():
            raise BadStore(f"{path} is a folder. Name a file in it.")
        while True:
            try:
                return _opened(path, read_only=read_only)
            except sqlite3.OperationalError as error:
                # SQLite does not wait by itself where a file is turned to WAL while another program opens it.
                if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > give_up_s:
                    raise
                time.sleep(RETRY_S)


def _opened(path: Path, *, read_only: bool) -> Database:
    if read_only:
        return _checked(path, _read_only(path), read_only=True)
    _make_file(path)
    return _checked(path, _connect(path, "mode=rw"), read_only=False)


def _make_file(path: Path) -> None:
    """The folder and an empty file that only their owner may read; SQLite gives its side files the same rights."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))


def _connect(path: Path, options: str) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.absolute().as_uri()}?{options}", uri=True, timeout=BUSY_WAIT_S, isolation_level=None)


def _read_only(path: Path) -> sqlite3.Connection:
    if not path.exists():
        raise BadStore(f"There is no store {path}. Check the name.")
    conn = _connect(path, "mode=ro")
    try:
        conn.execute("SELECT 1 FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError as error:
        conn.close()
        is_shut_out = error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY)
        if not is_shut_out or path.with_name(path.name + "-wal").exists():
            raise
        # SQLite cannot place its side files in a folder that is read-only; without them nobody is writing either.
        return _connect(path, "mode=ro&immutable=1")
    return conn


def _checked(path: Path, conn: sqlite3.Connection, *, read_only: bool) -> Database:
    try:
        db = Database(conn, execute_plugins=False)
        db.execute("PRAGMA foreign_keys = ON")
        _refuse_foreign(path, db)
        if path.stat().st_size <= CHECKED_BYTES:
            _refuse_damaged(path, db)
        if read_only:
            _bring_up(path, db)
        else:
            db.execute("PRAGMA journal_mode = WAL")
            db.execute("PRAGMA synchronous = FULL")
            db.execute("PRAGMA fullfsync = ON")
            _migrate(path, db)
    except BaseException:
        conn.close()
        raise
    return db


def _refuse_foreign(path: Path, db: Database) -> None:
    """Refuses another program's database, and a store that a newer program has changed."""
    with db.atomic():  # one view of both, as another program may be making the store at this moment
        (n_objects,) = db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        (application_id,) = db.execute("PRAGMA application_id").fetchone()
    if application_id != APPLICATION_ID and (application_id or n_objects):
        raise BadStore(f"{path} is a database of another program. Name the store file, or a new name.")
    if odd := {applied.name for applied in migrations.applied(db)} - KNOWN:
        raise BadStore(f"{path} was written by a newer version of this program ({min(odd)!r}). Update the program.")


def _refuse_damaged(path: Path, db: Database) -> None:
    (result,) = db.execute("PRAGMA quick_check(1)").fetchone()
    if result != "ok":
        raise BadStore(
            f"{path} is damaged ({result.strip()}). Keep it as it is, and go on with a copy of the last backup."
        )


def _bring_up(path: Path, db: Database) -> None:
    """An older store that is only to be read is brought up to date first, as nobody could read it otherwise."""
    if not migrations.pending(db):
        return
    if migrations.applied(db):
        try:
            _opened(path, read_only=False).close()
        except BadStore as error:
            raise BadStore(f"{path} is from an older version of this program and cannot be changed: {error}") from error
    if migrations.pending(db):
        raise BadStore(f"{path} is empty or from an older version of this program. Open it once for writing.")


def _migrate(path: Path, db: Database) -> None:
    """Takes the steps that are missing, each in a transaction of its own together with its record."""
    while migrations.pending(db):
        with writing(db, path):  # looked up again inside, as another program may be taking the same step
            if missing := [step.name for step in migrations.pending(db)]:
                migrations.apply(db, stop_before=missing[1:])


@contextmanager
def writing(db: Database, path: Path) -> Iterator[None]:
    """One transaction that is the only one to write; all of it is kept and synced, or nothing.

    Raises:
        BadStore: no room, held by another program, or the records contradict each other.
    """
    with faults_told(path):
        db.conn.execute("BEGIN IMMEDIATE")
        try:
            yield
            db.conn.execute("COMMIT")
        except BaseException:
            db.rollback()
            raise

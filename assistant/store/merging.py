"""Another machine's store brought into this one: everything by its own id, nothing twice, in whichever order.

What is merged is the content of the append-only tables. Order is the only thing that changes in them: sessions stand
in the order of their beginning, and where one session, animal or record went on separately on two machines, what each
has alone follows in order of time. All of it is one transaction.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import takewhile
from pathlib import Path

from sqlite_utils import Database

from assistant.errors import BadStore
from assistant.register.register import called, compact
from assistant.store import conflict, sound_bringing
from assistant.store.animal_row import animal_from_flat
from assistant.store.conflict import Conflict, ConflictKind
from assistant.store.connection import connected, writing
from assistant.store.fault import faults_told
from assistant.store.joining import EventRow, VersionRow, event_times, joined, seconds, version_times
from assistant.store.journal import digest
from assistant.store.projection import rebuild
from assistant.store.retention import BOOK as REMOVED
from assistant.store.retention import REMOVAL_KEYS, sweep
from assistant.store.schema import JOURNAL, guards
from assistant.values import Animal
from assistant.values.book import BOOKS, record_from_flat
from assistant.values.plain import made


@dataclass
class Merged:
    """What a merge brought.

    Attributes:
        sessions, animals, records: how many got something new.
        sounds: how many sounds came.
        conflicts: all that are open afterwards.
        troubles: what could not be brought, one sentence each; the rest was.
    """

    sessions: int = 0
    animals: int = 0
    records: int = 0
    sounds: int = 0
    conflicts: tuple[Conflict, ...] = ()
    troubles: list[str] = field(default_factory=list)

    @property
    def is_nothing_new(self) -> bool:
        """Whether the store had all of it already."""
        return not (self.sessions or self.animals or self.records or self.sounds)


def merge(db: Database, path: Path, other: Path) -> Merged:
    """Brings what another store has into this one.

    Args:
        db: this store, open for writing.
        path: its file.
        other: the other store's file; it is read only.

    Raises:
        BadStore: the other store cannot be read, or this one cannot be written; nothing has changed then.
    """
    with faults_told(other):
        if other.exists() and path.samefile(other):
            raise BadStore(f"{other} is this store itself. Name the other machine's store.")
    theirs = connected(other, read_only=True)
    merged = Merged()
    try:
        with (
            sound_bringing.copied(db, theirs, (path, other), merged.troubles) as sounds,
            writing(db, path),
            faults_told(other),
            _unguarded(db),
        ):
            found = _sessions(db, theirs, merged)
            of_animals, merged.animals = _versions(db, theirs, _ANIMALS, merged)
            _refuse_twins(db, other)
            of_records, merged.records = _versions(db, theirs, _RECORDS, merged)
            sound_bringing.add(db, sounds)
            merged.sounds = len(sounds)
            if not merged.is_nothing_new:
                _in_order(db)
                rebuild(db)
            found += [*of_animals, *of_records, *conflict.conflicts(theirs), *conflict.corrected_twice(db)]
            conflict.keep(db, found)
            merged.conflicts = tuple(one for one in conflict.conflicts(db) if not one.is_settled)
        sweep(db, path)
    except (ValueError, KeyError, TypeError) as error:
        raise BadStore(f"{other} has a record that cannot be read ({error}). Check that store first.") from error
    finally:
        theirs.close()
    return merged


@contextmanager
def _unguarded(db: Database) -> Iterator[None]:
    """Lets rows be put in another order, inside the transaction that is open; afterwards the guards are as before."""
    held = [(name, sql) for table, key in JOURNAL.items() for name, sql in guards(table, key).items()]
    for name, _ in held:
        db.execute(f"DROP TRIGGER IF EXISTS {name}")
    yield
    for _, sql in held:
        db.execute(sql)


# ------------------------------------------------------------------------------------------------------- sessions


def _sessions(db: Database, theirs: Database, merged: Merged) -> list[Conflict]:
    found: list[Conflict] = []
    for (session,) in theirs.execute("SELECT session FROM event GROUP BY session ORDER BY min(number)").fetchall():
        other, ours = _events(theirs, session), _events(db, session)
        if other is None or ours is None:
            where = "the other" if other is None else "this"
            merged.troubles.append(f"Session {session} is damaged in {where} store; nothing of it was brought.")
            continue
        both = joined(ours, other, event_times)
        clashes = [*conflict.of_session(session, both.ours, both.theirs)]
        rows = _one_entry_an_id(both.rows, clashes)
        found += clashes
        if rows != tuple(ours):
            merged.sessions += 1
            _replace_events(db, session, ours, rows)
    return found


def _events(db: Database, session: str) -> list[EventRow] | None:
    """Type and content of a session's events; None if one of them was changed or is missing."""
    rows = db.execute(
        "SELECT version, type, payload, digest FROM event WHERE session = ? ORDER BY version", (session,)
    ).fetchall()
    is_whole = all(
        version == n and digest(session, version, name, payload) == kept
        for n, (version, name, payload, kept) in enumerate(rows, 1)
    )
    return [(name, payload) for _, name, payload, _ in rows] if is_whole else None


def _one_entry_an_id(rows: tuple[EventRow, ...], clashes: Sequence[Conflict]) -> tuple[EventRow, ...]:
    """Of two entries with one id, as when two machines understood one sound differently, one; the conflict has both."""
    lost = {side for one in clashes if one.kind is ConflictKind.ENTRY for side in one.sides[1:]}
    return tuple(row for row in rows if conflict.entry_text(row) not in lost) if lost else rows


def _replace_events(db: Database, session: str, ours: Sequence[EventRow], rows: Sequence[EventRow]) -> None:
    n = _n_same(ours, rows)
    db.execute("DELETE FROM event WHERE session = ? AND version > ?", (session, n))
    for version, (name, payload) in enumerate(rows[n:], n + 1):
        db.execute(
            "INSERT INTO event (session, version, type, payload, digest) VALUES (?, ?, ?, ?, ?)",
            (session, version, name, payload, digest(session, version, name, payload)),
        )


def _in_order(db: Database) -> None:
    """Gives events numbers in the order of their sessions' beginning, as if one machine had recorded them all."""
    began = {
        session: (seconds(time), session)
        for session, time in db.execute("SELECT session, payload ->> 'time' FROM event WHERE version = 1").fetchall()
    }
    rows = db.execute("SELECT number, session, version FROM event").fetchall()
    rows.sort(key=lambda row: (began.get(row[1], (float("inf"), row[1])), row[2]))
    moved = [(number, place) for place, (number, *_) in enumerate(rows, 1) if number != place]
    db.conn.executemany("UPDATE event SET number = ? WHERE number = ?", [(-place, number) for number, place in moved])
    db.conn.executemany("UPDATE event SET number = -number WHERE number = ?", [(-place,) for _, place in moved])


# ---------------------------------------------------------------------------------------------- animals and books


@dataclass(frozen=True)
class _Book:
    """A table of versions: the column of its key, and columns that all versions of a thing share."""

    key: str
    kind: ConflictKind
    shared: tuple[str, ...] = ()

    @property
    def table(self) -> str:
        return f"{self.key}_version"


_ANIMALS = _Book("animal", ConflictKind.ANIMAL)
_RECORDS = _Book("record", ConflictKind.RECORD, ("kind",))

Shared = tuple[str, ...]


def _versions(db: Database, theirs: Database, book: _Book, merged: Merged) -> tuple[list[Conflict], int]:
    """Animals or records with all their versions, the last saved holds; gives conflicts and how many got something."""
    found, n_changed = [], 0
    for key in _keys(theirs, book):
        shared, other = _history(theirs, book, key)
        known, ours = _history(db, book, key)
        if other is None or ours is None:
            where = "the other" if other is None else "this"
            merged.troubles.append(f"{book.key.capitalize()} {key} is damaged in {where} store; nothing was brought.")
            continue
        for _, payload in set(other).difference(ours):
            _refuse_odd(book, key, shared, payload)
        both = joined(ours, other, version_times)
        is_told = shared != (REMOVED,)
        if is_told and both.ours and both.ours[-1][1] != both.theirs[-1][1]:
            found.append(Conflict(book.kind, key, tuple(sorted((both.ours[-1][1], both.theirs[-1][1])))))
        if both.rows != tuple(ours):
            n_changed += 1
            _replace_versions(db, book, (key, known or shared), ours, both.rows)
    return found, n_changed


def _refuse_odd(book: _Book, key: str, shared: Shared, payload: str) -> None:
    """Refuses a version that is none of its book: every list with it would break, and no session could begin.

    Raises:
        ValueError: a value is none of its kind, or the version is of another animal or record.
    """
    flat = json.loads(payload)
    if book is _ANIMALS:
        held: object = made(Animal, flat).id
    elif shared == (REMOVED,):
        held = key if all(isinstance(flat[name], str) for name in REMOVAL_KEYS) else None
    else:
        held = record_from_flat(shared[0], flat).id if shared[0] in BOOKS else key
    if held != key:
        raise ValueError(f"the {book.key} {key} is not told rightly")


def _refuse_twins(db: Database, other: Path) -> None:
    """Refuses animals that share a tag under two ids: which of the two an entry is about could not be said any more."""
    # With a second aggregate beside max, SQLite would give the payload of any version, not of the last.
    rows = db.execute("SELECT payload, max(version) FROM animal_version GROUP BY animal")
    known: dict[tuple[str, str], Animal] = {}
    for payload, _ in rows.fetchall():
        animal = animal_from_flat(json.loads(payload))
        for what, code in (("tag", animal.tag), ("electronic code", animal.electronic)):
            twin = known.setdefault((what, compact(code)), animal) if code else animal
            if twin is not animal:
                raise BadStore(
                    f"{called(twin)} and {called(animal)} have the same {what} {code}, but are two animals for the "
                    f"stores {other.name} and yours. Correct it in one of them and merge again; nothing was brought."
                )


def _keys(db: Database, book: _Book) -> list[str]:
    """Ids in the order of their first version; conflicts are left out, they come together in a way of their own."""
    clause = f"WHERE kind <> '{conflict.BOOK}'" if book.shared else ""
    rows = db.execute(f"SELECT {book.key} FROM {book.table} {clause} GROUP BY {book.key} ORDER BY min(number)")
    return [key for (key,) in rows.fetchall()]


def _history(db: Database, book: _Book, key: str) -> tuple[Shared, list[VersionRow] | None]:
    """What the versions share, and when each was saved and what it says; None if one was changed or is missing."""
    columns = ", ".join(("version", *book.shared, "saved", "payload", "digest"))
    rows = db.execute(f"SELECT {columns} FROM {book.table} WHERE {book.key} = ? ORDER BY version", (key,)).fetchall()
    is_whole = all(row[0] == n and digest(key, *row[:-1]) == row[-1] for n, row in enumerate(rows, 1))
    shared = tuple(rows[0][1:-3]) if rows else ()
    return shared, [(row[-3], row[-2]) for row in rows] if is_whole else None


def _replace_versions(
    db: Database, book: _Book, key: tuple[str, Shared], ours: Sequence[VersionRow], rows: Sequence[VersionRow]
) -> None:
    n = _n_same(ours, rows)
    name, shared = key
    db.execute(f"DELETE FROM {book.table} WHERE {book.key} = ? AND version > ?", (name, n))
    columns = (book.key, "version", *book.shared, "saved", "payload", "digest")
    sql = f"INSERT INTO {book.table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"
    for version, (saved, payload) in enumerate(rows[n:], n + 1):
        values = (name, version, *shared, saved, payload)
        db.execute(sql, (*values, digest(*values)))


def _n_same(ours: Sequence[object], rows: Sequence[object]) -> int:
    """How many rows at the beginning stay as they are."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(ours, rows, strict=False)))

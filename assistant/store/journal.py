"""Adding to the append-only tables, and reading back exactly what was added."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sqlite_utils import Database

from assistant.errors import BadStore
from assistant.session.events import TYPE
from assistant.store.projection import dumped, project


def digest(*values: object) -> str:
    """SHA-256 over values as text, so that a changed byte in a row is seen."""
    return hashlib.sha256("\n".join(map(str, values)).encode("utf-8", "surrogatepass")).hexdigest()


def version(db: Database, session: str) -> int:
    """How many events a session has; 0 if it has not begun."""
    (last,) = db.execute("SELECT coalesce(max(version), 0) FROM event WHERE session = ?", (session,)).fetchone()
    return int(last)


def add_events(db: Database, session: str, expected_version: int, events: Sequence[Mapping[str, Any]]) -> int:
    """Adds events to a session, inside the transaction that is open.

    Returns:
        The session's version with them.

    Raises:
        BadStore: another writer was quicker, the session has not begun or has begun already, or an event is not whole.
    """
    held = version(db, session)
    if held != expected_version:
        raise BadStore(
            f"Session {session} has {held} events, not {expected_version}: another program is recording it too. "
            "Close one of them, and open the session again."
        )
    for flat in events:
        name = flat.get(TYPE)
        if not isinstance(name, str):
            raise BadStore(f"An event for session {session} has no {TYPE!r}. Nothing of it was kept.")
        if (name == "Started") != (held == 0):
            raise BadStore(f"Session {session} has {'not begun' if held == 0 else 'begun already'}: no {name} here.")
        held += 1
        _add_event(db, session, held, name, {key: value for key, value in flat.items() if key != TYPE})
    return held


def _add_event(db: Database, session: str, at: int, name: str, payload: Mapping[str, Any]) -> None:
    try:
        text = dumped(payload)
        number = db.execute(
            "INSERT INTO event (session, version, type, payload, digest) VALUES (?, ?, ?, ?, ?)",
            (session, at, name, text, digest(session, at, name, text)),
        ).lastrowid
        project(db, int(number or 0), session, name, json.loads(text))
    except (ValueError, KeyError, AttributeError, OverflowError) as error:
        raise BadStore(
            f"Event {at} of session {session} ({name}) cannot be kept: {error}. Nothing of the remark was recorded; "
            "its sound is kept."
        ) from error


def events(db: Database, session: str) -> Iterator[dict[str, Any]]:
    """The events of a session in order, as they were added."""
    rows = db.execute("SELECT type, payload FROM event WHERE session = ? ORDER BY version", (session,))
    for name, payload in rows:
        yield {TYPE: name, **json.loads(payload)}


def add_animal(db: Database, animal: str, payload: str, saved: str | None) -> int:
    """Adds a version of an animal, inside the transaction that is open; gives its place in the order of all."""
    (last,) = db.execute("SELECT coalesce(max(version), 0) FROM animal_version WHERE animal = ?", (animal,)).fetchone()
    number = db.execute(
        "INSERT INTO animal_version (animal, version, saved, payload, digest) VALUES (?, ?, ?, ?, ?)",
        (animal, last + 1, saved, payload, digest(animal, last + 1, saved, payload)),
    ).lastrowid
    return int(number or 0)


def add_record(db: Database, record: str, kind: str, payload: str, saved: str | None) -> int:
    """Adds a version of a record in the holding's books, inside the transaction that is open; gives its place."""
    (last,) = db.execute("SELECT coalesce(max(version), 0) FROM record_version WHERE record = ?", (record,)).fetchone()
    number = db.execute(
        "INSERT INTO record_version (record, version, kind, saved, payload, digest) VALUES (?, ?, ?, ?, ?, ?)",
        (record, last + 1, kind, saved, payload, digest(record, last + 1, kind, saved, payload)),
    ).lastrowid
    return int(number or 0)

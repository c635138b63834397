"""Tables for reading fast, made from the append-only ones: sessions, remarks, entries, animals, books."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from sqlite_utils import Database

from assistant.session.events import (
    EVENT_TYPES,
    EntryMade,
    EntrySuperseded,
    Finished,
    Said,
    Started,
    event_from_flat,
    event_to_flat,
)
from assistant.values import Entry, FollowUpPart, MeasurePart, State
from assistant.values.book import is_likely

PROJECTIONS: Mapping[str, str] = {
    "session": """
CREATE TABLE session (
    id TEXT PRIMARY KEY,
    number INTEGER NOT NULL UNIQUE,
    started TEXT NOT NULL,
    ended TEXT,
    planned TEXT NOT NULL CHECK (json_valid(planned)),
    by TEXT NOT NULL,
    source TEXT NOT NULL
) STRICT, WITHOUT ROWID
""",
    "remark": """
CREATE TABLE remark (
    id TEXT PRIMARY KEY,
    number INTEGER NOT NULL,
    session TEXT NOT NULL REFERENCES session (id),
    time TEXT NOT NULL,
    words TEXT NOT NULL,
    audio TEXT NOT NULL,
    payload TEXT NOT NULL CHECK (json_valid(payload))
) STRICT, WITHOUT ROWID
""",
    "remark_of_session": "CREATE INDEX remark_of_session ON remark (session, number)",
    "entry": """
CREATE TABLE entry (
    number INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    session TEXT NOT NULL REFERENCES session (id),
    animal TEXT NOT NULL,
    time TEXT NOT NULL,
    day TEXT NOT NULL,
    kind TEXT NOT NULL,
    what TEXT NOT NULL,
    place TEXT,
    part TEXT,
    grade TEXT,
    value REAL,
    days INTEGER,
    due TEXT GENERATED ALWAYS AS (date(day, days || ' days')) VIRTUAL,
    medicine TEXT,
    flat TEXT NOT NULL CHECK (json_valid(flat)),
    state TEXT NOT NULL,
    remark TEXT NOT NULL,
    by TEXT NOT NULL,
    supersedes TEXT REFERENCES entry (id),
    is_live INTEGER NOT NULL CHECK (is_live IN (0, 1))
) STRICT
""",
    "entry_of_session": "CREATE INDEX entry_of_session ON entry (session, number)",
    "entry_of_animal": "CREATE INDEX entry_of_animal ON entry (animal, kind, what, day)",
    "entry_superseding": "CREATE INDEX entry_superseding ON entry (supersedes) WHERE supersedes IS NOT NULL",
    "entry_live": "CREATE INDEX entry_live ON entry (kind, what, place, grade, day) WHERE is_live",
    "entry_last": "CREATE INDEX entry_last ON entry (kind, what, day, number, animal, value) WHERE is_live",
    "entry_due": "CREATE INDEX entry_due ON entry (due) WHERE is_live AND kind = 'follow_up'",
    "entry_treatment": "CREATE INDEX entry_treatment ON entry (animal) WHERE is_live AND medicine IS NOT NULL",
    "entry_foot": "CREATE INDEX entry_foot ON entry (day, session, kind, what, place, animal) "
    "WHERE is_live AND kind IN ('finding', 'action')",
    "animal": """
CREATE TABLE animal (
    id TEXT PRIMARY KEY,
    number INTEGER NOT NULL,
    payload TEXT NOT NULL CHECK (json_valid(payload)),
    tag TEXT NOT NULL,
    management TEXT NOT NULL,
    name TEXT NOT NULL,
    electronic TEXT NOT NULL,
    nicknames TEXT NOT NULL,
    past_tags TEXT NOT NULL,
    species TEXT NOT NULL,
    sex TEXT NOT NULL,
    born TEXT,
    dam TEXT NOT NULL,
    sire TEXT NOT NULL,
    herd_group TEXT NOT NULL,
    status TEXT NOT NULL,
    due TEXT
) STRICT, WITHOUT ROWID
""",
    "animal_head": "CREATE INDEX animal_head ON animal (number, id, tag, management, name, electronic, nicknames, "
    "past_tags, species, sex, born, dam, sire, herd_group, status, due)",
    "record": """
CREATE TABLE record (
    id TEXT PRIMARY KEY,
    number INTEGER NOT NULL,
    kind TEXT NOT NULL,
    payload TEXT NOT NULL CHECK (json_valid(payload))
) STRICT, WITHOUT ROWID
""",
    "follow_up": """
CREATE VIEW follow_up AS
SELECT number, id AS entry, session, animal, what, day AS said, due
FROM entry WHERE is_live AND kind = 'follow_up'
""",
    "treatment": """
CREATE VIEW treatment AS
SELECT number, id AS entry, session, animal, day, place, what AS action, medicine
FROM entry WHERE is_live AND medicine IS NOT NULL
""",
}
"""Name → SQL, in the order of making. Follow-ups and treatments are views: they cannot fall behind the entries."""

_DROPS = (
    "DROP VIEW IF EXISTS treatment",
    "DROP VIEW IF EXISTS follow_up",
    "DROP TABLE IF EXISTS record",
    "DROP TABLE IF EXISTS animal",
    "DROP TABLE IF EXISTS entry",
    "DROP TABLE IF EXISTS remark",
    "DROP TABLE IF EXISTS session",
)

TABLES = ("session", "remark", "entry", "animal", "record")

_TEXTS = ("place", "part", "grade", "medicine")

_KINDS = ("finding", "action", "measure", "follow_up", "trait", "mark", "tag")

_ADD_ENTRY = """
INSERT INTO entry (number, id, session, animal, time, day, kind, what, place, part, grade, value, days, medicine, flat,
    state, remark, by, supersedes, is_live)
VALUES (:number, :id, :session, :animal, :time, :day, :kind, :what, :place, :part, :grade, :value, :days, :medicine,
    :flat, :state, :remark, :by, :supersedes, :is_live)
"""

_ADD_REMARK = """
INSERT INTO remark (id, number, session, time, words, audio, payload)
VALUES (:id, :number, :session, :time, :words, :audio, :payload)
ON CONFLICT (id) DO UPDATE SET words = excluded.words, audio = excluded.audio, payload = excluded.payload
"""

_ADD_SESSION = """
INSERT INTO session (id, number, started, planned, by, source)
VALUES (:id, :number, :started, :planned, :by, :source)
"""

_OF_ANIMAL = {"management": "number", "herd_group": "group"} | {
    name: name
    for name in (
        *("tag", "name", "electronic", "nicknames", "past_tags", "species", "sex"),
        *("born", "dam", "sire", "status", "due"),
    )
}
"""Column of the table of animals → key of the payload."""

HEAD_COLUMNS = ", ".join(_OF_ANIMAL)
HEAD_VALUES = ", ".join(f"payload ->> '{key}'" for key in _OF_ANIMAL.values())

_ADD_ANIMAL = f"""
INSERT OR REPLACE INTO animal (id, number, payload, {HEAD_COLUMNS})
SELECT id, coalesce((SELECT number FROM animal WHERE animal.id = new.id), number), payload, {HEAD_VALUES}
FROM (SELECT :id AS id, :number AS number, :payload AS payload) AS new
"""


def dumped(value: Any) -> str:
    """JSON as it is kept: one line, letters as they are, numbers that JSON knows.

    Raises:
        ValueError: a number is not finite, or a value has no form in JSON.
    """
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    except TypeError as error:
        raise ValueError(str(error)) from error


def project(db: Database, number: int, session: str, name: str, payload: Mapping[str, Any]) -> None:
    """Brings the projections up to one more event.

    Args:
        db: with a transaction open.
        number: the event's place in the order of all events.
        session: whose event it is.
        name: its type; a type that no session knows changes nothing.
        payload: its content.

    Raises:
        ValueError: the content does not fit the type.
        OverflowError: a whole number in it has more than 64 bits.
    """
    if name not in EVENT_TYPES:
        return
    match event_from_flat(name, payload):
        case Started() as event:
            db.execute(
                _ADD_SESSION,
                {
                    "id": session,
                    "number": number,
                    "started": event.time.isoformat(),
                    "planned": dumped(event.planned),
                    "by": event.by,
                    "source": event.source,
                },
            )
        case Finished() as event:
            db.execute("UPDATE session SET ended = ? WHERE id = ?", (event.time.isoformat(), session))
        case Said(remark=remark):
            flat = event_to_flat(Said(remark))[1]["remark"]
            columns = {key: flat[key] for key in ("id", "time", "words", "audio")}
            db.execute(_ADD_REMARK, {**columns, "number": number, "session": session, "payload": dumped(flat)})
        case EntryMade(entry=entry):
            db.execute(_ADD_ENTRY, _entry_row(number, session, entry))
        case EntrySuperseded(entry=entry, old=old):
            db.execute(_ADD_ENTRY, _entry_row(number, session, entry))
            db.execute("UPDATE entry SET is_live = 0 WHERE id = ?", (old,))


def _entry_row(number: int, session: str, entry: Entry) -> dict[str, Any]:
    flat = entry.part.flat()
    kind = next((key for key in _KINDS if key in flat), None)
    if kind is None:
        raise ValueError(f"an entry cannot hold {type(entry.part).__name__}")
    _refuse_odd(entry, flat, kind)
    return {
        "number": number,
        "id": entry.id,
        "session": session,
        "animal": entry.animal,
        "time": entry.time.isoformat(),
        "day": entry.time.date().isoformat(),
        "kind": kind,
        "what": flat[kind],
        **{key: flat.get(key) for key in _TEXTS},
        "value": float(entry.part.value) if isinstance(entry.part, MeasurePart) else None,
        "days": entry.part.days if isinstance(entry.part, FollowUpPart) else None,
        "flat": dumped(flat),
        "state": str(entry.state),
        "remark": entry.remark,
        "by": entry.by,
        "supersedes": entry.supersedes,
        "is_live": int(entry.state is not State.WITHDRAWN),
    }


def _refuse_odd(entry: Entry, flat: Mapping[str, Any], kind: str) -> None:
    """Refuses a part with values of other types than its own, and a day that no calendar has: no list could show it."""
    part = entry.part
    texts = (flat[kind], *(flat[key] for key in _TEXTS if key in flat))
    is_whole = all(isinstance(text, str) for text in texts)
    if isinstance(part, MeasurePart):
        is_whole = is_whole and type(part.value) in (int, float)
    elif isinstance(part, FollowUpPart):
        is_whole = is_whole and type(part.days) in (int, type(None))
    if not is_whole:
        raise ValueError(f"an entry cannot hold {dumped(flat)}")
    day = entry.time.date()
    if not is_likely(day):
        raise ValueError(f"{day} is no day of a herd of today; check the clock of the machine")
    if isinstance(part, FollowUpPart) and part.days is not None:
        try:
            day + timedelta(days=part.days)
        except OverflowError as error:
            raise ValueError(f"{part.days} days after {day} is no day") from error


def project_animal(db: Database, number: int, animal: str, payload: str) -> None:
    """Makes a version of an animal the one that holds now; its place stays that of its first version."""
    db.execute(_ADD_ANIMAL, {"id": animal, "number": number, "payload": payload})


def project_record(db: Database, number: int, record: str, kind: str, payload: str) -> None:
    """Makes a version of a record in the holding's books the one that holds now."""
    db.execute(
        "INSERT INTO record (id, number, kind, payload) VALUES (?, ?, ?, ?) "
        "ON CONFLICT (id) DO UPDATE SET payload = excluded.payload",
        (record, number, kind, payload),
    )


def rebuild(db: Database) -> None:
    """Drops every projection and makes it again from the append-only tables, inside the transaction that is open."""
    for sql in (*_DROPS, *PROJECTIONS.values()):
        db.execute(sql)
    for number, session, name, payload in db.execute(
        "SELECT number, session, type, payload FROM event ORDER BY number"
    ):
        project(db, number, session, name, json.loads(payload))
    for number, animal, payload in db.execute("SELECT number, animal, payload FROM animal_version ORDER BY number"):
        project_animal(db, number, animal, payload)
    for number, record, kind, payload in db.execute(
        "SELECT number, record, kind, payload FROM record_version ORDER BY number"
    ):
        project_record(db, number, record, kind, payload)

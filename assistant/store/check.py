"""Looking for damage: in the file, in the append-only tables, in the projections and in the folder of sounds."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

from sqlite_utils import Database

from assistant.errors import BadAudio
from assistant.store import sound_file
from assistant.store.journal import digest
from assistant.store.projection import TABLES, rebuild
from assistant.store.retention import removed
from assistant.store.schema import JOURNAL, guards


def problems(db: Database, sounds: Path) -> Iterator[str]:
    """What is wrong, one sentence each; nothing if all is well. Changes nothing."""
    damage = [text for (text,) in db.execute("PRAGMA integrity_check") if text != "ok"]
    yield from (f"The file is damaged: {text.strip()}." for text in damage)
    yield from _guards_missing(db)
    yield from _rows_changed(db)
    if not damage:
        yield from _projections_behind(db)
    yield from _sounds_lost(db, sounds)
    yield from _sounds_unknown(db, sounds)


def _guards_missing(db: Database) -> Iterator[str]:
    held = dict(db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall())
    for table, key in JOURNAL.items():
        for name, sql in guards(table, key).items():
            if held.get(name) != sql:
                yield f"The table {table} is no longer guarded: its trigger {name} is missing or was changed."


def _rows_changed(db: Database) -> Iterator[str]:
    for session, version, name, payload, kept in db.execute(
        "SELECT session, version, type, payload, digest FROM event ORDER BY number"
    ):
        if digest(session, version, name, payload) != kept:
            yield f"Event {version} of session {session} was changed after it was kept."
    for animal, version, saved, payload, kept in db.execute(
        "SELECT animal, version, saved, payload, digest FROM animal_version ORDER BY number"
    ):
        if digest(animal, version, saved, payload) != kept:
            yield f"Version {version} of animal {animal} was changed after it was kept."
    for record, version, kind, saved, payload, kept in db.execute(
        "SELECT record, version, kind, saved, payload, digest FROM record_version ORDER BY number"
    ):
        if digest(record, version, kind, saved, payload) != kept:
            yield f"Version {version} of record {record} was changed after it was kept."
    gaps = "SELECT {0}, count(*), max(version) FROM {1} GROUP BY {0} HAVING count(*) <> max(version)"
    for column, table in (("session", "event"), ("animal", "animal_version"), ("record", "record_version")):
        for key, n, last in db.execute(gaps.format(column, table)):
            yield f"{column.capitalize()} {key} has lost {last - n} of its {last} records in {table}."


def _projections_behind(db: Database) -> Iterator[str]:
    """Compares each projection with one made anew in a private copy of the store."""
    copy = sqlite3.connect("", isolation_level=None)
    try:
        db.conn.backup(copy)
        again = Database(copy, execute_plugins=False)
        with again.atomic():
            rebuild(again)
        for table in TABLES:
            sql = f"SELECT * FROM {table} ORDER BY id"
            if any(a != b for a, b in zip(db.execute(sql), again.execute(sql), strict=False)) or _n(db, table) != _n(
                again, table
            ):
                yield f"The table {table} does not agree with the events. Make it again as docs/store.md says."
    except (ValueError, sqlite3.Error) as error:
        yield f"The tables for reading cannot be made from the events: {error}."
    finally:
        copy.close()


def _n(db: Database, table: str) -> int:
    return int(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def _sounds_lost(db: Database, folder: Path) -> Iterator[str]:
    gone = removed(db)
    for remark, file, sha256 in db.execute("SELECT remark, file, sha256 FROM sound ORDER BY number"):
        if remark in gone:
            if (folder / file).exists():
                yield f"The sound {file} was to be removed on {gone[remark]}; it is still there."
            continue
        try:
            content = (folder / file).read_bytes()
        except OSError as error:
            yield f"The sound {file} of remark {remark} cannot be read: {error.strerror or error}."
            continue
        if sound_file.sha256(content) != sha256:
            yield f"The sound {file} of remark {remark} was changed after it was kept."


def _sounds_unknown(db: Database, folder: Path) -> Iterator[str]:
    known = {file for (file,) in db.execute("SELECT file FROM sound")}
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.name.endswith(sound_file.PART):
            yield f"{path.name} is the beginning of a sound whose writing was cut off."
        elif path.name not in known:
            try:
                sound_file.decoded(path.read_bytes())
            except (BadAudio, OSError):
                yield f"{path.name} is in the folder of sounds, but is no sound that can be read."
            else:
                yield f"{path.name} is in the folder of sounds, but belongs to no remark."

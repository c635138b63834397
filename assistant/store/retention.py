"""Taking sounds away for good: after the time that the keeper sets, or because a person asks for it.

What was understood stays; only the sound goes. That it went, when and why, is on record, so that its absence is no
damage, and a merge does not bring it back.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlite_utils import Database

from assistant.store import journal, sound_file
from assistant.store.connection import writing
from assistant.store.fault import faults_told
from assistant.store.projection import dumped, project_record

BOOK = "removed sound"
"""Kind under which removals are kept among the records of the books."""

REMOVAL_KEYS = ("remark", "file", "day", "reason")
"""What a removal tells, all of it as text."""

_NAMESPACE = uuid.UUID("2b1d5f60-5f0e-4c6f-9a53-6a0c5f0b7c11")


@dataclass(frozen=True)
class KeptSound:
    """A sound that is still there.

    Attributes:
        is_needed: the remark is not understood yet, or waits for a decision; its words are nowhere else.
        size: bytes; 0 if the file is missing.
    """

    remark: str
    session: str
    time: datetime
    by: str
    file: str
    size: int
    is_needed: bool


def removed(db: Database) -> dict[str, str]:
    """Remark → day and reason of the removal of its sound."""
    rows = db.execute("SELECT payload FROM record WHERE kind = ?", (BOOK,)).fetchall()
    told = (json.loads(payload) for (payload,) in rows)
    return {one["remark"]: f"{one['day']}, {one['reason']}" for one in told}


def kept_sounds(db: Database, folder: Path, needed: Iterable[str] = ()) -> tuple[KeptSound, ...]:
    """Sounds that were not removed, oldest first.

    Args:
        db: the store.
        folder: of its sounds.
        needed: remarks that wait for a decision.
    """
    gone, waiting = removed(db), set(needed)
    waiting |= {
        remark
        for (remark,) in db.execute(
            "SELECT sound.remark FROM sound LEFT JOIN remark ON remark.id = sound.remark WHERE remark.id IS NULL"
        )
    }
    rows = db.execute("SELECT remark, session, time, by, file FROM sound ORDER BY number").fetchall()
    found = [
        KeptSound(remark, session, datetime.fromisoformat(time), by, file, _size(folder / file), remark in waiting)
        for remark, session, time, by, file in rows
        if remark not in gone
    ]
    return tuple(sorted(found, key=lambda one: one.time))


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


def remove(db: Database, store: Path, sounds: Sequence[KeptSound], reason: str, now: datetime) -> None:
    """Removes sounds: on record first, then from the disk.

    A program that is killed in between loses track of nothing; `sweep` takes away what it left.

    Raises:
        BadStore: the store cannot be written, or a file cannot be removed.
    """
    with writing(db, store):
        for one in sounds:
            told = {"remark": one.remark, "file": one.file, "day": now.date().isoformat(), "reason": reason}
            key, payload = str(uuid.uuid5(_NAMESPACE, one.remark)), dumped(told)
            number = journal.add_record(db, key, BOOK, payload, now.isoformat())
            project_record(db, number, key, BOOK, payload)
    sweep(db, store)


def sweep(db: Database, store: Path) -> int:
    """Takes away files whose removal is on record; gives how many there were."""
    folder = sound_file.folder_of(store)
    n_removed = 0
    with faults_told(folder):
        for remark in removed(db):
            row = db.execute("SELECT file FROM sound WHERE remark = ?", (remark,)).fetchone()
            if row and sound_file.is_name(row[0], remark) and (folder / row[0]).exists():
                (folder / row[0]).unlink()
                n_removed += 1
        if n_removed:
            sound_file.sync_folder(folder)
    return n_removed

"""Sound first: a remark's sound is on the disk and on record before anything tries to understand it."""

from __future__ import annotations

import logging
import uuid
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from assistant.errors import BadAudio, BadStore
from assistant.store import sound_file
from assistant.store.connection import writing
from assistant.store.fault import faults_told
from assistant.store.retention import removed
from assistant.values import Sound

_log = logging.getLogger(__name__)

_ADD_SOUND = """
INSERT INTO sound (remark, session, time, by, file, sha256, start_s, end_s)
VALUES (:remark, :session, :time, :by, :file, :sha256, :start_s, :end_s)
"""


def keep(db: Database, store: Path, session: str, sound: Sound, time: datetime, by: str) -> str:
    """Writes the sound of a remark as a file and puts it on record as pending; gives the id of the remark.

    The file comes first and needs no database, so that a store that is full or held by another program costs no sound:
    `tidy` makes the record when the store is next opened.

    Raises:
        BadAudio: no samples, or samples that are not numbers.
        BadStore: the file or its record cannot be written; the message says which.
    """
    remark = str(uuid.uuid4())
    note: dict[str, str | float] = {"remark": remark, "session": session, "time": time.isoformat(), "by": by}
    note |= {"start_s": float(sound.start_s), "end_s": float(sound.end_s)}
    content = sound_file.encoded(sound, note)
    file = f"{remark}.flac"
    folder = sound_file.folder_of(store)
    with faults_told(folder):
        if not folder.is_dir():
            folder.mkdir(mode=0o700, exist_ok=True)
            sound_file.sync_folder(folder.parent)
        with sound_file.held(folder, alone=False):
            sound_file.write(folder, file, content)
            try:
                _record(db, store, {**note, "file": file, "sha256": sound_file.sha256(content)})
            except BadStore as error:
                raise BadStore(f"{error} The sound is safe in {folder / file}.") from error
    return remark


def _record(db: Database, store: Path, row: dict[str, Any]) -> None:
    with writing(db, store):
        db.execute(_ADD_SOUND, row)


def tidy(db: Database, store: Path) -> None:
    """Takes in whole sounds without a record and removes beginnings of sounds, as a killed program leaves them.

    Does nothing while another program keeps a sound.
    """
    folder = sound_file.folder_of(store)
    if not folder.is_dir():
        return
    with faults_told(folder), sound_file.held(folder, alone=True) as is_alone:
        if not is_alone:
            return
        known = {file for (file,) in db.execute("SELECT file FROM sound")}
        for path in sorted(folder.iterdir()):
            if path.name.endswith(sound_file.PART):
                _log.info("removed %s, the beginning of a sound whose writing was cut off", path.name)
                path.unlink()
            elif path.name not in known:
                _take_in(db, store, path)


def _take_in(db: Database, store: Path, path: Path) -> None:
    note: Mapping[str, str | float] | None
    try:
        content = path.read_bytes()
        note = sound_file.note_of(sound_file.decoded(content)[1])
    except (BadAudio, IsADirectoryError, PermissionError):
        return  # not ours, or torn: `check` reports it
    if note and path.name == f"{note['remark']}.flac":
        _record(db, store, {**note, "file": path.name, "sha256": sound_file.sha256(content)})
        _log.info("took in %s, whose record was missing", path.name)


def sound(db: Database, store: Path, remark: str) -> Sound:
    """The sound of a remark.

    Raises:
        BadStore: there is none, or it is not as it was kept.
    """
    content, start_s = _content(db, store, remark)
    return replace(sound_file.decoded(content)[0], start_s=start_s)


def flac(db: Database, store: Path, remark: str) -> bytes:
    """The sound of a remark as the FLAC file that it was kept in.

    Raises:
        BadStore: there is none, or it is not as it was kept.
    """
    return _content(db, store, remark)[0]


def _content(db: Database, store: Path, remark: str) -> tuple[bytes, float]:
    row = db.execute("SELECT file, sha256, start_s FROM sound WHERE remark = ?", (remark,)).fetchone()
    if row is None:
        raise BadStore(f"There is no sound of remark {remark} in {store}.")
    file, sha256, start_s = row
    if day := removed(db).get(remark):
        raise BadStore(f"The sound of remark {remark} was removed on {day}. What it was taken for is on record.")
    path = sound_file.folder_of(store) / file
    with faults_told(path):
        content = path.read_bytes()
    if sound_file.sha256(content) != sha256:
        raise BadStore(f"{path} was changed after it was kept. Copy it back from the last backup.")
    return content, start_s

"""The sounds of another store, copied before the merge that puts them on record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from assistant.store import sound_file
from assistant.store.fault import faults_told
from assistant.store.retention import removed

Row = Sequence[Any]

_SOUND = ("remark", "session", "time", "by", "file", "sha256", "start_s", "end_s")


def copied(db: Database, theirs: Database, paths: tuple[Path, Path], troubles: list[str]) -> list[Row]:
    """Copies the files of sounds that this store lacks; a file that is not whole is left out.

    Args:
        db: this store.
        theirs: the other store.
        paths: of this store's file and the other's.
        troubles: gets a sentence for each sound that is left out.

    Returns:
        Their rows, still to be put on record.
    """
    path, other = paths
    rows = theirs.execute(f"SELECT {', '.join(_SOUND)} FROM sound ORDER BY number").fetchall()
    known = dict(db.execute("SELECT remark, sha256 FROM sound").fetchall())
    gone = {**removed(theirs), **removed(db)}
    source, folder = sound_file.folder_of(other), sound_file.folder_of(path)
    brought = []
    for row in rows:
        remark, file, sha256 = row[0], row[4], row[5]
        if remark in known:
            if known[remark] != sha256:
                troubles.append(f"The sound of remark {remark} differs; the one of this store stays.")
            continue
        if not sound_file.is_name(file, remark):
            troubles.append(f"The sound {file} of the other store is not called as its remark is; it was left out.")
            continue
        if remark in gone:
            brought.append(row)  # that it was said comes, its sound stays away
            continue
        try:
            content = (source / file).read_bytes()
        except OSError as error:
            troubles.append(f"The sound {file} of the other store cannot be read: {error.strerror or error}.")
            continue
        if sound_file.sha256(content) != sha256:
            troubles.append(f"The sound {file} of the other store was changed after it was kept.")
            continue
        with faults_told(folder):
            folder.mkdir(mode=0o700, exist_ok=True)
            sound_file.write(folder, file, content)
        brought.append(row)
    return brought


def add(db: Database, rows: Sequence[Row]) -> None:
    """Puts copied sounds on record, inside the transaction that is open."""
    sql = f"INSERT INTO sound ({', '.join(_SOUND)}) VALUES ({', '.join('?' * len(_SOUND))})"
    for row in rows:
        db.execute(sql, tuple(row))


@contextmanager
def kept_if_well(path: Path, sounds: Sequence[Row]) -> Iterator[None]:
    """Takes the copied sounds away again if what follows fails, as their rows are not kept then."""
    try:
        yield
    except BaseException:
        for row in sounds:
            (sound_file.folder_of(path) / row[4]).unlink(missing_ok=True)
        raise

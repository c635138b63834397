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
_FILE = _SOUND.index("file")


@contextmanager
def copied(db: Database, theirs: Database, paths: tuple[Path, Path], troubles: list[str]) -> Iterator[list[Row]]:
    """Copies the files of sounds that this store lacks; a file that is not whole is left out.

    If the copying or what follows fails, the files go again, as their rows are not kept then.

    Args:
        db: this store.
        theirs: the other store.
        paths: of this store's file and the other's.
        troubles: gets a sentence for each sound that is left out.

    Yields:
        Their rows, still to be put on record.
    """
    path, other = paths
    folder = sound_file.folder_of(path)
    brought: list[Row] = []
    try:
        for row, content in _coming(db, theirs, sound_file.folder_of(other), troubles):
            if content is not None:
                with faults_told(folder):
                    folder.mkdir(mode=0o700, exist_ok=True)
                    sound_file.write(folder, row[_FILE], content)
            brought.append(row)
        yield brought
    except BaseException:
        for row in brought:
            (folder / row[_FILE]).unlink(missing_ok=True)
        raise


def _coming(db: Database, theirs: Database, source: Path, troubles: list[str]) -> Iterator[tuple[Row, bytes | None]]:
    """Rows that this store lacks, each with its sound; None if that was removed, for that it was said comes too."""
    rows = theirs.execute(f"SELECT {', '.join(_SOUND)} FROM sound ORDER BY number").fetchall()
    known = dict(db.execute("SELECT remark, sha256 FROM sound").fetchall())
    gone = {**removed(theirs), **removed(db)}
    for row in rows:
        remark, file, sha256 = row[0], row[_FILE], row[_FILE + 1]
        if remark in known:
            if known[remark] != sha256:
                troubles.append(f"The sound of remark {remark} differs; the one of this store stays.")
            continue
        if not sound_file.is_name(file, remark):
            troubles.append(f"The sound {file} of the other store is not called as its remark is; it was left out.")
            continue
        if remark in gone:
            yield row, None
            continue
        try:
            content = (source / file).read_bytes()
        except OSError as error:
            troubles.append(f"The sound {file} of the other store cannot be read: {error.strerror or error}.")
            continue
        if sound_file.sha256(content) != sha256:
            troubles.append(f"The sound {file} of the other store was changed after it was kept.")
            continue
        yield row, content


def add(db: Database, rows: Sequence[Row]) -> None:
    """Puts copied sounds on record, inside the transaction that is open."""
    sql = f"INSERT INTO sound ({', '.join(_SOUND)}) VALUES ({', '.join('?' * len(_SOUND))})"
    for row in rows:
        db.execute(sql, tuple(row))

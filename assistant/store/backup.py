"""One file with everything of a holding, checked when it is written and again when it is read: a ZIP with a list.

`list.json` in it names every other file with its SHA-256. The store is copied by SQLite's own backup while others may
use it, and looked through before it goes in.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sqlite3
import tempfile
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from sqlite_utils import Database

from assistant.errors import BadStore
from assistant.store import sound_file
from assistant.store.connection import connected
from assistant.store.fault import faults_told
from assistant.store.retention import removed

STORE, LIST, SOUND = "store.db", "list.json", "sound/"
_FORM = 1
_BLOCK, _LONGEST_LIST = 1 << 20, 1 << 28
"""Bytes that are copied at a time, and of a list longer than any: some two million sounds."""
_NAME = re.compile(r"(store\.db|settings\.toml|(sound|grammars)/[^/\\:\x00-\x1f]{1,200})")
"""Names that a backup may hold, so that none leads out of the folder that it is restored to."""


@dataclass
class Copied:
    """What went into a backup or came out of it.

    Attributes:
        path: the backup, or the restored store.
        sounds: how many sounds.
        size: of the backup in bytes.
        troubles: what could not be copied, one sentence each; the rest was.
    """

    path: Path
    sounds: int = 0
    size: int = 0
    troubles: list[str] = field(default_factory=list)


def back_up(db: Database, store: Path, target: Path, extras: Mapping[str, Path]) -> Copied:
    """Writes a backup; a file of that name is replaced only when the new one is whole.

    Args:
        db: the store, open.
        store: its file.
        target: the backup.
        extras: name in the backup → file, of settings and grammars; those that are not there are left out.

    Raises:
        BadStore: the store is damaged, or the backup cannot be written.
    """
    made = Copied(target)
    with faults_told(target):
        if target.exists() and (target.is_dir() or target.samefile(store)):
            raise BadStore(f"{target} is no place for a backup. Name a new file.")
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".backup-", dir=target.parent) as spare:
            copy, part = Path(spare) / STORE, Path(spare) / "backup.part"
            kept = _store_copy(db, store, copy)
            files = {STORE: copy, **{name: path for name, path in extras.items() if path.is_file()}}
            _write(part, files, dict(_sounds(db, store, kept, made)), made)
            made.size = part.stat().st_size
            part.replace(target)
            sound_file.sync_folder(target.parent)
    return made


def _store_copy(db: Database, store: Path, copy: Path) -> list[tuple[str, str, str]]:
    """Copies the store and looks it through; gives remark, file and kept sum of its sounds."""
    with closing(sqlite3.connect(copy)) as target:
        db.conn.backup(target)
        target.execute("PRAGMA journal_mode = DELETE")
        (result,) = target.execute("PRAGMA integrity_check(1)").fetchone()
        if result != "ok":
            raise BadStore(f"{store} is damaged ({result.strip()}); no backup was made of it. Keep the last one safe.")
        return target.execute("SELECT remark, file, sha256 FROM sound ORDER BY number").fetchall()


def _sounds(
    db: Database, store: Path, kept: Sequence[tuple[str, str, str]], made: Copied
) -> Iterator[tuple[str, Path]]:
    """Name in the backup → file, of the sounds that are as they were kept."""
    folder = sound_file.folder_of(store)
    gone = removed(db)
    for remark, file, sha256 in kept:
        path = folder / file
        if remark in gone:
            continue
        if not sound_file.is_name(file, remark):
            made.troubles.append(f"The sound {file} is not called as its remark is; it is not in the backup.")
        elif not path.is_file():
            made.troubles.append(f"The sound {file} is missing; it is not in the backup.")
        elif _sum(path) != sha256:
            made.troubles.append(f"The sound {file} was changed after it was kept; it is not in the backup.")
        else:
            made.sounds += 1
            yield f"{SOUND}{file}", path


def _write(part: Path, files: Mapping[str, Path], sounds: Mapping[str, Path], made: Copied) -> None:
    part.touch(mode=0o600)  # it holds voices: nobody but the owner is to read it
    with zipfile.ZipFile(part, "w", allowZip64=True) as archive:
        sums = {}
        for name, path in {**files, **sounds}.items():
            sums[name] = _sum(path)
            archive.write(path, name, zipfile.ZIP_STORED if name in sounds else zipfile.ZIP_DEFLATED)
        archive.writestr(LIST, json.dumps({"form": _FORM, "sha256": sums}, indent=1))
    with zipfile.ZipFile(part) as archive:
        if (bad := archive.testzip()) is not None:
            raise BadStore(f"{bad} was not written as it is to {made.path}. Check the disk.")
    with part.open("rb+") as written:
        os.fsync(written.fileno())


def restore(backup: Path, store: Path) -> Copied:
    """Takes a store with its sounds, settings and grammars out of a backup, to where there is none yet.

    Args:
        backup: the file.
        store: the store file to be made.

    Raises:
        BadStore: there is a store already, the file is no whole backup, or its store is damaged; nothing is made then.
    """
    made = Copied(store)
    if store.exists():
        raise BadStore(f"There is a store at {store} already. Name another place with --store, or merge the two there.")
    with faults_told(backup):
        try:
            with zipfile.ZipFile(backup) as archive:
                _unpack(archive, _list(archive, backup), backup, made)
        except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError) as error:
            raise BadStore(f"{backup} is no whole backup ({error}). Take an earlier one.") from error
    return made


def _list(archive: zipfile.ZipFile, backup: Path) -> dict[str, str]:
    try:
        if archive.getinfo(LIST).file_size > _LONGEST_LIST:
            raise BadStore(f"{backup} is no backup of this program: its list is longer than any.")
        told = json.loads(archive.read(LIST))
        sums = dict(told["sha256"])
    except (KeyError, ValueError, TypeError) as error:
        raise BadStore(f"{backup} is no backup of this program: its list is missing or cannot be read.") from error
    if told.get("form") != _FORM or not all(_NAME.fullmatch(name) for name in sums):
        raise BadStore(f"{backup} was written by a newer program, or its list was changed. Update the program.")
    if STORE not in sums:
        raise BadStore(f"{backup} holds no store.")
    return sums


def _unpack(archive: zipfile.ZipFile, sums: Mapping[str, str], backup: Path, made: Copied) -> None:
    """Everything goes into a folder of its own first; the store gets its name last."""
    store = made.path
    store.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    needed, room = sum(member.file_size for member in archive.infolist()), shutil.disk_usage(store.parent).free
    if needed > room:
        raise BadStore(f"{backup} needs {needed >> 20} MB, and {room >> 20} MB are free. Make room first.")
    with tempfile.TemporaryDirectory(prefix=".restore-", dir=store.parent) as spare:
        folder = Path(spare)
        for name, sha256 in sums.items():
            file = folder / name
            file.parent.mkdir(exist_ok=True)
            why = _take_out(archive, name, file)
            if why or _sum(file) != sha256:
                if name == STORE:
                    raise BadStore(f"The store in {backup} is damaged ({why or 'changed'}). Take an earlier backup.")
                made.troubles.append(f"{name} in the backup is damaged; it was left out.")
                file.unlink(missing_ok=True)
        connected(folder / STORE, read_only=True).close()
        _place(folder, store, made)


def _take_out(archive: zipfile.ZipFile, name: str, file: Path) -> str:
    """Writes a file of the archive, for its owner only; says what is wrong with it, nothing if it was all there."""
    file.touch(mode=0o600)
    try:
        with archive.open(name) as packed, file.open("wb") as plain:
            shutil.copyfileobj(packed, plain, _BLOCK)  # gives no more than the size that was checked
    except (KeyError, zipfile.BadZipFile, zlib.error) as error:
        return str(error)
    return ""


def _place(folder: Path, store: Path, made: Copied) -> None:
    sounds = sound_file.folder_of(store)
    for path in sorted((folder / "sound").glob("*")):
        sounds.mkdir(mode=0o700, exist_ok=True)
        path.replace(sounds / path.name)
        made.sounds += 1
    for path in (folder / "settings.toml", *sorted((folder / "grammars").glob("*"))):
        target = store.parent / path.relative_to(folder)
        if path.is_file() and target.exists():
            made.troubles.append(f"{target} is there already; that of the backup was left out.")
        elif path.is_file():
            target.parent.mkdir(exist_ok=True)
            path.replace(target)
    (folder / STORE).chmod(0o600)
    (folder / STORE).replace(store)
    sound_file.sync_folder(store.parent)


def _sum(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()

"""ZIP archives from elsewhere, unpacked so that they can do no harm."""

from __future__ import annotations

import hashlib
import shutil
import stat
import struct
import zipfile
import zlib
from pathlib import Path, PurePosixPath

from assistant.errors import BadModel

MOST_BYTES = 4 << 30
"""Larger than any model that can be held to a grammar."""
MOST_FILES = 1000
BLOCK = 1 << 20
DAMAGED = (zipfile.BadZipFile, zlib.error, struct.error, EOFError, IndexError, ValueError)
"""What the standard library's reader comes to in a damaged archive."""


def sha256_of(file: Path) -> str:
    """The SHA-256 of a file, in hexadecimal.

    Raises:
        BadModel: the file cannot be read.
    """
    try:
        with file.open("rb") as opened:
            return hashlib.file_digest(opened, "sha256").hexdigest()
    except OSError as error:
        raise BadModel(f"{file} cannot be read: {error.strerror or error}.") from error


def unpack(archive: Path, target: Path) -> None:
    """Unpacks an archive into a new folder.

    Raises:
        BadModel: it is no archive, damaged, locked, has names that lead elsewhere or links, unpacks to more than
            `MOST_BYTES` or `MOST_FILES`, or the disk is too full; part of it may be in the folder then.
    """
    try:
        with zipfile.ZipFile(archive) as opened:
            members = [member for member in opened.infolist() if not member.is_dir()]
            _check(archive, members)
            room = shutil.disk_usage(target.parent).free
            if (needed := sum(member.file_size for member in members)) > room:
                raise BadModel(f"{archive} needs {needed >> 20} MB, and {room >> 20} MB are free. Make room first.")
            for member in members:
                file = target.joinpath(*PurePosixPath(member.filename).parts)
                file.parent.mkdir(parents=True, exist_ok=True)
                with opened.open(member) as packed, file.open("wb") as plain:
                    shutil.copyfileobj(packed, plain, BLOCK)  # gives no more than the size that was checked
    except DAMAGED as error:
        raise BadModel(f"{archive} is no whole ZIP archive: {error}. Copy or fetch it again.") from error
    except (RuntimeError, NotImplementedError) as error:  # locked, or packed in a way that is unknown here
        raise BadModel(f"{archive} cannot be unpacked: {error}. Unpack it by hand and add the folder.") from error
    except OSError as error:
        raise BadModel(f"{archive} cannot be unpacked: {error.strerror or error}. Copy or fetch it again.") from error
    if not target.is_dir():
        raise BadModel(f"There is nothing in {archive}. Copy or fetch it again.")


def _check(archive: Path, members: list[zipfile.ZipInfo]) -> None:
    for member in members:
        path = PurePosixPath(member.filename)
        if path.is_absolute() or ".." in path.parts or "\\" in member.filename or ":" in member.filename:
            raise BadModel(f"{archive} has a file that would be put elsewhere: {member.filename!r}. Do not use it.")
        if stat.S_ISLNK(member.external_attr >> 16):
            raise BadModel(f"{archive} has a link: {member.filename!r}. Unpack it by hand and add the folder.")
    if len(members) > MOST_FILES or sum(member.file_size for member in members) > MOST_BYTES:
        raise BadModel(f"{archive} unpacks to more than any model: at most {MOST_FILES} files, {MOST_BYTES >> 30} GB.")

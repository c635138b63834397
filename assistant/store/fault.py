"""What SQLite and the disk complain of, as sentences that a keeper can act on."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from assistant.errors import BadStore

_ADVICE = {
    sqlite3.SQLITE_NOTADB: "{path} is not a store: it is not a database. Name the store file, or a new name.",
    sqlite3.SQLITE_CORRUPT: "{path} is damaged ({why}). Keep it as it is, and go on with a copy of the last backup.",
    sqlite3.SQLITE_FULL: "There is no room left for {path}. Free some space and try again; what was kept is safe.",
    sqlite3.SQLITE_BUSY: "{path} is held by another program. Close that program, or wait for it, and try again.",
    sqlite3.SQLITE_LOCKED: "{path} is held by another program. Close that program, or wait for it, and try again.",
    sqlite3.SQLITE_READONLY: "{path} may not be written to. Check who owns the file and its folder.",
    sqlite3.SQLITE_CANTOPEN: "{path} cannot be opened. Check that the folder exists and who may write to it.",
    sqlite3.SQLITE_PERM: "{path} may not be opened by this user. Check who owns the file and its folder.",
    sqlite3.SQLITE_IOERR: "The disk with {path} fails ({why}). Check the disk, and copy the file elsewhere.",
    sqlite3.SQLITE_CONSTRAINT: "{path} refuses this record ({why}). Nothing of it was kept, what was kept before is.",
}
"""Primary result code → sentence. Source: Result and Error Codes, sqlite.org/rescode.html."""

NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


def sentence(path: Path, error: sqlite3.Error | OSError | UnicodeError) -> str:
    """What went wrong with the file at `path`, and what to do."""
    if isinstance(error, OSError):
        if error.errno in NO_ROOM:
            return _ADVICE[sqlite3.SQLITE_FULL].format(path=path)
        return f"{path} cannot be used: {error.strerror or error}. Check the disk and who may write to the folder."
    code = getattr(error, "sqlite_errorcode", None)
    advice = _ADVICE.get(code & 0xFF) if code is not None else None
    return (advice or "{path} cannot be used: {why}.").format(path=path, why=str(error).rstrip("."))


@contextmanager
def faults_told(path: Path) -> Iterator[None]:
    """Turns what SQLite, the disk or the text encoding refuses inside the block into `BadStore`."""
    try:
        yield
    except (sqlite3.Error, OSError, UnicodeError) as error:
        raise BadStore(sentence(path, error)) from error

"""The keeper's own questions in SQL: one statement, on a connection that can change nothing."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from assistant.errors import BadStore
from assistant.store.connection import connected
from assistant.store.fault import faults_told

_READS = {sqlite3.SQLITE_SELECT, sqlite3.SQLITE_READ, sqlite3.SQLITE_FUNCTION, sqlite3.SQLITE_RECURSIVE}
_TELLING = {"table_info", "table_xinfo", "table_list", "index_list", "index_info", "foreign_key_list"}
"""Pragmas that only tell how a table is made."""


def answer(path: Path, sql: str) -> tuple[tuple[str, ...], Iterator[tuple[Any, ...]]]:
    """Names of the columns, and the rows, of one SELECT.

    Args:
        path: the store's file; it is opened for reading only.
        sql: one statement. Whatever would write, attach another file or load an extension is refused.

    Raises:
        BadStore: the store cannot be read, or the statement is wrong or not allowed.
    """
    db = connected(path, read_only=True)
    db.conn.set_authorizer(_allowed)
    try:
        cursor = db.conn.execute(sql)
    except (sqlite3.Error, sqlite3.Warning) as error:
        db.close()
        why = str(error).rstrip(".")
        raise BadStore(f"This is not answered: {why}. Only one SELECT on the tables of docs/store.md is.") from error
    if cursor.description is None:
        db.close()
        raise BadStore("There is no question in this. Write one SELECT.")
    return tuple(column[0] for column in cursor.description), _rows(path, cursor)


def _rows(path: Path, cursor: sqlite3.Cursor) -> Iterator[tuple[Any, ...]]:
    with faults_told(path):
        try:
            yield from cursor
        finally:
            cursor.connection.close()


def _allowed(action: int, first: str | None, second: str | None, *_: str | None) -> int:
    if action == sqlite3.SQLITE_FUNCTION and (second or "").casefold() == "load_extension":
        return sqlite3.SQLITE_DENY
    is_telling = action == sqlite3.SQLITE_PRAGMA and first in _TELLING
    return sqlite3.SQLITE_OK if action in _READS or is_telling else sqlite3.SQLITE_DENY

"""A file of any kind that keepers have as a table: workbook or text."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from assistant.errors import BadRegister
from assistant.register.table import Table, encoding_of, table
from assistant.sheets.workbook import IS_ZIP, workbook_table

_CODECS = ("cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp1257", "mac_roman", "cp850", "gb18030", "shift_jis")
"""Encodings in which spreadsheets still save tables, the commonest first."""

_ENOUGH = 100_000
"""Bytes that are looked at to tell the encoding."""


def herd_table(data: bytes, file: str, fitness: Callable[[Sequence[str]], int], encoding: str = "") -> Table:
    """The rows of a file.

    Args:
        data: the content of the file.
        file: its name, for messages.
        fitness: how many of some cells are headings that are wanted.
        encoding: of a text, if the keeper knows it; else it is found out.

    Raises:
        BadRegister: the file cannot be read; the message says why.
        LibraryMissing: it is a workbook and the library for them is not installed.
    """
    if data.startswith(IS_ZIP):
        return workbook_table(data, file, fitness)
    if encoding:
        return table(data, file, fitness, _known_codec(encoding))
    return table(data, file, fitness, _guess(data))


def _known_codec(name: str) -> str:
    try:
        "".encode(name)
    except (LookupError, UnicodeError) as error:
        raise BadRegister(f"There is no encoding {name!r}. Common ones are utf-8, {', '.join(_CODECS)}.") from error
    return name


def _guess(data: bytes) -> str:
    """The encoding of a text that is not in Unicode; empty for Unicode and for one that cannot be told.

    Where Windows-1252 makes as good a text as any other it is taken: a short table of names has too few letters that
    tell the languages apart.
    """
    if encoding_of(data)[0] != "cp1252":
        return ""
    from charset_normalizer import from_bytes

    found = list(from_bytes(data[:_ENOUGH], cp_isolation=list(_CODECS)))
    best = [one for one in found if one.chaos <= min(other.chaos for other in found)]
    names = {name for one in best for name in (one.encoding, *one.could_be_from_charset)}
    return next((name for name in _CODECS if name in names), "").replace("cp1252", "")

"""Tables as files: CSV (RFC 4180), XLSX, JSON Lines, Parquet. Every file is written whole or not at all."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from assistant.errors import BadOutput
from assistant.register.cell import guarded
from assistant.report.columns import TABLES, Column, Kind
from assistant.report.writing import whole

Row = Mapping[str, Any]
"""Column → value: text, whole number, number, date, datetime, bool or None."""

FORMATS = ("csv", "xlsx", "jsonl", "parquet")

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
_XLSX_ROWS, _XLSX_LETTERS = 1_048_576, 32_767
"""Largest sheet and cell. Source: Excel specifications and limits, support.microsoft.com."""


def write_tables(folder: Path, form: str, tables: Mapping[str, Sequence[Row]]) -> list[Path]:
    """Writes tables into a folder; gives the files.

    Args:
        folder: made if it is not there; files of the same names are replaced.
        form: one of `FORMATS`; "xlsx" makes one workbook of all tables, the others one file a table.
        tables: name, of `TABLES`, → rows.

    Raises:
        BadOutput: a file cannot be written, or the library for the format is not installed.
    """
    if form == "xlsx":
        path = folder / "records.xlsx"
        _write_xlsx(path, tables)
        return [path]
    write = {"csv": _write_csv, "jsonl": _write_jsonl, "parquet": _write_parquet}[form]
    paths = []
    for name, rows in tables.items():
        path = folder / f"{name}.{form}"
        write(path, TABLES[name], rows)
        paths.append(path)
    return paths


def plain(value: Any) -> Any:
    """A value as JSON and CSV hold it: days and moments in ISO 8601."""
    return value.isoformat() if isinstance(value, date) else value


def _write_csv(path: Path, columns: Sequence[Column], rows: Iterable[Row]) -> None:
    """Lines end in CR LF, quotes are doubled, a line break inside a value stands within quotes (RFC 4180).

    A mark at the start tells spreadsheets that it is UTF-8; a text that they might take for a formula gets an
    apostrophe before it, as in the table of animals.
    """
    with whole(path) as part, part.open("w", encoding="utf-8-sig", errors="replace", newline="") as file:
        writer = csv.writer(file, lineterminator="\r\n")
        writer.writerow([column.name for column in columns])
        writer.writerows([_csv_cell(row[column.name]) for column in columns] for row in rows)


def _csv_cell(value: Any) -> Any:
    if isinstance(value, str):
        return guarded(value)
    return str(value).lower() if isinstance(value, bool) else plain(value)


def _write_jsonl(path: Path, columns: Sequence[Column], rows: Iterable[Row]) -> None:
    with whole(path) as part, part.open("w", encoding="utf-8", errors="replace", newline="\n") as file:
        for row in rows:
            file.write(json.dumps({c.name: plain(row[c.name]) for c in columns}, ensure_ascii=False) + "\n")


def _write_parquet(path: Path, columns: Sequence[Column], rows: Sequence[Row]) -> None:
    try:
        import pyarrow as pa
        from pyarrow import parquet
    except ImportError as error:
        raise _missing("Parquet", "pyarrow") from error
    types = {
        Kind.TEXT: pa.string(),
        Kind.WHOLE: pa.int64(),
        Kind.NUMBER: pa.float64(),
        Kind.DAY: pa.date32(),
        Kind.MOMENT: pa.timestamp("us", tz="UTC"),
        Kind.YES_NO: pa.bool_(),
    }
    fields = [pa.field(c.name, types[c.kind], metadata={"about": c.about}) for c in columns]
    arrays = [pa.array([_parquet_cell(row[c.name]) for row in rows], types[c.kind]) for c in columns]
    with whole(path) as part:
        parquet.write_table(pa.Table.from_arrays(arrays, schema=pa.schema(fields)), part)


def _parquet_cell(value: Any) -> Any:
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode("utf-8")
    return value.astimezone(UTC) if isinstance(value, datetime) else value


def _write_xlsx(path: Path, tables: Mapping[str, Sequence[Row]]) -> None:
    try:
        from openpyxl import Workbook
        from openpyxl.cell import WriteOnlyCell
    except ImportError as error:
        raise _missing("A spreadsheet", "openpyxl") from error
    book = Workbook(write_only=True)

    def cell(sheet: Any, value: Any) -> Any:
        """Text stays text: a name that begins with "=" is no formula."""
        if not isinstance(value, str):
            return value
        made = WriteOnlyCell(sheet, value="")
        made.value = _CONTROL.sub(" ", value.encode("utf-8", "replace").decode("utf-8"))[:_XLSX_LETTERS]
        made.data_type = "s"
        return made

    for name, rows in tables.items():
        if len(rows) >= _XLSX_ROWS:
            raise BadOutput(f"The table {name} has {len(rows)} rows, more than a sheet holds. Choose csv or parquet.")
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "A2"
        sheet.append([column.name for column in TABLES[name]])
        for row in rows:
            sheet.append([cell(sheet, _xlsx_value(row[column.name])) for column in TABLES[name]])
    about = book.create_sheet("columns")
    about.append(["table", "column", "kind", "what"])
    for name in tables:
        for column in TABLES[name]:
            about.append([name, column.name, str(column.kind), column.about])
    with whole(path) as part:
        book.save(part)


def _xlsx_value(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else value


def _missing(what: str, library: str) -> BadOutput:
    return BadOutput(f"{what} needs the library {library}. Install it with: pip install 'handling-assistant[tables]'.")

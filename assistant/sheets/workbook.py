"""Workbooks (XLSX) of animals: read as rows of text, and written so that nothing in them is a formula.

Source: ECMA-376, Office Open XML, part 1: cell types 18.18.11, escapes in texts 22.4.2.4; Excel specifications and
limits, support.microsoft.com, for the largest sheet and cell.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, datetime, time
from itertools import islice
from typing import Any
from xml.etree.ElementTree import ParseError

from assistant.errors import BadRegister, LibraryMissing
from assistant.register.cell import guarded
from assistant.register.table import TITLE_ROWS, Row, Table
from assistant.register.writing import cells, headings
from assistant.values import Animal

IS_ZIP = b"PK\x03\x04"

MOST_BYTES = 300_000_000
"""Unpacked size from which a workbook is refused: a hundred thousand animals with all columns need about a third."""

MOST_CELLS = 50_000_000
"""More are refused, the empty ones between others counted: a few bytes can stand for a row of 16,384."""

MOST_COLUMNS = 500
LONGEST_CELL = 131_072
_MOST_ROWS, _LONGEST_WRITTEN = 1_048_576, 32_767

_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    ParseError,
    KeyError,
    ValueError,
    TypeError,
    IndexError,
    AttributeError,
    EOFError,
    OSError,
    OverflowError,
    RuntimeError,
)
"""What the library raises for parts that are missing, cut off, locked, or not what they should be."""


def workbook_table(data: bytes, file: str, fitness: Callable[[Sequence[str]], int]) -> Table:
    """The rows of the sheet that has most of the wanted headings, the first of equals.

    Values of formulas are those that were saved; a formula without one, and an error, come as text that no reader of
    cells takes.

    Args:
        data: the content of the file.
        file: its name, for messages.
        fitness: how many of some cells are headings that are wanted.

    Raises:
        BadRegister: it is no workbook, damaged, locked, or too large when unpacked.
        LibraryMissing: the library is not installed.
    """
    openpyxl = _library()
    try:
        _refuse_huge(data, file)
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheets = [sheet for sheet in book.worksheets if hasattr(sheet, "iter_rows")]
        if not sheets:
            raise BadRegister(f"{file} has no sheet with cells.")
        first = {sheet.title: tuple(islice(_rows(sheet, {}, file), TITLE_ROWS)) for sheet in sheets}
        best = max(sheets, key=lambda sheet: max((fitness(row.cells) for row in first[sheet.title]), default=0))
        formulas = _formulas(openpyxl, data, best.title, file)
        return Table(f"workbook, sheet {best.title!r}", "", tuple(_rows(best, formulas, file)))
    except _DAMAGE as error:
        raise BadRegister(
            f"{file} is not a workbook that can be read: damaged, locked, or of another kind. "
            "Open it in a spreadsheet and save it as XLSX or CSV."
        ) from error


def _refuse_huge(data: bytes, file: str) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        size = sum(part.file_size for part in archive.infolist())
    if size > MOST_BYTES:
        raise BadRegister(
            f"{file} grows to {size // 1_000_000} MB when unpacked, more than {MOST_BYTES // 1_000_000} MB. "
            "Save only the sheet with the animals, as CSV."
        )


def _library() -> Any:
    try:
        import openpyxl
    except ImportError as error:
        raise LibraryMissing(
            "A workbook needs the library openpyxl. Install it with: pip install 'handling-assistant[tables]', or save "
            "the table as CSV."
        ) from error
    return openpyxl


# ---------------------------------------------------------------------------------------------------------- reading


def _cells(sheet: Any, file: str) -> Iterator[tuple[int, Sequence[Any]]]:
    """The cells of every row, with its line."""
    sheet.reset_dimensions()  # what the file says of its size may be wrong
    n_cells = 0
    for line, row in enumerate(sheet.iter_rows(), start=1):
        n_cells += len(row)
        if n_cells > MOST_CELLS:
            raise BadRegister(
                f"{file} has more than {MOST_CELLS} cells up to line {line}, of which most are empty. "
                "Save only the columns with the animals, as CSV."
            )
        yield line, row


def _rows(sheet: Any, formulas: dict[tuple[int, int], str], file: str) -> Iterator[Row]:
    """Every row that is not blank, as text."""
    for line, row in _cells(sheet, file):
        texts = [_text(cell, formulas.get((line, column), "")) for column, cell in enumerate(row, start=1)]
        while texts and not texts[-1].strip():
            texts.pop()
        if len(texts) > MOST_COLUMNS:
            yield Row(line, (), f"The row has {len(texts)} cells, more than {MOST_COLUMNS}.")
        elif any(len(text) > LONGEST_CELL for text in texts):
            yield Row(line, (), f"A cell is longer than {LONGEST_CELL} characters.")
        elif texts:
            yield Row(line, tuple(texts))


def _formulas(openpyxl: Any, data: bytes, title: str, file: str) -> dict[tuple[int, int], str]:
    """(row, column) → formula of a sheet; the library shows either formulas or their values, so they are read again."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        if not any(_has_formula(archive, name) for name in sheets):
            return {}
    sheet = openpyxl.load_workbook(io.BytesIO(data), read_only=True)[title]
    return {
        (line, column): str(getattr(cell.value, "text", cell.value))
        for line, row in _cells(sheet, file)
        for column, cell in enumerate(row, start=1)
        if cell.data_type == "f"
    }


def _has_formula(archive: zipfile.ZipFile, name: str) -> bool:
    before = b""
    with archive.open(name) as part:
        while piece := part.read(1 << 20):
            if re.search(rb"<(\w+:)?f[\s>/]", before + piece):
                return True
            before = piece[-20:]
    return False


def _text(cell: Any, formula: str) -> str:
    """The cell as `assistant.register.cell.plain_text` reads it."""
    value = cell.value
    if value is None:
        return f"={formula.removeprefix('=')}" if formula else ""
    if cell.data_type == "e":
        return f"={value}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        text = _unescaped(value)
        return guarded(text) if text.startswith(tuple("=+-@")) else text
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(" ")
    if isinstance(value, int | float) and not isinstance(value, bool):
        return _number(value, cell.number_format)
    return str(value.isoformat() if isinstance(value, date | time) else value)


def _number(value: float, form: str) -> str:
    """A number as the sheet shows it, as far as leading zeros go: tags are often kept as numbers."""
    if value != int(value):
        return repr(value)
    whole = str(int(value))
    return whole.zfill(len(form)) if re.fullmatch("0+", form) else whole


# ---------------------------------------------------------------------------------------------------------- writing

_TO_ESCAPE = re.compile("[\r\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
_ESCAPED = re.compile("_x(?![Dd][89A-Fa-f])([0-9A-Fa-f]{4})_")
"""Half of a surrogate pair is left as it stands: no text can hold it."""


def to_xlsx(animals: Iterable[Animal]) -> bytes:
    """A workbook with one sheet of animals: every cell is text, none a formula.

    Raises:
        BadRegister: there are more animals than a sheet has rows, or a text is too long or has control characters.
        LibraryMissing: the library is not installed.
    """
    _library()
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell

    book = Workbook(write_only=True)
    sheet = book.create_sheet("animals")
    sheet.freeze_panes = "A2"

    def made(text: str) -> Any:
        cell = WriteOnlyCell(sheet, value="")
        cell.value = text
        cell.data_type = "s"
        cell.number_format = "@"
        return cell

    sheet.append(headings())
    for n, animal in enumerate(animals, start=2):
        if n > _MOST_ROWS:
            raise BadRegister(f"A sheet holds {_MOST_ROWS} rows and the register has more animals. Write CSV instead.")
        sheet.append([made(_writable(text)) if text else None for text in cells(animal)])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _writable(text: str) -> str:
    """A text for a cell; one with blanks at an end, or an apostrophe first, gets an apostrophe, as in a table of text.

    A text that begins like a formula needs none: the cell says that it is text.
    """
    kept = guarded(text) if text.startswith("'") or text != text.strip() else text
    shown = _TO_ESCAPE.sub(lambda found: f"_x{ord(found.group()):04X}_", kept)
    if len(shown) > _LONGEST_WRITTEN:
        raise BadRegister(
            f"{shown[:30]!r}… is longer than the {_LONGEST_WRITTEN} characters that a cell of a sheet holds."
        )
    return shown


def _unescaped(text: str) -> str:
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text

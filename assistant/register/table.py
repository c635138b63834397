"""Bytes of a spreadsheet export as numbered rows of cells: encoding, separator and line ends are found out."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from assistant.errors import BadRegister
from assistant.register.cell import UNFIT

SEPARATORS = (",", ";", "\t", "|")

TITLE_ROWS = 10
"""So far down headings are looked for: many a list has a title and a date above them."""

_MARKED = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)

_OTHER_FILES = (
    (b"PK\x03\x04", "a workbook or zip archive"),
    (b"\xd0\xcf\x11\xe0", "an old workbook"),
    (b"%PDF", "a PDF document"),
    (b"SQLite format 3", "a database"),
    (b"RIFF", "a sound file"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
)


@dataclass(frozen=True)
class Row:
    """One row: the line on which it begins, counted from 1, and its cells, or why it cannot be read."""

    line: int
    cells: tuple[str, ...]
    fault: str = ""


@dataclass(frozen=True)
class Table:
    """A table as read: name of the encoding, separator, and all rows that are not blank, the headings first."""

    encoding: str
    separator: str
    rows: tuple[Row, ...]


def table(data: bytes, file: str, fitness: Callable[[Sequence[str]], int], encoding: str = "") -> Table:
    """Takes bytes apart into rows.

    Args:
        data: the content of the file.
        file: its name, for messages.
        fitness: how many of some cells are headings that are wanted; the separator that gives most is taken.
        encoding: name of the encoding, as Python has it, if it is known; else it is found out.

    Raises:
        BadRegister: the file is empty, binary, or in no encoding that is known.
    """
    text, encoding = _decoded(data, file, encoding)
    if not text.strip():
        raise BadRegister(f"{file} is empty. Export the animals as a table with a line of headings.")
    separator = max(SEPARATORS, key=lambda mark: _promise(tuple(islice(_rows(text, mark), TITLE_ROWS)), fitness))
    return Table(encoding, separator, tuple(_rows(text, separator)))


def _promise(rows: Sequence[Row], fitness: Callable[[Sequence[str]], int]) -> tuple[int, bool, int]:
    """The higher, the likelier it is that the first rows of a table were taken apart at the right sign."""
    best = max((fitness(row.cells) for row in rows), default=0)
    return best, any(row.fault for row in rows[:1]), max((len(row.cells) for row in rows[:1]), default=0)


def _decoded(data: bytes, file: str, named: str) -> tuple[str, str]:
    for start, what in _OTHER_FILES:
        if data.startswith(start):
            raise BadRegister(f"{file} is {what}, not a table of text. Save it as CSV and import that.")
    codec, name = (named, named) if named else encoding_of(data)
    try:
        text = data.decode(codec)
    except UnicodeDecodeError as error:
        raise BadRegister(
            f"{file} cannot be read as {name} from byte {error.start} on. Save it as CSV in UTF-8 and import that."
        ) from error
    if wrong := UNFIT.search(text):
        line = text.count("\n", 0, wrong.start()) + 1
        raise BadRegister(
            f"{file}, line {line}: the character with the code {ord(wrong.group())} does not belong in a table. "
            "The file is damaged or not a table; save it as CSV again."
        )
    return text, name


def encoding_of(data: bytes) -> tuple[str, str]:
    """Codec and its common name: by the mark at the start, by zero bytes, else UTF-8 if it fits, else Windows-1252."""
    for mark, codec, name in _MARKED:
        if data.startswith(mark):
            return codec, name
    sample = data[:2000]
    if len(sample) >= 4 and len(sample) % 2 == 0:
        for at, codec in ((1, "utf-16-le"), (0, "utf-16-be")):
            if sample[at::2].count(0) > 0.7 * len(sample) / 2 and not sample[1 - at :: 2].count(0):
                return codec, "UTF-16"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252", "Windows-1252"
    return "utf-8", "UTF-8"


def _rows(text: str, separator: str) -> Iterator[Row]:
    """Every row that is not blank; a row that breaks the rules of quotation comes with its fault."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    line = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield Row(line, (), _fault(str(error), reader.line_num))
        else:
            if any(cell.strip() for cell in cells):
                yield Row(line, tuple(cells))
        line = reader.line_num + 1


def _fault(message: str, last: int) -> str:
    if "limit" in message:
        return (
            f"A cell is longer than {csv.field_size_limit()} characters. Look for a quotation mark that is not closed."
        )
    if "unexpected end" in message:
        return f"A quotation mark is not closed; everything up to line {last} was taken for one cell and is left out."
    return "A quotation mark stands inside a cell. Double it, and put quotation marks around the cell."

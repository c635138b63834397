"""Animals from a table as spreadsheets and registers export it, with a report of every row that cannot be used."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from assistant.errors import BadRegister
from assistant.register import cell, heading
from assistant.register.identity import Completeness, electronic_code, uk_visible
from assistant.register.import_report import ImportReport, RowProblem, Trouble, Unusable
from assistant.register.joining import known_animal, new_id, past_tags, refuse_contradiction, refuse_taken
from assistant.register.register import Register, compact
from assistant.register.table import TITLE_ROWS, Row, Table, table
from assistant.values import Animal

__all__ = ["ImportReport", "RowProblem", "Rules", "Trouble", "animals_from_csv", "animals_from_table"]


@dataclass(frozen=True)
class Rules:
    """How a table is to be taken.

    Attributes:
        headings: heading as in the file → column, empty for one that is to be left out; before what is known of
            headings anyway.
        is_correction: whether the file is right where it contradicts the register about what an animal keeps for life.
        day: today: tags that the file replaces came off then, as far as anyone knows, and no animal was born later;
            None if nothing is known.
    """

    headings: Mapping[str, str] = field(default_factory=dict)
    is_correction: bool = False
    day: date | None = None


@dataclass
class _Import:
    """What has been read so far."""

    known: Register
    rules: Rules
    animals: dict[str, Animal] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    seen: dict[tuple[str, str], int] = field(default_factory=dict)
    problems: list[RowProblem] = field(default_factory=list)
    orders: set[bool] = field(default_factory=set)
    date_shown: str = ""

    def has(self, key: str) -> bool:
        """Whether an animal of the register or of an earlier row has this id."""
        return key in self.animals or key in self.known


def animals_from_csv(
    data: bytes,
    file: str,
    known: Register | None = None,
    rules: Rules = Rules(),
) -> ImportReport:
    """Reads a table of animals.

    Encoding (UTF-8, UTF-16, Windows-1252), separator (comma, semicolon, tab, stroke), line ends and the order of the
    columns are found out. An empty cell, or a column that is not there, leaves what is known of an animal as it is.

    Args:
        data: the content of the file.
        file: its name, for messages.
        known: the register that the animals are to be joined with.
        rules: see `Rules`.

    Raises:
        BadRegister: the file as a whole cannot be used: empty, binary, not a table, without a heading that says which
            animal a row is about, or with two headings for one column.
    """
    return animals_from_table(table(data, file, heading.fitness(rules.headings)), file, known, rules)


def animals_from_table(
    read: Table,
    file: str,
    known: Register | None = None,
    rules: Rules = Rules(),
) -> ImportReport:
    """The animals of a table that was taken apart into rows; see `animals_from_csv`.

    Raises:
        BadRegister: no row is there, or the headings cannot be used.
    """
    if not read.rows:
        raise BadRegister(f"{file} is empty. Export the animals as a table with a line of headings.")
    at = _headings_at(read.rows, heading.fitness(rules.headings))
    top, rows = read.rows[at], read.rows[at + 1 :]
    if top.fault:
        raise BadRegister(f"{file}, line {top.line}: {top.fault}")
    columns = heading.columns_of(top.cells, file, top.line, rules.headings)
    work = _Import(known or Register(), rules)
    for row in read.rows[:at]:
        text = " ".join(row.cells).strip()[:80]
        message = f"This stands before the headings (line {top.line}) and is left out."
        work.problems.append(RowProblem(row.line, "", text, message, Trouble.COLUMN))
    for text, column in zip(top.cells, columns, strict=True):
        if column is None and text.strip() and not heading.is_left_out(text, rules.headings):
            work.problems.append(_unknown_heading(text.strip(), top.line))
    for row in rows:
        try:
            _read_row(row, columns, work)
        except Unusable as error:
            work.problems.append(RowProblem(row.line, error.column, error.value[:80], error.message, error.kind))
    return _report(work, top, columns, read)


def _headings_at(rows: Sequence[Row], fitness: Callable[[Sequence[str]], int]) -> int:
    """Place of the row of headings: the first, unless that has none that is known and one soon after has several."""
    if rows[0].fault or fitness(rows[0].cells):
        return 0
    return next((at for at, row in enumerate(rows[:TITLE_ROWS]) if fitness(row.cells) >= 2), 0)


def _unknown_heading(text: str, line: int) -> RowProblem:
    guess = heading.suggestion(text)
    hint = f" If it means {heading.spoken(guess)!r}, rename it or say so." if guess else ""
    message = f"The heading {text[:60]!r} is not known, so its column is left out.{hint}"
    return RowProblem(line, text[:80], text[:80], message, Trouble.COLUMN)


def _report(work: _Import, top: Row, columns: tuple[str | None, ...], read: Table) -> ImportReport:
    animals = tuple(work.animals.values())
    new = tuple(animal.id for animal in animals if animal.id not in work.known)
    changed = tuple(
        animal.id for animal in animals if animal.id in work.known and animal != work.known.animal(animal.id)
    )
    used = tuple(
        (text.strip(), heading.spoken(name)) for text, name in zip(top.cells, columns, strict=True) if name is not None
    )
    orders = {frozenset(): "none", frozenset((True,)): "day first", frozenset((False,)): "year first"}
    dates = orders.get(frozenset(work.orders), "both")
    how = (read.encoding, read.separator, dates, work.date_shown, work.lines)
    return ImportReport(animals, new, changed, tuple(work.problems), used, *how)


# ------------------------------------------------------------------------------------------------------------- rows


def _read_row(row: Row, columns: tuple[str | None, ...], work: _Import) -> None:
    if row.fault:
        raise Unusable("", "", row.fault)
    if any(text.strip() for text in row.cells[len(columns) :]):
        message = f"The row has {len(row.cells)} cells under {len(columns)} headings. Put quotation marks around text "
        raise Unusable("", row.cells[len(columns)], message + "that holds the separator.")
    values = _values(row, columns, work)
    if not any(values.get(name) for name in ("id", *heading.IDENTIFYING)):
        raise Unusable("", "", "The row has no tag, number or name.")
    before = known_animal(values, work.known)
    if before and not work.rules.is_correction:
        refuse_contradiction(before, values)
    if before and "past_tags" not in values:
        values["past_tags"] = past_tags(before, values, work.rules.day)
    key = values.pop("id", "") or (before.id if before else new_id(values, work.has))
    animal = replace(before, **values) if before else Animal(key, **values)
    if not animal.label:
        raise Unusable("", key, "The row has no tag, number or name.")
    refuse_taken(animal, row.line, work.seen, work.known, work.animals.__contains__)
    work.animals[animal.id] = animal
    work.lines[animal.id] = row.line
    if doubt := _doubt(animal.tag):
        work.problems.append(RowProblem(row.line, "tag", animal.tag, doubt, Trouble.DOUBT))
    if animal.born and work.rules.day and animal.born > work.rules.day:
        born = animal.born.isoformat()
        work.problems.append(RowProblem(row.line, "born", born, f"{born} is yet to come.", Trouble.DOUBT))


def _doubt(tag: str) -> str:
    """What is wrong with a tag that has the look of a British one but does not tell one animal from all others."""
    if not compact(tag).startswith(("UK", "XI")):
        return ""
    try:
        number = uk_visible(tag)
    except BadRegister as error:
        return str(error)
    return "" if number.completeness is Completeness.COMPLETE else number.reason


# ------------------------------------------------------------------------------------------------------------ cells

_READERS: Mapping[str, Callable[[str], Any]] = {
    "sex": cell.sex,
    "species": cell.species,
    "in_milk": cell.truth,
    "status": cell.status,
    "nicknames": cell.parted,
    "past_tags": cell.past_tags,
}

_SHORTENED = re.compile(r"\d+[.,]\d+[eE]\+?\d+|\d+[eE]\+\d+")


def _values(row: Row, columns: tuple[str | None, ...], work: _Import) -> dict[str, Any]:
    """The cells of a row that are not empty, as values of an animal."""
    values: dict[str, Any] = {}
    by_the_way: dict[str, Any] = {}
    for name, raw in zip(columns, row.cells, strict=False):
        if name is None:
            continue
        try:
            text = cell.plain_text(raw)
            cell.refuse_unfit(text, may_have_lines=name == "notes")
            if not heading.is_blank(name, text):
                values[name] = _value(name, text, work)
        except (ValueError, BadRegister) as error:
            raise Unusable(heading.spoken(name), raw, str(error)) from error
        if name == "sex" and (species := cell.species_of_sex(text)):
            by_the_way["species"] = species
        if name == "status" and text:
            values["status"], is_in_milk = values["status"]
            by_the_way |= {"in_milk": True} if is_in_milk else {}
    return by_the_way | values


def _value(name: str, text: str, work: _Import) -> Any:
    if name in ("born", "due"):
        found, is_day_first = cell.day(text)
        work.orders.add(is_day_first)
        if is_day_first and not work.date_shown and found.day <= 12 and found.month != found.day and text[-1].isdigit():
            work.date_shown = _shown(text, found)
        return found
    if name in heading.CODES and _SHORTENED.fullmatch(text):
        raise ValueError(
            f"{text!r} is a number that a spreadsheet has shortened; its last digits are lost. Make the column text in "
            "the spreadsheet, enter the number again, and save."
        )
    if name == "electronic":
        return electronic_code(text).digits
    return _READERS[name](text) if name in _READERS else text


def _shown(text: str, found: date) -> str:
    return "" if any(ch.isalpha() for ch in text) else f"{text} is {found.day} {found:%B} {found.year}"

"""Animals from a table as spreadsheets and registers export it, with a report of every row that cannot be used."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from assistant.errors import BadRegister
from assistant.register import cell, heading
from assistant.register.identity import Completeness, electronic_code, uk_visible
from assistant.register.register import Register, called, compact
from assistant.register.table import Row, Table, table
from assistant.values import Animal

_NAMESPACE = uuid.UUID("6f2c1d0e-7b1a-4c55-9a53-3d0d5c1f8e21")
"""Ids of new animals are made from what identifies them, so that the same file gives the same ids on every machine."""


@dataclass(frozen=True)
class RowProblem:
    """Something in a file that cannot be used, or is not understood.

    Attributes:
        line: where the row begins, counted from 1.
        column: the column as a heading, empty if it is about the whole row.
        value: the text found there.
        message: what is wrong and what to do.
    """

    line: int
    column: str
    value: str
    message: str


@dataclass(frozen=True)
class ImportReport:
    """What a file holds.

    Attributes:
        animals: one for each row that can be used, in the order of the file, joined with what is known of it already.
        new: ids of those that are not in the known register.
        changed: ids of those that differ from the known register.
        problems: in the order of lines. A row that cannot be used gives no animal; one whose tag is only doubtful does.
        headings: column for each heading that was understood, as (heading, column).
        encoding, separator: how the file was read.
        dates: "year first", "day first", "both" or "none".
    """

    animals: tuple[Animal, ...]
    new: tuple[str, ...]
    changed: tuple[str, ...]
    problems: tuple[RowProblem, ...]
    headings: tuple[tuple[str, str], ...]
    encoding: str
    separator: str
    dates: str


class _Unusable(Exception):
    """A row gives no animal."""

    def __init__(self, column: str, value: str, message: str) -> None:
        self.column, self.value, self.message = column, value, message


@dataclass
class _Import:
    """What has been read so far."""

    known: Register
    animals: dict[str, Animal] = field(default_factory=dict)
    seen: dict[tuple[str, str], int] = field(default_factory=dict)
    problems: list[RowProblem] = field(default_factory=list)
    orders: set[bool] = field(default_factory=set)


def animals_from_csv(data: bytes, file: str, known: Register | None = None) -> ImportReport:
    """Reads a table of animals.

    Encoding (UTF-8, UTF-16, Windows-1252), separator (comma, semicolon, tab), line ends and the order of the columns
    are found out. An empty cell, or a column that is not there, leaves what is known of an animal as it is.

    Args:
        data: the content of the file.
        file: its name, for messages.
        known: the register that the animals are to be joined with.

    Raises:
        BadRegister: the file as a whole cannot be used: empty, binary, not a table, without a heading that says which
            animal a row is about, or with two headings for one column.
    """
    read = table(data, file, lambda cells: sum(heading.column(text) is not None for text in cells))
    top, *rows = read.rows
    if top.fault:
        raise BadRegister(f"{file}, line {top.line}: {top.fault}")
    columns = heading.columns_of(top.cells, file, top.line)
    work = _Import(known or Register())
    for text, column in zip(top.cells, columns, strict=True):
        if column is None and text.strip():
            work.problems.append(_unknown_heading(text.strip(), top.line))
    for row in rows:
        try:
            _read_row(row, columns, work)
        except _Unusable as error:
            work.problems.append(RowProblem(row.line, error.column, error.value[:80], error.message))
    return _report(work, top, columns, read)


def _unknown_heading(text: str, line: int) -> RowProblem:
    guess = heading.suggestion(text)
    hint = f" If it means {heading.spoken(guess)!r}, rename it." if guess else ""
    return RowProblem(line, text, text, f"The heading {text!r} is not known, so its column is left out.{hint}")


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
    return ImportReport(animals, new, changed, tuple(work.problems), used, read.encoding, read.separator, dates)


# ------------------------------------------------------------------------------------------------------------- rows


def _read_row(row: Row, columns: tuple[str | None, ...], work: _Import) -> None:
    if row.fault:
        raise _Unusable("", "", row.fault)
    if any(text.strip() for text in row.cells[len(columns) :]):
        message = f"The row has {len(row.cells)} cells under {len(columns)} headings. Put quotation marks around text "
        raise _Unusable("", row.cells[len(columns)], message + "that holds the separator.")
    values = _values(row, columns, work)
    if not any(values.get(name) for name in ("id", *heading.IDENTIFYING)):
        raise _Unusable("", "", "The row has no tag, number or name.")
    before = _known_animal(values, work.known)
    key = values.pop("id", "") or (before.id if before else _new_id(values, work))
    animal = replace(before, **values) if before else Animal(key, **values)
    if not animal.label:
        raise _Unusable("", key, "The row has no tag, number or name.")
    _check_unique(animal, row.line, work)
    work.animals[animal.id] = animal
    if doubt := _doubt(animal.tag):
        work.problems.append(RowProblem(row.line, "tag", animal.tag, doubt))


def _doubt(tag: str) -> str:
    """What is wrong with a tag that has the look of a British one but does not tell one animal from all others."""
    if not compact(tag).startswith(("UK", "XI")):
        return ""
    try:
        number = uk_visible(tag)
    except BadRegister as error:
        return str(error)
    return "" if number.completeness is Completeness.COMPLETE else number.reason


_READERS: Mapping[str, Callable[[str], Any]] = {
    "sex": cell.sex,
    "species": cell.species,
    "in_milk": cell.truth,
    "nicknames": cell.parted,
    "past_tags": cell.past_tags,
}


def _values(row: Row, columns: tuple[str | None, ...], work: _Import) -> dict[str, Any]:
    """The cells of a row that are not empty, as values of an animal."""
    values: dict[str, Any] = {}
    by_the_way = None
    for name, raw in zip(columns, row.cells, strict=False):
        if name is None:
            continue
        try:
            text = cell.plain_text(raw)
            if text:
                values[name] = _value(name, text, work)
        except (ValueError, BadRegister) as error:
            raise _Unusable(heading.spoken(name), raw, str(error)) from error
        if name == "sex":
            by_the_way = cell.species_of_sex(text)
    if by_the_way:
        values.setdefault("species", by_the_way)
    return values


def _value(name: str, text: str, work: _Import) -> Any:
    if name in ("born", "due"):
        found, is_day_first = cell.day(text)
        work.orders.add(is_day_first)
        return found
    if name == "electronic":
        return electronic_code(text).digits
    return _READERS[name](text) if name in _READERS else text


def _known_animal(values: Mapping[str, Any], known: Register) -> Animal | None:
    """The animal of the known register that a row is about.

    By id, tag or electronic code; else by number and name as far as the row has them, if that fits exactly one animal
    that carries no other tag.
    """
    if "id" in values:
        return known.animal(values["id"])
    tag = values.get("tag", "")
    by_code = known.electronic(values.get("electronic", "")) or _holder("tag", compact(tag), known)
    if by_code:
        return by_code
    if former := known.tagged(tag):
        raise _Unusable("tag", tag, f"This is a former tag of {called(former[0])}. Give the one that is worn now.")
    number, name = values.get("number", ""), values.get("name", "")
    fitting = [
        one
        for one in (known.numbered(number) if number else known.named(name))
        if (not name or not one.name or one.name.casefold() == name.casefold())
        and all(not values.get(code) or not getattr(one, code) for code in ("tag", "electronic"))
    ]
    if len(fitting) > 1 and not tag:
        shown = " and ".join(called(one) for one in fitting[:3])
        raise _Unusable("", name or number, f"This may be {shown}. Give the tag.")
    return fitting[0] if len(fitting) == 1 else None


def _new_id(values: Mapping[str, Any], work: _Import) -> str:
    """An id made from tag, electronic code, or number, name and birth; another of them if it is taken."""
    own = compact(values.get("tag", "")) or values.get("electronic", "")
    text = own or "|".join(str(values.get(name, "")).casefold() for name in ("number", "name", "born"))
    for nth in range(len(work.animals) + len(work.known) + 1):
        key = str(uuid.uuid5(_NAMESPACE, f"{text}#{nth}" if nth else text))
        if key not in work.animals and key not in work.known:
            return key
    raise BadRegister(f"No id can be made for {text!r}.")  # cannot happen: one more than all ids was tried


def _check_unique(animal: Animal, line: int, work: _Import) -> None:
    """Refuses an id, tag or code that an earlier row of the file or another animal of the register has.

    A tag of the known register is free again if its animal gets another one in an earlier row of the file.
    """
    codes = {"id": animal.id, "tag": compact(animal.tag), "electronic": animal.electronic}
    for name, code in codes.items():
        if not code:
            continue
        first = work.seen.get((name, code))
        if first is not None:
            raise _Unusable(name, code, f"The row of line {first} has the same {name}. Correct one of them.")
        holder = _holder(name, code, work.known)
        if holder and holder.id != animal.id and holder.id not in work.animals:
            raise _Unusable(name, code, f"{called(holder)} of the register has this {name}. Correct one of them.")
    work.seen.update({(name, code): line for name, code in codes.items() if code})


def _holder(name: str, code: str, known: Register) -> Animal | None:
    if name == "electronic":
        return known.electronic(code)
    if name == "tag":
        return next((one for one in known.tagged(code) if compact(one.tag) == code), None)
    return None

"""The tables that leave the store, column by column: the one source of the files and of their data dictionary."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What the values of a column are."""

    TEXT = "text"
    WHOLE = "whole number"
    NUMBER = "number"
    DAY = "day"
    MOMENT = "moment"
    YES_NO = "yes or no"


@dataclass(frozen=True)
class Column:
    """A column; `about` says what it holds, and when it is empty."""

    name: str
    kind: Kind
    about: str


def _columns(rows: str) -> tuple[Column, ...]:
    """Columns from lines of name, kind and words."""
    cells = (row.split("|") for row in rows.strip().splitlines())
    return tuple(Column(name.strip(), Kind(kind.strip()), about.strip()) for name, kind, about in cells)


_ANIMAL = """
animal        | text         | id of the animal in the register
animal_name   | text         | its name now; empty if it has none
animal_number | text         | its management number now, as text: leading zeros count
animal_tag    | text         | its official tag now
"""

TABLES: Mapping[str, tuple[Column, ...]] = {
    "entries": _columns(
        """
entry         | text         | id of the entry, unique for all time and machines
session       | text         | id of the session
day           | day          | day on which it was said, in the time zone of the moment
time          | moment       | when it was said
"""
        + _ANIMAL.lstrip()
        + """
kind          | text         | finding, action, measure, follow_up, trait, mark or tag
what          | text         | what was found, done, measured or decided: the words of docs/vocabulary.md
place         | text         | where; empty if it is about the whole animal
part          | text         | which part of the place, if that was said
grade         | text         | slight, moderate or severe, if that was said
value         | number       | of a measure
unit          | text         | of a measure: kg, °C; empty for scores
days          | whole number | of a follow-up: how many days later
due           | day          | of a follow-up: the day that this makes
medicine      | text         | of an action: the medicine, if one was named
state         | text         | heard, confirmed, corrected or withdrawn
holds         | yes or no    | no if a later entry takes its place, or if it is withdrawn
supersedes    | text         | id of the entry whose place it takes
remark        | text         | id of the remark that it comes from
by            | text         | who said it
""".lstrip()
    ),
    "animals": _columns(
        """
animal        | text         | id of the animal in the register
tag           | text         | official tag
number        | text         | management number, as text
name          | text         | name
electronic    | text         | electronic code, 15 digits as text
species       | text         | goat or sheep
breed         | text         | breed
sex           | text         | female, male, castrated or unknown
born          | day          | day of birth
dam           | text         | id of the mother, or how the keeper names her
sire          | text         | id of the father, or how the keeper names him
group         | text         | group
status        | text         | in herd, sold, dead, or another word of the keeper
due           | day          | expected birth, as the register says
in_milk       | yes or no    | whether it is in milk
markings      | text         | markings
notes         | text         | notes
trimmed       | day          | day of the last trim on record
"""
    ),
    "treatments": _columns(
        """
entry         | text         | id of the entry
session       | text         | id of the session
day           | day          | day on which it was said
"""
        + _ANIMAL.lstrip()
        + """
place         | text         | where
action        | text         | what was done
medicine      | text         | with which medicine
by            | text         | who said it
""".lstrip()
    ),
    "follow_ups": _columns(
        """
entry         | text         | id of the entry
session       | text         | id of the session
"""
        + _ANIMAL.lstrip()
        + """
what          | text         | what is to be done
said          | day          | day on which it was asked for
due           | day          | day on which it is to be done; empty if none was said
""".lstrip()
    ),
    "sessions": _columns(
        """
session       | text         | id of the session
started       | moment       | when it began
ended         | moment       | when it ended; empty while it is open
by            | text         | who led it
source        | text         | where its remarks came from
planned       | whole number | how many animals were planned
handled       | whole number | how many animals have an entry in it that holds
entries       | whole number | how many entries in it hold
"""
    ),
}
"""Table → its columns, in the order of writing."""

_FORMS = {
    Kind.TEXT: "text",
    Kind.WHOLE: "digits",
    Kind.NUMBER: "digits with a decimal point",
    Kind.DAY: "ISO 8601, as 2026-05-26; a date cell in XLSX, a date in Parquet",
    Kind.MOMENT: "ISO 8601 with its distance from UTC; text in XLSX, a moment in UTC in Parquet",
    Kind.YES_NO: "true or false",
}


def dictionary() -> str:
    """The data dictionary as Markdown: the part of docs/tables.md that must agree with the files."""
    lines = ["| kind | written as |", "| --- | --- |", *(f"| {kind} | {form} |" for kind, form in _FORMS.items())]
    for table, columns in TABLES.items():
        lines += ["", f"## {table}", "", "| column | kind | what |", "| --- | --- | --- |"]
        lines += [f"| {column.name} | {column.kind} | {column.about} |" for column in columns]
    return "\n".join(lines) + "\n"

"""What became of a table of animals, row by row."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from assistant.values import Animal


class Trouble(StrEnum):
    """What kind of problem a row or column has; a row with an error or a conflict gives no animal."""

    ERROR = "error"
    """A row that cannot be read."""
    CONFLICT = "conflict"
    """A row that contradicts the register or an earlier row."""
    DOUBT = "doubt"
    """Something odd in a row that gives an animal all the same."""
    COLUMN = "column"
    """A column that is left out."""


@dataclass(frozen=True)
class RowProblem:
    """Something in a file that cannot be used, or is not understood.

    Attributes:
        line: where the row begins, counted from 1.
        column: the column as a heading, empty if it is about the whole row.
        value: the text found there.
        message: what is wrong and what to do.
        kind: see `Trouble`.
    """

    line: int
    column: str
    value: str
    message: str
    kind: Trouble = Trouble.ERROR


@dataclass(frozen=True)
class ImportReport:
    """What a file holds.

    Attributes:
        animals: one for each row that can be used, in the order of the file, joined with what is known of it already.
        new: ids of those that are not in the known register.
        changed: ids of those that differ from the known register.
        problems: in the order of lines. A row that cannot be used gives no animal; one whose tag is only doubtful does.
        headings: column for each heading that was understood, as (heading, column).
        encoding, separator: how the file was read; no separator in a workbook.
        dates: "year first", "day first", "both" or "none".
        date_shown: a date of the file that could be taken in two ways, as written and as taken; else empty.
        lines: id → line of its row.
    """

    animals: tuple[Animal, ...]
    new: tuple[str, ...]
    changed: tuple[str, ...]
    problems: tuple[RowProblem, ...]
    headings: tuple[tuple[str, str], ...]
    encoding: str
    separator: str
    dates: str
    date_shown: str
    lines: dict[str, int]

    @property
    def is_whole(self) -> bool:
        """Whether every row of the file gives an animal."""
        return not any(problem.kind in (Trouble.ERROR, Trouble.CONFLICT) for problem in self.problems)


class Unusable(Exception):
    """A row gives no animal."""

    def __init__(self, column: str, value: str, message: str, kind: Trouble = Trouble.ERROR) -> None:
        super().__init__(message)
        self.column, self.value, self.message, self.kind = column, value, message, kind

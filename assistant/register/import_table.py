"""What an import does to each animal, as rows to be read before it is done."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from assistant.register.heading import COLUMNS, spoken
from assistant.register.import_report import ImportReport
from assistant.register.register import Register, called
from assistant.values import Animal


class Step(NamedTuple):
    """One line of the table.

    Attributes:
        line: line of the file.
        what: "new", "changed", or a `Trouble`.
        animal: as a message names it; empty if the row gives none.
        detail: what is changed, or what is wrong.
    """

    line: int
    what: str
    animal: str
    detail: str


def steps(report: ImportReport, known: Register) -> tuple[Step, ...]:
    """New and changed animals and every problem, in the order of the file; who stays as before is left out.

    Args:
        report: of the file.
        known: the register before it.
    """
    return tuple(sorted([*_animals(report, known), *_problems(report)], key=lambda step: step.line))


def _animals(report: ImportReport, known: Register) -> Iterator[Step]:
    new, changed = set(report.new), set(report.changed)
    for animal in report.animals:
        line = report.lines[animal.id]
        before = known.animal(animal.id)
        if animal.id in new:
            yield Step(line, "new", called(animal), "")
        elif before and animal.id in changed:
            yield Step(line, "changed", called(animal), _changes(before, animal))


def _changes(before: Animal, after: Animal) -> str:
    pairs = ((name, getattr(before, name), getattr(after, name)) for name in COLUMNS.split())
    return "; ".join(f"{spoken(name)}: {_shown(old)} → {_shown(new)}" for name, old, new in pairs if old != new)


def _shown(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(str(getattr(item, "code", item)) for item in value) or "—"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return " ".join(str(value or "—").split())


def _problems(report: ImportReport) -> Iterator[Step]:
    for problem in report.problems:
        column = f"{problem.column}: " if problem.column else ""
        yield Step(problem.line, str(problem.kind), "", f"{column}{problem.message}")

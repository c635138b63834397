"""Animals as a table that spreadsheets open safely and `animals_from_csv` reads back without loss."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from assistant.errors import BadRegister
from assistant.register import cell, heading
from assistant.register.register import called
from assistant.values import Animal


def headings() -> list[str]:
    """The first row of a table of animals."""
    return [heading.spoken(name) for name in heading.COLUMNS.split()]


def cells(animal: Animal) -> list[str]:
    """The row of an animal under `headings`, as plain text.

    Raises:
        BadRegister: a text has a control character or half of a surrogate pair.
    """
    texts = [_text(animal, name) for name in heading.COLUMNS.split()]
    for name, text in zip(headings(), texts, strict=True):
        if wrong := cell.UNFIT.search(text):
            raise BadRegister(
                f"{called(animal)}: {name} has a character with the code {ord(wrong.group())}, "
                "which cannot be written to a table. Remove it."
            )
    return texts


def to_csv(animals: Iterable[Animal]) -> bytes:
    """A table of animals.

    Returns:
        RFC 4180 in UTF-8 with a mark at the start, by which spreadsheets know it; cells that might be taken for
        formulas begin with an apostrophe.

    Raises:
        BadRegister: as `cells`.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(headings())
    for animal in animals:
        writer.writerow([cell.guarded(text) for text in cells(animal)])
    return out.getvalue().encode("utf-8-sig")


def _text(animal: Animal, name: str) -> str:
    if name == "nicknames":
        return cell.joined(animal.nicknames)
    if name == "past_tags":
        return cell.tags_cell(animal.past_tags)
    if name == "in_milk":
        return "yes" if animal.in_milk else "no"
    value = getattr(animal, name)
    return "" if value is None else str(value)

"""The treatment record of a period as plain lines for printing: what was given, what was bought, what is missing."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from assistant.husbandry.medicine import KEEP_YEARS, Treatment, missing, reminders
from assistant.values.book import Bought

WIDTH = 100


def treatment_row(one: Treatment, label: Callable[[str], str]) -> dict[str, Any]:
    """One treatment with the fields that the rules ask for, as a plain object.

    Args:
        one: the treatment.
        label: how an animal is identified on paper.

    Source:
        SI 2013/2033 (Great Britain) regulations 17-19; Regulation (EU) 2019/6 article 108.
    """
    given = one.given
    return {
        "day": given.time.date().isoformat(),
        "first day": given.began.isoformat() if given.began else given.time.date().isoformat(),
        "animal": label(given.animal),
        "medicine": one.medicine.name,
        "batch": given.batch,
        "quantity": given.dose,
        "by": given.by,
        "vet": given.vet,
        "meat": "" if one.meat_days is None else f"{one.meat_days} d",
        "milk": "" if one.milk_hours is None else _hours(one.milk_hours),
        "meat clear": one.meat_clear.isoformat() if one.meat_clear else "",
        "milk clear": f"{one.milk_end:%Y-%m-%d %H:%M}" if one.milk_end else "",
        "entry": given.entry or given.id,
        "missing": list(missing(one)),
    }


def bought_row(one: Bought) -> dict[str, Any]:
    """One purchase with the fields that the rules ask for."""
    return {
        "day": one.day.isoformat(),
        "medicine": one.medicine,
        "batch": one.batch,
        "quantity": one.quantity,
        "supplier": one.supplier,
    }


def text(
    holding: str,
    since: date,
    until: date,
    given: Sequence[dict[str, Any]],
    bought: Sequence[dict[str, Any]],
    treatments: Sequence[Treatment],
) -> str:
    """The record for printing.

    Args:
        holding: name of the holding, may be empty.
        since: first day.
        until: last day.
        given: rows of `treatment_row`.
        bought: rows of `bought_row`.
        treatments: those that the rows are of, for what the law says of their medicines.
    """
    lines = [f"Treatment record{f' of {holding}' if holding else ''}, {since} to {until}", ""]
    for row in given:
        lines += _paragraph(f"{row['day']}  {row['animal']}: {row['medicine']}", _fields(row, _GIVEN))
    lines += ["" if given else "Nothing was given.", f"Bought: {len(bought) or 'nothing'}"]
    for row in bought:
        lines += _paragraph(f"{row['day']}  {row['medicine']}", _fields(row, _BOUGHT))
    told = dict.fromkeys(line for one in treatments for line in reminders(one.medicine))
    lines += ["", "Reminders, to be checked with your vet:"]
    lines += [line for one in (*told, KEEP_YEARS) for line in textwrap.wrap(one, WIDTH, initial_indent="- ")]
    return "\n".join(lines)


_GIVEN = ("batch", "quantity", "by", "vet", "meat", "meat clear", "milk", "milk clear")
_BOUGHT = ("batch", "quantity", "supplier")


def _fields(row: dict[str, Any], names: Sequence[str]) -> str:
    told = [f"{name} {row[name] or '____'}" for name in names]
    return ", ".join(told) + (f"; missing: {', '.join(row['missing'])}" if row.get("missing") else "")


def _paragraph(head: str, body: str) -> list[str]:
    return [head, *textwrap.wrap(body, WIDTH, initial_indent="    ", subsequent_indent="    ")]


def _hours(hours: int) -> str:
    return f"{hours // 24} d" if hours % 24 == 0 else f"{hours} h"

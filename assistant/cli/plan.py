"""`assistant plan`: who is to be handled and why, who must not be tipped, and who sounds like whom."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.cli.ahead import day_option, group_option, json_option, looking, not_past, on_option
from assistant.cli.alike import MOST_COMPARED, alike_lines, pair_text
from assistant.cli.show import table

if TYPE_CHECKING:
    from assistant.husbandry.handling import Handled
    from assistant.records.look_ahead import LookAhead


@click.command("plan")
@group_option
@click.option("--codes", type=click.Path(path_type=Path), help="File of a wand reader: the animals that it read.")
@day_option("--mating", text="The males go in on this day: what stands against it.")
@click.option("--only-due", is_flag=True, help="Of a group or file, only those of whom something is due.")
@click.option("--pens", default="", help="Order of the pens, with commas between; by name if left out.")
@on_option
@json_option
@click.pass_obj
def plan_command(
    store: Path | None,
    group: str | None,
    codes: Path | None,
    mating: datetime | None,
    only_due: bool,
    pens: str,
    on: datetime | None,
    as_json: bool,
) -> int:
    """List who is to be handled, pen by pen, why, and who must not be tipped; to read or to print.

    Without --group or --codes, those of whom something is due. At the end stand the animals of the list whose names or
    numbers sound alike: say both for them.
    """
    from assistant import settings
    from assistant.cli.main import ExitStatus
    from assistant.records.held_register import confusable_pairs, read_by_wand
    from assistant.records.plan_ahead import Wanted, plan
    from assistant.register.register import Register

    with looking(store, on) as (ahead, held):
        lines = read_by_wand(codes, Register(held.animals())) if codes else ()
        read = {line.animal.id for line in lines if line.animal} if codes else None
        day = mating.date() if mating else None
        if day:
            not_past(day, ahead.today, "The males go in on")
        order = [pen.strip() for pen in pens.split(",") if pen.strip()]
        found = plan(ahead, Wanted(group, read, day, only_due, order))
        rows = [_row(one, ahead) for one in found]
        ids = {one.animal for one in found} if len(found) <= MOST_COMPARED else set()
        planned = [animal for animal in held.animals() if animal.id in ids] if ids else []
    alike = confusable_pairs(planned, settings.places(store).grammars)
    unknown = [f"{codes}:{line.line}: the register has nobody with {line.read}." for line in lines if not line.animal]
    if as_json:
        flat = {
            "on": ahead.today.isoformat(),
            "animals": rows,
            "alike": [pair_text(pair) for pair in alike],
            "unknown": unknown,
        }
        click.echo(json.dumps(flat, ensure_ascii=False))
    else:
        _show(rows, ahead.today.isoformat())
        for line in alike_lines(alike):
            click.echo(line)
        for message in unknown:
            click.echo(message, err=True)
    return ExitStatus.PARTLY if unknown else ExitStatus.OK


def _row(one: Handled, ahead: LookAhead) -> dict[str, Any]:
    return {
        "id": one.animal,
        "pen": one.pen,
        "animal": ahead.label(one.animal),
        "number": ahead.names[one.animal].number,
        "tag": ahead.tags[one.animal],
        "why": list(one.reasons),
        "caution": one.caution,
    }


def _show(rows: Sequence[dict[str, Any]], day: str) -> None:
    n_cautions = sum(bool(row["caution"]) for row in rows)
    click.echo(f"To handle on {day}: {len(rows) or 'nobody'}; not to be tipped: {n_cautions or 'nobody'}")
    if rows:
        cells = [
            ["[ ]", row["pen"], row["animal"], row["number"], "; ".join(row["why"]), _warning(row["caution"])]
            for row in rows
        ]
        click.echo(table(("", "pen", "animal", "number", "why", "mind"), cells))


def _warning(caution: str) -> str:
    return f"! {caution}" if caution else ""

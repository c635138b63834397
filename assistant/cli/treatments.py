"""`assistant treatments`: what is withheld, what was given, what was bought, and the record for printing."""

from __future__ import annotations

import json
import uuid
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.cli.ahead import (
    Day,
    day_option,
    day_text,
    in_order,
    json_option,
    looking,
    not_after_today,
    on_option,
)
from assistant.cli.show import counted_table
from assistant.errors import BadStore

if TYPE_CHECKING:
    from assistant.husbandry.medicine import Withheld
    from assistant.records.look_ahead import LookAhead


@click.group("treatments", invoke_without_command=True)
@on_option
@json_option
@click.pass_context
def treatments_command(ctx: click.Context, on: datetime | None, as_json: bool) -> None:
    """List the animals of which milk or meat is withheld, and until when.

    With a command behind it: write down a treatment or a purchase, or print the record. Periods are those of your
    list of medicines, from label or vet; none is ever made up.
    """
    if ctx.invoked_subcommand:
        return
    from assistant.husbandry.medicine import ASK

    with looking(ctx.obj, on) as (ahead, _):
        found = [one for key, one in ahead.withheld().items() if key not in ahead.by_id or ahead.by_id[key].is_here]
        rows = [_withheld(ahead, one) for one in found]
    if as_json:
        click.echo(json.dumps({"on": day_text(ahead.today), "withheld": rows}))
        return
    columns = ("animal", "milk until", "milk from", "meat from", "not written down")
    click.echo(counted_table("Withheld", rows, columns, "nothing"))
    if any(row["not written down"] for row in rows):
        click.echo(f"Not written down: {ASK}.")


def _withheld(ahead: LookAhead, one: Withheld) -> dict[str, Any]:
    return {
        "animal": ahead.label(one.animal),
        "id": one.animal,
        "milk until": f"{one.milk_end:%Y-%m-%d %H:%M}" if one.milk_end else "",
        "milk from": day_text(one.milk_from),
        "meat from": day_text(one.meat_from),
        "not written down": ", ".join(one.unknown),
    }


@treatments_command.command("record")
@day_option("--from", "since", text="First day.", required=True)
@day_option("--to", "until", text="Last day; today if left out.")
@json_option
@click.pass_obj
def record(store: Path | None, since: datetime, until: datetime | None, as_json: bool) -> None:
    """Print the treatment record of a period, with the fields that the rules ask for; gaps are marked."""
    from assistant import settings
    from assistant.report.treatment_record import bought_row, text, treatment_row
    from assistant.values.book import Bought

    holding = settings.settings(settings.places(store).settings).holding
    with looking(store, None) as (ahead, held):
        first, last = since.date(), until.date() if until else ahead.today
        in_order(first, last)
        found = [one for one in ahead.treatments() if first <= one.given.time.date() <= last]
        given = [treatment_row(one, lambda key: _on_paper(ahead, key)) for one in found]
        bought = [bought_row(one) for one in held.records(Bought) if first <= one.day <= last]
    if as_json:
        click.echo(json.dumps({"from": day_text(first), "to": day_text(last), "given": given, "bought": bought}))
        return
    click.echo(text(holding, first, last, given, bought, found))


def _on_paper(ahead: LookAhead, key: str) -> str:
    """An animal with its tag, which is what counts on paper."""
    return " ".join(dict.fromkeys(text for text in (ahead.label(key), ahead.tags.get(key)) if text))


@treatments_command.command("add")
@click.argument("animal")
@click.option("--medicine", help="Name as on your list; not needed with --entry.")
@click.option("--entry", help="Complete this entry of a session: its id, or the beginning of it, from the record.")
@click.option("--at", type=Day(with_hour=True), help="When, the last time; now if left out.")
@day_option("--began", text="First day, if it was given over several days.")
@click.option("--batch", default="", help="Batch number.")
@click.option("--quantity", default="", help="How much, as you say it.")
@click.option("--by", default="", help="Who gave it.")
@click.option("--vet", default="", help="The vet who gave or ordered it.")
@click.option("--meat-days", type=click.IntRange(0, 730), help="Withdrawal for meat that the vet set for this case.")
@click.option("--milk-hours", type=click.IntRange(0, 17520), help="Withdrawal for milk that the vet set for this case.")
@click.pass_obj
def add(
    store: Path | None, /, animal: str, medicine: str | None, entry: str | None, at: datetime | None, **keys: Any
) -> None:
    """Write down a medicine given to ANIMAL, or complete what a session recorded of it."""
    from assistant.values.book import Given

    with looking(store, None, to_write=True) as (ahead, held):
        one = ahead.found(animal)
        began = keys.pop("began")
        moment = (at or datetime.now()).astimezone()
        is_hour_known = at is None or moment.strftime("%H:%M") != "00:00"
        key = str(uuid.uuid4())
        if entry:
            entry, medicine, moment = _entry(ahead, one.id, entry)
            key, is_hour_known = str(uuid.uuid5(uuid.NAMESPACE_OID, f"given {entry}")), True
        not_after_today(moment.date(), "a treatment")
        if began:
            in_order(began.date(), moment.date())
        if not medicine or not medicine.strip():
            raise BadStore(
                "No medicine is named. Name it with --medicine, or the entry that it completes with --entry."
            )
        given = Given(
            key, one.id, medicine, moment, is_hour_known, began.date() if began else None, entry or "",
            dose=keys.pop("quantity"), **keys,
        )  # fmt: skip
        held.save_record(given, ahead.now)
        label, still = ahead.label(one.id), ahead.withheld(one.id).get(one.id)
        row = _withheld(ahead, still) if still else None
    click.echo(f"{label}: {medicine} on {moment:%Y-%m-%d}.")
    if row:
        told = [f"{name} {row[name]}" for name in ("milk from", "meat from") if row[name]]
        unknown = [f"{row['not written down']}: withdrawal period not written down, ask your vet"]
        click.echo(f"Withheld: {'; '.join([*told, *(unknown if row['not written down'] else [])])}.")


@treatments_command.command("take-back")
@click.argument("animal")
@day_option("--at", text="Day of the treatment.", required=True)
@click.option("--medicine", help="Which, if several were written down for that day.")
@click.pass_obj
def take_back(store: Path | None, animal: str, at: datetime, medicine: str | None) -> None:
    """Take back a treatment of ANIMAL that was written down by mistake.

    One that a session recorded is put right there: assistant review.
    """
    from assistant.values.book import Given

    with looking(store, None, to_write=True) as (ahead, held):
        one = ahead.found(animal)
        label = ahead.label(one.id)
        found = [it for it in held.records(Given) if it.animal == one.id and it.time.astimezone().date() == at.date()]
        found = [it for it in found if medicine is None or it.medicine.casefold() == medicine.casefold()]
        names = list(dict.fromkeys(it.medicine for it in found))
        if not found:
            raise BadStore(f"No such treatment of {label} is written down for {at.date()}. See: assistant treatments")
        if len(names) > 1:
            raise BadStore(f"{label} had {' and '.join(names)} on {at.date()}. Name one with --medicine.")
        for given in found:
            held.save_record(replace(given, is_withdrawn=True), ahead.now)
    click.echo(f"{label}: {names[0]} on {at.date()} taken back.")


def _entry(ahead: LookAhead, animal: str, start: str) -> tuple[str, str, datetime]:
    """Id, medicine and moment of the one treatment of an animal whose entry begins so."""
    found = [one.given for one in ahead.treatments(animal) if one.given.entry.startswith(start)]
    if len(found) != 1:
        raise BadStore(f"{len(found)} treatments of {ahead.label(animal)} have an entry {start!r}. See the record.")
    return found[0].entry, found[0].medicine, found[0].time


@treatments_command.command("bought")
@click.argument("medicine")
@on_option
@click.option("--batch", default="", help="Batch number.")
@click.option("--quantity", default="", help="How much, as on the paper.")
@click.option("--supplier", default="", help="Name and address.")
@click.pass_obj
def bought(store: Path | None, medicine: str, on: datetime | None, batch: str, quantity: str, supplier: str) -> None:
    """Write down that MEDICINE came to the holding."""
    from assistant.values.book import Bought

    if not medicine.strip():
        raise BadStore("No medicine is named. Name it first, as on your list.")
    with looking(store, on, to_write=True) as (ahead, held):
        not_after_today(ahead.today, "a purchase")
        held.save_record(Bought(str(uuid.uuid4()), medicine, ahead.today, batch, quantity, supplier), ahead.now)
    gaps = [name for name, told in (("batch", batch), ("quantity", quantity), ("supplier", supplier)) if not told]
    click.echo(f"{medicine} bought on {ahead.today}.")
    if gaps:
        click.echo(f"The rules also ask for: {', '.join(gaps)}.")

"""`assistant mating`: males in and out, births to come, who may go to the male, and which male suits whom."""

from __future__ import annotations

import json
import uuid
from dataclasses import replace
from datetime import datetime
from math import isnan
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.cli.ahead import (
    day_option,
    day_text,
    group_option,
    json_option,
    looking,
    not_after_today,
    not_past,
    on_option,
)
from assistant.cli.show import counted_table, table
from assistant.errors import BadRegister, BadStore
from assistant.session.scale import MOST_YOUNG

if TYPE_CHECKING:
    from assistant.husbandry.choice import Choice
    from assistant.husbandry.gestation import Pregnancy
    from assistant.records.look_ahead import LookAhead

WATCH_FEED = "watch feed before birth"
WATCH_DAYS = 42
"""Feed is watched in the last six weeks, in which the young grow most.

Source: most growth before birth is in the last four to six weeks, Schoenian, University of Maryland Extension, Getting
ready for lambing and kidding, 2011.
"""


BORN_DAYS = 60
"""So long a birth stands in the list (common practice, no source)."""


@click.group("mating", invoke_without_command=True)
@on_option
@group_option
@json_option
@click.pass_context
def mating_command(ctx: click.Context, on: datetime | None, group: str | None, as_json: bool) -> None:
    """List the births to come and what to mind before them.

    With a command behind it: write down males in and out, see who may go, and compare males.
    """
    if ctx.invoked_subcommand:
        return
    with looking(ctx.obj, on) as (ahead, _):
        ids = {one.id for one in ahead.group(group)}
        births = [(key, one) for key, one in ahead.pregnancies.items() if key in ids]
        watched = {key for key, traits in ahead.traits.items() if WATCH_FEED in traits}
        rows = [
            {
                "animal": ahead.label(key),
                "id": key,
                "due": day_text(one.first_due),
                "to": day_text(one.last_due),
                "earliest": day_text(one.earliest),
                "latest": day_text(one.latest),
                "no tipping from": day_text(one.no_tip_from),
                "male": ", ".join(ahead.label(male) for male in one.males),
                "mind": _mind(ahead, one, is_watched=key in watched),
            }
            for key, one in sorted(births, key=lambda pair: pair[1].earliest)
        ]
        returns = _returns(ahead)
        born = [
            {"animal": ahead.label(one.animal), "id": one.animal, "day": day_text(one.day), "young": one.young}
            for one in ahead.births(BORN_DAYS)
            if one.animal in ids
        ]
        daughters = [{"dam": ahead.label(dam), "daughter": ahead.label(key)} for dam, key in ahead.unwanted_daughters()]
    if as_json:
        flat = {"births": rows, "returns": returns, "born": born, "daughters": daughters}
        click.echo(json.dumps({"on": day_text(ahead.today), **flat}))
        return
    click.echo(
        counted_table(
            "Births to come", rows, ("animal", "due", "to", "earliest", "latest", "no tipping from", "male", "mind")
        )
    )
    click.echo(counted_table("To watch for return to the male", returns, ("animal", "from", "to", "male")))
    if born:
        click.echo(counted_table(f"Births of the last {BORN_DAYS} days", born, ("animal", "day", "young")))
    if daughters:
        click.echo(counted_table("Daughters of dams of which none were to be kept", daughters, ("dam", "daughter")))


def _mind(ahead: LookAhead, birth: Pregnancy, *, is_watched: bool) -> str:
    told = ["do not tip"] if birth.caution(ahead.today) else []
    days = (birth.first_due - ahead.today).days
    if is_watched and days <= WATCH_DAYS:
        told.append("watch feed")
    return ", ".join(told)


def _returns(ahead: LookAhead) -> list[dict[str, Any]]:
    from assistant.husbandry.gestation import returns

    rows = []
    for mating in ahead.matings:
        for key in mating.females if mating.is_seen else ():
            if key not in ahead.by_id:
                continue
            first, last = returns(mating, ahead.by_id[key].species)
            if mating.began <= ahead.today <= last:
                males = ", ".join(ahead.label(male) for male in mating.males)
                rows.append({"animal": ahead.label(key), "from": day_text(first), "to": day_text(last), "male": males})
    return rows


# ---------------------------------------------------------------------------------------------------- the book


@mating_command.command("add")
@click.option("--male", "males", multiple=True, required=True, help="Name or number; more than once for several.")
@click.option("--female", "females", multiple=True, help="Name or number; more than once for several.")
@group_option
@day_option("--in", "began", text="The day on which the males go in, or of the mating.", required=True)
@day_option("--out", "ended", text="The day on which they come out, if it is known.")
@click.option("--seen", is_flag=True, help="One mating was seen on that day.")
@click.pass_obj
def add(
    store: Path | None,
    males: tuple[str, ...],
    females: tuple[str, ...],
    group: str | None,
    began: datetime,
    ended: datetime | None,
    seen: bool,
) -> None:
    """Write down which males run with which females, or a mating that was seen."""
    from assistant.husbandry.choice import unfit
    from assistant.values.book import Mating

    first, last = began.date(), ended.date() if ended else None
    if last and last < first:
        raise BadStore(f"The males come out on {last}, before they go in on {first}. Give the days again.")
    if seen and last:
        raise BadStore("A mating that was seen has one day. Leave out --seen, or --out.")
    if group is None and not females:
        raise BadRegister("No female is named. Name them with --female, or a whole group with --group.")
    with looking(store, None, to_write=True) as (ahead, held):
        sires = [ahead.found(text) for text in males]
        dams = [ahead.found(text) for text in females]
        dams += [one for one in ahead.group(group) if one.is_female] if group is not None else []
        if not dams:
            raise BadRegister(f"No female is in group {group!r}.")
        if problem := unfit(sires, dams, first, ahead.label):
            raise BadRegister(problem)
        if seen:
            not_after_today(first, "a mating that was seen")
        she = tuple(dict.fromkeys(one.id for one in dams))
        record = Mating(str(uuid.uuid4()), tuple(one.id for one in sires), she, first, last, seen)
        if any(replace(one, id=record.id) == record for one in ahead.matings):
            raise BadStore("This mating is written down already. See: assistant mating")
        held.save_record(record, ahead.now)
        he = ", ".join(ahead.label(one.id) for one in sires)
        they = ahead.label(she[0]) if len(she) == 1 else f"{len(she)} females"
    days = f"on {first}, seen" if seen else f"from {first}{f' to {last}' if last else ''}"
    click.echo(f"{he} with {they} {days}.")


@mating_command.command("end")
@click.option("--male", required=True, help="Name or number of one that runs with females now.")
@day_option("--out", text="The day on which it came out.", required=True)
@click.pass_obj
def end(store: Path | None, male: str, out: datetime) -> None:
    """Write down when a male came out."""
    with looking(store, None, to_write=True) as (ahead, held):
        one = ahead.found(male)
        running = [m for m in ahead.matings if one.id in m.males and m.ended is None and not m.is_seen]
        running = [m for m in running if m.began <= out.date()]
        label = ahead.label(one.id)
        if not running:
            raise BadStore(f"{label} is not with females on {out.date()} by the book. See: assistant mating")
        for mating in running:
            held.save_record(replace(mating, ended=out.date()), ahead.now)
    click.echo(f"{label} out on {out.date()}.")


@mating_command.command("born")
@click.argument("animal")
@click.option("--young", type=click.IntRange(1, MOST_YOUNG), required=True, help="How many were born, dead or alive.")
@on_option
@click.pass_obj
def born(store: Path | None, animal: str, young: int, on: datetime | None) -> None:
    """Write down that ANIMAL gave birth; so she is no longer in kid or in lamb."""
    from assistant.values import Sex
    from assistant.values.book import Birth

    with looking(store, on, to_write=True) as (ahead, held):
        not_after_today(ahead.today, "a birth")
        one = ahead.found(animal)
        label = ahead.label(one.id)
        if one.sex in (Sex.MALE, Sex.CASTRATED):
            raise BadRegister(f"{label} is {one.sex} in the register. Name a female.")
        if one.born and one.born >= ahead.today:
            raise BadRegister(f"{label} was born on {one.born}. Give the day of the birth again.")
        expected = ahead.pregnancies.get(one.id)
        key = str(uuid.uuid5(uuid.NAMESPACE_OID, f"birth {one.id} {ahead.today}"))
        held.save_record(Birth(key, one.id, ahead.today, young), ahead.now)
        if one.due:  # what the register expected has come
            held.save_animals([replace(it, due=None) for it in held.animals() if it.id == one.id], ahead.now)
    click.echo(f"{label}: {young} born on {ahead.today}. Bring the young into the register to know their families.")
    if expected and ahead.today < expected.no_tip_from:
        click.echo(
            f"She stays due on {expected.first_due}: this birth is too early to be that one. A wrong day is taken back "
            "with: assistant mating take-back"
        )


@mating_command.command("take-back")
@click.argument("animal")
@day_option("--on", text="Day of the birth, of the mating, or on which the males went in.", required=True)
@click.pass_obj
def take_back(store: Path | None, animal: str, on: datetime) -> None:
    """Take back what was written down by mistake: a birth or a mating of ANIMAL.

    Of a female only her own part goes; of a male all that he was written down with.
    """
    from assistant.values.book import Birth, Mating

    with looking(store, None, to_write=True) as (ahead, held):
        one, day = ahead.found(animal), on.date()
        label = ahead.label(one.id)
        matings = [it for it in held.records(Mating) if it.began == day and one.id in (*it.males, *it.females)]
        births = [it for it in held.records(Birth) if it.day == day and it.animal == one.id]
        if not matings and not births:
            raise BadStore(f"No mating or birth of {label} is written down for {day}. See: assistant mating")
        for mating in matings:
            left = () if one.id in mating.males else tuple(key for key in mating.females if key != one.id)
            changed = replace(mating, females=left) if left else replace(mating, is_withdrawn=True)
            held.save_record(changed, ahead.now)
        for birth in births:
            held.save_record(replace(birth, is_withdrawn=True), ahead.now)
    what = " and ".join(what for what, those in (("mating", matings), ("birth", births)) if those)
    click.echo(f"{label}: {what} of {day} taken back.")


# ------------------------------------------------------------------------------------------------- who and whom


@mating_command.command("ready")
@day_option("--by", text="The day on which the males go in; today if left out.")
@on_option
@group_option
@json_option
@click.pass_obj
def ready(store: Path | None, by: datetime | None, on: datetime | None, group: str | None, as_json: bool) -> None:
    """List which females may not go to the male, and why; and of whom something is not known."""
    with looking(store, on) as (ahead, _):
        day = by.date() if by else ahead.today
        not_past(day, ahead.today, "The males go in on")
        found = ahead.readiness(day, group)
        rows = [
            {
                "animal": ahead.label(one.animal),
                "id": one.animal,
                "is_ready": one.is_ready,
                "against": "; ".join(one.reasons),
                "not known": "; ".join(one.unknown),
            }
            for one in found
        ]
    if as_json:
        click.echo(json.dumps({"on": day_text(ahead.today), "females": rows}))
        return
    shut_out = [row for row in rows if not row["is_ready"]]
    unsure = [row for row in rows if row["is_ready"] and row["not known"]]
    click.echo(counted_table("May not go to the male", shut_out, ("animal", "against", "not known")))
    click.echo(counted_table("May go as far as is known", unsure, ("animal", "not known")))
    if fine := len(rows) - len(shut_out) - len(unsure):
        click.echo(f"Nothing against the other {fine} of {len(rows)}.")
    if not rows:
        click.echo("No females are in the herd, or in this group. Check their sex in the register.")


@mating_command.command("pairs")
@click.option("--male", "males", multiple=True, help="Name or number; all males in the herd if left out.")
@click.option("--female", "females", multiple=True, help="Name or number; all females in the herd if left out.")
@group_option
@json_option
@click.pass_obj
def pairs(
    store: Path | None, males: tuple[str, ...], females: tuple[str, ...], group: str | None, as_json: bool
) -> None:
    """Compare males for each female: inbreeding of the young, family faults, your own judgements.

    A list to decide by: nothing is chosen for you.
    """
    from assistant.husbandry.choice import FLOOR

    with looking(store, None) as (ahead, _):
        heads = ahead.group(group)
        he = [ahead.found(text).id for text in males] or [one.id for one in ahead.group(None) if one.is_male]
        she = [ahead.found(text).id for text in females] or [one.id for one in heads if one.is_female]
        if not he or not she:
            raise BadRegister(f"The herd has no {'males' if not he else 'females'} to compare. Check their sex.")
        made = ahead.choice(he, she)
        rows = [_pair_row(ahead, made, at) for at in range(len(she))]
        flags = {ahead.label(key): list(texts) for key, texts in made.flags.items()}
    if as_json:
        click.echo(json.dumps({"pairs": rows, "flags": flags, "note": FLOOR}))
        return
    names = [ahead.label(key) for key in made.males]
    click.echo(
        "Inbreeding of the young in per cent; * above the limit, x another sire wanted, ! see below, - goat and sheep."
    )
    click.echo(table(["female", *names], [[row["called"], *row["cells"]] for row in rows]))
    for name, texts in flags.items():
        click.echo(f"! {name}: {'; '.join(texts)}")
    click.echo(FLOOR)


def _pair_row(ahead: LookAhead, made: Choice, at: int) -> dict[str, Any]:
    female, values = made.females[at], made.inbreeding[at].tolist()
    limit = ahead.practice.kinship_limit
    cells = []
    for male, value in zip(made.males, values, strict=True):
        if isnan(value):
            cells.append("-")
            continue
        marks = "*" * (value > limit) + "x" * made.is_refused(female, male) + "!" * (male in made.flags)
        cells.append(f"{100 * value:.5g}{marks}")
    return {
        "animal": ahead.label(female),
        "called": ahead.label(female) + "!" * (female in made.flags),
        "id": female,
        "inbreeding": {male: value for male, value in zip(made.males, values, strict=True) if not isnan(value)},
        "within_limit": list(made.best(female, limit)),
        "cells": cells,
    }

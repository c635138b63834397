"""`assistant due`: what is to be looked at again and whose feet are due; and the plan for a date."""

from __future__ import annotations

import json
import uuid
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.cli.ahead import (
    day_option,
    day_text,
    group_option,
    json_option,
    looking,
    not_past,
    on_option,
)
from assistant.cli.show import Number, counted_table
from assistant.errors import BadStore

if TYPE_CHECKING:
    from assistant.husbandry.follow_up import FollowUp
    from assistant.husbandry.trim import Trim
    from assistant.records.look_ahead import LookAhead


@click.group("due", invoke_without_command=True)
@on_option
@click.option("--ahead", type=click.IntRange(0, 730), default=0, help="Also what falls due so many days later.")
@click.option("--all", "is_all", is_flag=True, help="Also what is done, and what comes later.")
@group_option
@json_option
@click.pass_context
def due_command(
    ctx: click.Context, on: datetime | None, ahead: int, is_all: bool, group: str | None, as_json: bool
) -> None:
    """List what is due: animals to look at again, and feet to trim.

    With a command behind it: settle a follow-up, or plan for a date.
    """
    if ctx.invoked_subcommand:
        return
    from assistant.husbandry.follow_up import is_open

    with looking(ctx.obj, on) as (ahead_of, _):
        until = ahead_of.today + timedelta(days=ahead)
        ids = {one.id for one in ahead_of.group(group)}
        follow_ups = [
            one
            for one in ahead_of.follow_ups()
            if one.asked.animal in ids and (is_all or (is_open(one) and (one.due is None or one.due <= until)))
        ]
        trims = [one for one in ahead_of.trims(group) if one.due is not None and one.due <= until]
        rows = [_follow_up(ahead_of, one) for one in follow_ups], [_trim(ahead_of, one) for one in trims]
    if as_json:
        click.echo(json.dumps({"on": day_text(ahead_of.today), "follow_ups": rows[0], "trims": rows[1]}))
        return
    click.echo(counted_table("To look at again", rows[0], ("due", "animal", "what", "why", "state"), "nothing"))
    click.echo(counted_table("To trim", rows[1], _TRIM, "nothing"))


_TRIM = ("due", "animal", "last", "why", "caution")


def _follow_up(ahead: LookAhead, one: FollowUp) -> dict[str, Any]:
    return {
        "due": day_text(one.due),
        "animal": ahead.label(one.asked.animal),
        "id": one.asked.animal,
        "what": one.asked.what,
        "why": one.asked.reason or f"asked for on {one.asked.said}",
        "state": f"{one.state}, put off" if one.is_put_off and one.done is None else str(one.state),
        "done": day_text(one.done),
    }


def _trim(ahead: LookAhead, one: Trim) -> dict[str, Any]:
    return {
        "due": day_text(one.due),
        "animal": ahead.label(one.animal),
        "id": one.animal,
        "last": day_text(one.last),
        "why": one.reason,
        "caution": one.caution,
    }


# ---------------------------------------------------------------------------------------------------- settling


@due_command.command("done")
@click.argument("animal")
@click.option("--what", help="Which follow-up, as vet; all that are open if left out.")
@on_option
@click.pass_obj
def done(store: Path | None, animal: str, what: str | None, on: datetime | None) -> None:
    """Say that what was to follow for ANIMAL is done."""
    _settle(store, animal, what, on, None)


@due_command.command("put-off")
@click.argument("animal")
@day_option("--until", text="The new day.", required=True)
@click.option("--what", help="Which follow-up, as vet; all that are open if left out.")
@on_option
@click.pass_obj
def put_off(store: Path | None, animal: str, until: datetime, what: str | None, on: datetime | None) -> None:
    """Put off what was to follow for ANIMAL to another day."""
    _settle(store, animal, what, on, until)


def _settle(store: Path | None, animal: str, what: str | None, on: datetime | None, until: datetime | None) -> None:
    from assistant.husbandry.follow_up import is_open
    from assistant.values.book import Settled, Settlement

    with looking(store, on, to_write=True) as (ahead, held):
        if until:
            not_past(until.date(), ahead.today, "The new day is")
        one = ahead.found(animal)
        label = ahead.label(one.id)
        wanted = [f for f in ahead.follow_ups(one.id) if is_open(f) and (what is None or f.asked.what == what)]
        if not wanted:
            raise BadStore(f"Nothing{f' {what!r}' if what else ''} is open for {label}. See: assistant due --all")
        for follow_up in wanted:
            entry = follow_up.asked.entry
            key = str(uuid.uuid5(uuid.NAMESPACE_OID, f"settled {entry}"))
            kind = Settlement.PUT_OFF if until else Settlement.DONE
            held.save_record(Settled(key, entry, kind, ahead.today, until.date() if until else None), ahead.now)
            day = f" until {until.date()}" if until else ""
            click.echo(f"{label}, {follow_up.asked.what}: {kind}{day}.")


# -------------------------------------------------------------------------------------------------------- plan


@due_command.command("plan")
@day_option("--before", text="The date, as that on which the males go in.", required=True)
@click.option("--hours", type=Number(0.1, 24), default=2.0, show_default=True, help="Hours a day for it.")
@on_option
@group_option
@json_option
@click.pass_obj
def plan(
    store: Path | None, before: datetime, hours: float, on: datetime | None, group: str | None, as_json: bool
) -> None:
    """Say whose feet must be done before a date, how long that takes, and whether the days left suffice."""
    with looking(store, on) as (ahead, _):
        if before.date() <= ahead.today:
            raise BadStore(
                f"{before.date()} is not after {ahead.today}: there is nothing to plan for. Give a later day."
            )
        minutes, is_own = ahead.minutes()
        made = ahead.plan(before.date(), hours * 60, group)
        rows = [_trim(ahead, one) for one in made.must]
    flat = {
        "before": day_text(made.before),
        "animals": len(rows),
        "minutes_per_animal": round(minutes, 1),
        "is_own_pace": is_own,
        "minutes": round(made.minutes),
        "days_needed": made.days_needed,
        "days_left": made.days_left,
        "is_enough": made.is_enough,
        "must": rows,
    }
    if as_json:
        click.echo(json.dumps(flat))
        return
    click.echo(counted_table(f"To trim before {made.before}", rows, _TRIM, "nothing"))
    pace = "at your own pace of" if is_own else "at"
    left = "1 day is" if made.days_left == 1 else f"{made.days_left} days are"
    click.echo(
        f"{_count(len(rows), 'animal')} {pace} {minutes:.0f} minutes each: {made.minutes / 60:.1f} hours, so "
        f"{_count(made.days_needed, 'day')} at {hours:g} h a day. {left} left: "
        f"{'enough' if made.is_enough else 'not enough'}."
    )


def _count(n: int, what: str) -> str:
    return f"{n} {what}{'s' * (n != 1)}"

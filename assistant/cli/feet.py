"""`assistant feet`: how the feet of the herd were in a period, where, in whom, and what changed."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.cli.ahead import day_option, day_text, group_option, in_order, json_option, looking
from assistant.cli.show import table
from assistant.errors import LibraryMissing
from assistant.values import FEET

if TYPE_CHECKING:
    from assistant.husbandry.feet import Change, Share, Tally
    from assistant.records.look_ahead import LookAhead

MOST_ROWS = 20
PERIOD_DAYS = 365


@click.command("feet")
@day_option("--from", "since", text="First day; a year back if left out.")
@day_option("--to", "until", text="Last day; today if left out.")
@click.option("--finding", help="Only this finding, as scald; any but sound if left out.")
@group_option
@json_option
@click.pass_obj
def feet_command(
    store: Path | None,
    since: datetime | None,
    until: datetime | None,
    finding: str | None,
    group: str | None,
    as_json: bool,
) -> None:
    """Count foot health: by finding, foot, group, age, family and month; who comes back; what changed.

    Shares are of the animals, or feet, of which something was recorded. With scipy installed each share has its exact
    95 % interval. These are counts, not a diagnosis.
    """
    from assistant.husbandry import feet

    finding = " ".join(finding.casefold().split()) if finding is not None else None
    with looking(store, None) as (ahead, _):
        last = until.date() if until else ahead.today
        first = since.date() if since else last - timedelta(days=PERIOD_DAYS)
        in_order(first, last)
        of = ahead.feet(first, last, finding, group)
        report = _report(ahead, of, finding)
        report["lameness"] = [_flat(one) for one in ahead.lameness(first, last)]
    if as_json:
        click.echo(json.dumps({"from": day_text(first), "to": day_text(last), "finding": finding, **report}))
        return
    looked_at = f"{len(of.visits)} animals looked at" if of.visits else "nothing is on record"
    click.echo(f"Feet from {first} to {last}: {looked_at}; affected: {finding or 'any finding'}")
    if of.visits:
        if len(of.visits) < feet.FEW:
            click.echo(feet.SMALL)
        if finding is not None and finding not in of.animals:
            found = ", ".join(row["what"] for row in report["findings"])
            click.echo(f"{finding}: not found in this period. Found were: {found or 'none'}.")
        _print(report)


def _report(ahead: LookAhead, of: Tally, finding: str | None) -> dict[str, Any]:
    from assistant.husbandry import feet

    def head(key: str) -> Any:
        return ahead.by_id.get(key)

    kinds: dict[str, tuple[Callable[[str], str], int]] = {
        "group": (lambda key: head(key).group if head(key) else "", 1),
        "age": (lambda key: feet.age_class(head(key), ahead.today) if head(key) else "", 1),
        "family": (lambda key: ahead.label(ahead.parents.get(key, (None, None))[1] or ""), feet.SMALL_FAMILY),
    }
    again = feet.again(of)
    return {
        "findings": [_flat(one) for one in feet.by_finding(of)],
        "feet": [_flat(one, is_single=one.what in FEET) for one in feet.by_foot(of, finding)],
        **{
            name: [_flat(one) for one in feet.by_kind(of, kind, fewest=n)[:MOST_ROWS]]
            for name, (kind, n) in kinds.items()
        },
        "months": [_flat(one, is_single=False) for one in feet.by_month(of)],
        "again": [
            {"animal": ahead.label(one.animal), "foot": one.place, "days": one.n_days, "last": day_text(one.last)}
            for one in again[:MOST_ROWS]
        ],
        "n_again": len(again),
        "change": _change(feet.change(of)),
    }


def _change(one: Change | None) -> dict[str, Any] | None:
    from assistant.husbandry.statistic import paired_p

    if one is None:
        return None
    try:
        p = paired_p(one.n_new, one.n_gone)
    except LibraryMissing:
        p = None
    return {
        "day": day_text(one.day),
        "before": _flat(one.before),
        "now": _flat(one.after),
        "new": one.n_new,
        "gone": one.n_gone,
        "p": p,
    }


def _flat(one: Share, *, is_single: bool = True) -> dict[str, Any]:
    """A share as a plain object; with its interval where each animal counts once."""
    from assistant.husbandry.statistic import interval

    flat: dict[str, Any] = {"what": one.what, "affected": one.n_affected, "of": one.n_examined, "share": one.share}
    if not is_single:
        return flat
    try:
        found = interval(one.n_affected, one.n_examined)
    except LibraryMissing:
        return flat
    return {**flat, "low": found.low, "high": found.high}


# ----------------------------------------------------------------------------------------------------------- print

_TITLES = {
    "findings": "By finding (animals)",
    "feet": "By foot (feet)",
    "group": "By group (animals)",
    "age": "By age (animals)",
    "family": "By dam (her young)",
    "months": "By month (visits)",
    "lameness": "Lame, of those scored (animals)",
}


def _print(report: dict[str, Any]) -> None:
    from assistant.husbandry import feet

    notes = {"family": feet.FAMILIES, "months": feet.SEASONS}
    for name, title in _TITLES.items():
        if report[name]:
            click.echo(f"\n{title}")
            _shares(report[name])
            if name in notes:
                click.echo(notes[name])
    if report["again"]:
        click.echo(f"\nAffected on several days: {report['n_again']} {'foot' if report['n_again'] == 1 else 'feet'}")
        columns = ("animal", "foot", "days", "last")
        click.echo(table(columns, [[str(row[column]) for column in columns] for row in report["again"]]))
    if change := report["change"]:
        click.echo(f"\nSince the visit before {change['day']} ({change['now']['of']} animals looked at both times)")
        click.echo(
            f"affected {change['before']['affected']}, now {change['now']['affected']}: {change['new']} new, "
            f"{change['gone']} gone."
        )
        if change["p"] is not None:
            chance = "may well be chance" if change["p"] >= 0.05 else "is more than chance would often bring"
            click.echo(f"Exact paired test: p = {change['p']:.3g}; a change so uneven {chance}.")
    if report["findings"] and "low" not in report["findings"][0]:
        click.echo("Intervals need scipy: pip install 'handling-assistant[statistics]'", err=True)


def _shares(rows: Sequence[dict[str, Any]]) -> None:
    lines = []
    for row in rows:
        share = f"{100 * row['share']:.0f} %" if row["of"] else "-"
        bounds = f"{100 * row['low']:.0f}-{100 * row['high']:.0f} %" if "low" in row and row["of"] else ""
        lines.append([row["what"], str(row["affected"]), str(row["of"]), share, bounds])
    click.echo(table(("", "affected", "of", "share", "interval"), lines))

"""The plan of a day's handling, gathered from what is due, a group, a reader's file, and a mating ahead."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from assistant.husbandry.follow_up import is_open
from assistant.husbandry.handling import Handled, handling
from assistant.records.look_ahead import LookAhead


@dataclass(frozen=True)
class Wanted:
    """Who is to be in a plan.

    Attributes:
        group: only this group; None for all.
        read: ids of animals that a reader has read; None if there is no such list.
        mating: the day on which the males go in; None if it is not about mating.
        is_only_due: leave out who is only there by group or reader.
        pens: order of the pens.
    """

    group: str | None = None
    read: Collection[str] | None = None
    mating: date | None = None
    is_only_due: bool = False
    pens: Sequence[str] = ()


def plan(ahead: LookAhead, wanted: Wanted) -> tuple[Handled, ...]:
    """Who is to be handled on the day of `ahead`, in the order of pens.

    Without a group or a reader's list, those of whom something is due or overdue; with one, all in it, and what is due
    of them beside it.
    """
    reasons = _reasons(ahead, wanted)
    members = [one for one in ahead.group(wanted.group) if wanted.read is None or one.id in wanted.read]
    if not wanted.is_only_due:
        for one in members:
            if wanted.read is not None:
                reasons[one.id].append("read by the wand")
            elif wanted.group is not None and not reasons[one.id]:
                reasons[one.id].append(f"in group {one.group}")
    names = ahead.names
    return handling(
        members,
        reasons,
        ahead.pregnancies,
        ahead.today,
        lambda key: names[key].number or names[key].label,
        wanted.pens,
    )


def _reasons(ahead: LookAhead, wanted: Wanted) -> defaultdict[str, list[str]]:
    """Animal → what is due or overdue on the day, and what stands against a mating."""
    found: defaultdict[str, list[str]] = defaultdict(list)
    for asked in ahead.follow_ups():
        if is_open(asked) and asked.due is not None and asked.due <= ahead.today:
            why = f" ({asked.asked.reason})" if asked.asked.reason else ""
            found[asked.asked.animal].append(f"{asked.asked.what}{why}, due {asked.due}")
    for trim in ahead.trims(wanted.group):
        if trim.due is not None and trim.due <= ahead.today:
            found[trim.animal].append(f"trim ({trim.reason}), due {trim.due}")
    if wanted.mating:
        for female in ahead.readiness(wanted.mating, wanted.group):
            if female.reasons:
                found[female.animal].append(f"before mating on {wanted.mating}: {', '.join(female.reasons)}")
    return found

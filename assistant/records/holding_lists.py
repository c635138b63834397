"""What the whole holding has before it on a day, as lists for the page of a session."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from assistant.husbandry.follow_up import is_open
from assistant.records.look_ahead import LookAhead

TRIM_DAYS_AHEAD, BIRTH_DAYS_AHEAD = 28, 60
"""So far ahead the page looks (common practice, no source)."""

List = tuple[str, list[str]]


def holding_lists(ahead: LookAhead, session_day: date) -> list[List]:
    """Headings and lines; lists without lines are left out.

    Args:
        ahead: the holding on the day that counts.
        session_day: of the session whose page it is; what that asked for stands on the page already.
    """
    lists = [
        ("Asked for before, still open", list(_open_before(ahead, session_day))),
        ("By the holding's rules", list(_by_rule(ahead))),
        ("Feet due within four weeks", list(_trims(ahead))),
        ("Births within two months", list(_births(ahead))),
        ("Not to be used yet", list(_withheld(ahead))),
    ]
    return [one for one in lists if one[1]]


def _open_before(ahead: LookAhead, session_day: date) -> Iterator[str]:
    for one in ahead.follow_ups():
        if is_open(one) and not one.asked.reason and one.asked.said < session_day:
            yield f"{one.due or 'no day set'}: {ahead.label(one.asked.animal)}, {one.asked.what} ({one.state})"


def _by_rule(ahead: LookAhead) -> Iterator[str]:
    for one in ahead.follow_ups():
        if is_open(one) and one.asked.reason:
            yield f"{one.due}: {ahead.label(one.asked.animal)}, {one.asked.what} ({one.asked.reason})"


def _trims(ahead: LookAhead) -> Iterator[str]:
    """One line a day, all animals of that day in it."""
    days: dict[date, list[str]] = {}
    until = ahead.today + timedelta(days=TRIM_DAYS_AHEAD)
    for one in ahead.trims():
        if one.due is not None and one.due <= until:
            caution = f" ({one.caution})" if one.caution else ""
            days.setdefault(one.due, []).append(f"{ahead.label(one.animal)}{caution}")
    for day, labels in sorted(days.items()):
        yield f"{day}{' (overdue)' if day < ahead.today else ''}: {', '.join(labels)}"


def _births(ahead: LookAhead) -> Iterator[str]:
    until = ahead.today + timedelta(days=BIRTH_DAYS_AHEAD)
    for key, one in sorted(ahead.pregnancies.items(), key=lambda pair: pair[1].first_due):
        if one.first_due <= until and one.latest >= ahead.today:
            span = f"{one.first_due}" if one.first_due == one.last_due else f"{one.first_due} to {one.last_due}"
            yield f"{span}: {ahead.label(key)}; not to be tipped from {one.no_tip_from}"


def _withheld(ahead: LookAhead) -> Iterator[str]:
    for key, one in ahead.withheld().items():
        told = [f"{what} free from {day}" for what, day in (("meat", one.meat_from), ("milk", one.milk_from)) if day]
        told += [f"no period written down for {medicine}" for medicine in one.unknown]
        if told:
            yield f"{ahead.label(key)}: {'; '.join(told)}"

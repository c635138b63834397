"""What belongs into a calendar, gathered from the records of a holding."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from assistant.husbandry.follow_up import is_open
from assistant.records.look_ahead import LookAhead
from assistant.report.calendar import Due
from assistant.store.store import Store
from assistant.values import Entry, FollowUpPart, Species, State

KINDS = ("follow-up", "trim", "birth", "no tipping", "meat", "milk")
"""What a calendar may hold; each item keeps its identity from one export to the next."""


def coming(store: Store, ahead: LookAhead) -> tuple[Due, ...]:
    """Everything that is to come, and what was done or taken back and so must leave the calendar; earliest first."""
    found = {one.uid: one for one in (*_births(ahead), *_trims(ahead), *_withheld(ahead), *_asked(store, ahead))}
    return tuple(sorted(found.values(), key=lambda one: (one.day is None, str(one.day), one.title, one.uid)))


def _births(ahead: LookAhead) -> Iterator[Due]:
    for key, one in ahead.pregnancies.items():
        is_sheep = ahead.by_id[key].species is Species.SHEEP
        label, carrying = ahead.label(key), "in lamb" if is_sheep else "in kid"
        span = f"Possible from {one.earliest} to {one.latest}."
        yield Due("birth", key, one.first_due, f"{label}: {'lambing' if is_sheep else 'kidding'} expected", span)
        yield Due("no tipping", key, one.no_tip_from, f"{label}: heavily {carrying} from today, do not tip", span)


def _trims(ahead: LookAhead) -> Iterator[Due]:
    for one in ahead.trims():
        if one.due is not None:
            about = "; ".join(words for words in (one.reason, one.caution) if words)
            yield Due("trim", one.animal, one.due, f"{ahead.label(one.animal)}: trim", about)


def _withheld(ahead: LookAhead) -> Iterator[Due]:
    """The first day on which something is no longer withheld; a period that nobody wrote down is never made up."""
    for key, one in ahead.withheld().items():
        for kind, day in (("meat", one.meat_from), ("milk", one.milk_from)):
            if day is not None:
                yield Due(kind, key, day, f"{ahead.label(key)}: {kind} no longer withheld", _unknown(one.unknown))


def _unknown(medicines: tuple[str, ...]) -> str:
    return f"But no period is written down for: {', '.join(medicines)}." if medicines else ""


def _asked(store: Store, ahead: LookAhead) -> Iterator[Due]:
    """What was asked for by remarks, under the identity of the first version of each, and by the holding's rules."""
    entries = {entry.id: entry for entry in store.entries(live_only=False)}
    yield from _taken_back(entries, ahead)
    for one in ahead.follow_ups():
        asked = one.asked
        by_rule = bool(asked.reason)
        key = f"{asked.animal}/{asked.what}" if by_rule else _first(asked.entry, entries)
        about = f"{asked.reason}, {asked.said}." if by_rule else f"Asked for on {asked.said}."
        title = f"{ahead.label(asked.animal)}: {asked.what}"
        yield Due("follow-up", key, one.due, title, about, is_off=not is_open(one))


def _taken_back(entries: Mapping[str, Entry], ahead: LookAhead) -> Iterator[Due]:
    """Follow-ups whose newest version says something else or nothing."""
    superseded = {entry.supersedes for entry in entries.values() if entry.supersedes}
    for entry in entries.values():
        if entry.id in superseded or (isinstance(entry.part, FollowUpPart) and entry.state is not State.WITHDRAWN):
            continue
        asked = _asking_version(entry, entries)
        if asked is not None and isinstance(asked.part, FollowUpPart):
            title = f"{ahead.label(asked.animal)}: {asked.part.follow_up}"
            yield Due("follow-up", _first(entry.id, entries), _day(asked, asked.part), title, is_off=True)


def _day(entry: Entry, part: FollowUpPart) -> date | None:
    return None if part.days is None else entry.time.date() + timedelta(days=part.days)


def _first(key: str, entries: Mapping[str, Entry]) -> str:
    while key in entries and entries[key].supersedes in entries:
        key = str(entries[key].supersedes)
    return key


def _asking_version(entry: Entry, entries: Mapping[str, Entry]) -> Entry | None:
    """The newest version that asks for something, if any does."""
    version: Entry | None = entry
    while version is not None and not isinstance(version.part, FollowUpPart):
        version = entries.get(version.supersedes or "")
    return version

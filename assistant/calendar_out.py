"""What belongs into a calendar, gathered from the store."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from assistant.report.calendar import Due
from assistant.store.store import Store
from assistant.values import Animal, Entry, FollowUpPart, State


def coming(store: Store) -> tuple[Due, ...]:
    """Follow-ups, with those that were taken back, and births that the register expects; earliest first."""
    animals = {animal.id: animal for animal in store.animals()}
    found = [*_asked(store, animals), *_births(animals)]
    return tuple(sorted(found, key=lambda one: (one.day is None, str(one.day), one.title, one.uid)))


def _births(animals: dict[str, Animal]) -> Iterator[Due]:
    for animal in animals.values():
        if animal.due:
            young = "lambing" if animal.species == "sheep" else "kidding"
            yield Due("birth", animal.id, animal.due, f"{animal.label}: {young} expected", animal.tag)


def _asked(store: Store, animals: dict[str, Animal]) -> Iterator[Due]:
    """One item for each thing asked for; a correction keeps the identity of what it corrects."""
    entries = {entry.id: entry for entry in store.entries(live_only=False)}
    superseded = {entry.supersedes for entry in entries.values() if entry.supersedes}
    for entry in entries.values():
        if entry.id in superseded or entry.animal not in animals:
            continue
        first, last = _first(entry, entries), _last_follow_up(entry, entries)
        if last is not None and isinstance(last.part, FollowUpPart):
            days = last.part.days
            day = None if days is None else last.time.date() + timedelta(days=days)
            is_off = entry.state is State.WITHDRAWN or not isinstance(entry.part, FollowUpPart)
            animal = animals[last.animal] if last.animal in animals else animals[entry.animal]
            about = f"Asked for on {first.time:%Y-%m-%d}{f' by {first.by}' if first.by else ''}."
            yield Due("follow-up", first.id, day, f"{animal.label}: {last.part.follow_up}", about, is_off)


def _first(entry: Entry, entries: dict[str, Entry]) -> Entry:
    while entry.supersedes in entries:
        entry = entries[entry.supersedes]
    return entry


def _last_follow_up(entry: Entry, entries: dict[str, Entry]) -> Entry | None:
    """The newest version that asks for something, if any does."""
    version: Entry | None = entry
    while version is not None and not isinstance(version.part, FollowUpPart):
        version = entries.get(version.supersedes or "")
    return version

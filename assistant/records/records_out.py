"""What leaves the store for people and other programs, gathered: the report of a session."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from assistant.errors import BadStore
from assistant.records.look_back import events_of, session_info, summary_of
from assistant.report.report import Record, Report, report
from assistant.session.events import AnimalCaught, AnimalLeft, EntryMade, EntrySuperseded, Event
from assistant.session.fold import replay
from assistant.store.retention import KeptSound
from assistant.store.store import Store
from assistant.values import Remark


def session_report(store: Store, holding: str, key: str | None = None, *, with_sound: bool = False) -> Report:
    """The report of one session.

    Args:
        store: where it is.
        holding: name for the heading.
        key: the session's id or the beginning of it; None for the last.
        with_sound: the sound of every remark goes into the report.

    Raises:
        BadStore: there is no such session, or several. A sound that cannot be read is named in the report.
    """
    info = session_info(store, key)
    events = events_of(store, info.id)
    live = store.entries()
    ours = [entry for entry in live if entry.session == info.id]
    remarks = {remark.id: remark for remark in store.remarks(info.id)} if with_sound else {}
    sounds, missing = _sounds(store, info.id, remarks) if with_sound else ({}, ())
    record = Record(
        live,
        store.entries(info.id, live_only=False),
        {one.id: one.started.date() for one in store.sessions()},
        stays(events),
        said_of(events) if with_sound else {},
        remarks,
        sounds,
        missing,
    )
    animals = {animal.id: animal for animal in store.animals()}
    return report(holding, summary_of(store, info, events, ours), record, animals)


def stays(events: Iterable[Event]) -> dict[str, list[timedelta]]:
    """How long each animal was on the table each time, from its catching to its leaving."""
    found: dict[str, list[timedelta]] = {}
    since: dict[str, datetime] = {}
    for event in events:
        if isinstance(event, AnimalCaught):
            since[event.animal] = event.time
        elif isinstance(event, AnimalLeft) and event.animal in since:
            span = event.time - since.pop(event.animal)
            if span >= timedelta():
                found.setdefault(event.animal, []).append(span)
    return found


def said_of(events: Iterable[Event]) -> dict[str, tuple[str, ...]]:
    """Animal → ids of the remarks that named it, recorded something of it, or let it go, in order."""
    found: dict[str, dict[str, None]] = {}
    for event in events:
        match event:
            case AnimalCaught(animal=animal, remark=remark) | AnimalLeft(animal=animal, remark=remark):
                found.setdefault(animal, {})[remark] = None
            case EntryMade(entry=entry) | EntrySuperseded(entry=entry):
                found.setdefault(entry.animal, {})[entry.remark] = None
    return {animal: tuple(remarks) for animal, remarks in found.items()}


def _sounds(store: Store, session: str, remarks: Mapping[str, Remark]) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Remark → its sound, and a sentence for each sound that cannot be read."""
    found, missing = {}, []
    for key in store.with_sound(session):
        try:
            found[key] = store.flac(key)
        except BadStore as error:
            missing.append(f"{remarks[key].time:%H:%M:%S}, “{remarks[key].words}”: {error}")
    return found, tuple(missing)


def removable_sounds(store: Store, before: datetime | None, by: str | None) -> tuple[KeptSound, ...]:
    """Sounds that may go, oldest first.

    Args:
        store: where they are.
        before: those that are older and not needed any more; None for all.
        by: those of this person, needed or not; None for everybody's.
    """
    waiting = [remark for info in store.sessions() for remark in replay(events_of(store, info.id)).review]
    found = store.kept_sounds(waiting)
    if by is not None:
        found = tuple(one for one in found if one.by.casefold() == by.casefold())
    if before is not None:
        found = tuple(one for one in found if one.time < before and (by is not None or not one.is_needed))
    return found

"""The rows of the tables that leave the store; their columns are in `assistant.report.columns`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from datetime import timedelta
from typing import Any

from assistant.report.summary import MEASURE_UNITS
from assistant.store.store import Store
from assistant.values import Animal, Entry, FollowUpPart

Row = dict[str, Any]

_KINDS = ("finding", "action", "measure", "follow_up", "trait", "mark", "tag")


def table_rows(store: Store, name: str) -> list[Row]:
    """All rows of a table.

    Args:
        store: where they are.
        name: one of `assistant.report.columns.TABLES`.
    """
    makers: Mapping[str, Callable[[Store], Iterator[Row]]] = {
        "entries": _entries,
        "animals": _animals,
        "treatments": _treatments,
        "follow_ups": _follow_ups,
        "sessions": _sessions,
    }
    return list(makers[name](store))


def _entries(store: Store) -> Iterator[Row]:
    animals = _register(store)
    live = {entry.id for entry in store.entries()}
    for entry in store.entries(live_only=False):
        yield _entry(entry) | _called(animals, entry.animal) | {"holds": entry.id in live}


def _entry(entry: Entry) -> Row:
    flat = entry.part.flat()
    kind = next(key for key in _KINDS if key in flat)
    day = entry.time.date()
    is_dated = isinstance(entry.part, FollowUpPart) and entry.part.days is not None
    return {
        "entry": entry.id,
        "session": entry.session,
        "day": day,
        "time": entry.time,
        "kind": kind,
        "what": flat[kind],
        **{key: flat.get(key) for key in ("place", "part", "grade", "medicine")},
        "value": float(flat["value"]) if kind == "measure" else None,
        "unit": MEASURE_UNITS.get(flat[kind], "").strip() if kind == "measure" else None,
        "days": flat.get("days"),
        "due": day + timedelta(days=flat["days"]) if is_dated else None,
        "state": str(entry.state),
        "supersedes": entry.supersedes,
        "remark": entry.remark,
        "by": entry.by,
    }


def _register(store: Store) -> dict[str, Animal]:
    return {animal.id: animal for animal in store.animals()}


def _called(animals: Mapping[str, Animal], key: str) -> Row:
    animal = animals.get(key)
    called = (animal.name, animal.number, animal.tag) if animal else (None, None, None)
    return {"animal": key, **dict(zip(("animal_name", "animal_number", "animal_tag"), called, strict=True))}


def _animals(store: Store) -> Iterator[Row]:
    trimmed = store.last_days()
    plain = ("tag", "number", "name", "electronic", "breed", "born", "dam", "sire", "group", "status", "due", "in_milk")
    for animal in store.animals():
        yield {
            "animal": animal.id,
            **{name: getattr(animal, name) for name in (*plain, "markings", "notes")},
            "species": str(animal.species),
            "sex": str(animal.sex),
            "trimmed": trimmed.get(animal.id),
        }


def _treatments(store: Store) -> Iterator[Row]:
    animals = _register(store)
    by = {entry.id: entry.by for entry in store.entries()}
    for one in store.treatments():
        yield vars(one) | _called(animals, one.animal) | {"by": by.get(one.entry)}


def _follow_ups(store: Store) -> Iterator[Row]:
    animals = _register(store)
    for one in store.follow_ups():
        yield vars(one) | _called(animals, one.animal)


def _sessions(store: Store) -> Iterator[Row]:
    entries = store.entries()
    n_entries = Counter(entry.session for entry in entries)
    n_animals = Counter(session for session, _ in {(entry.session, entry.animal) for entry in entries})
    for info in store.sessions():
        yield {
            "session": info.id,
            "started": info.started,
            "ended": info.ended,
            "by": info.by,
            "source": info.source,
            "planned": len(info.planned),
            "handled": n_animals[info.id],
            "entries": n_entries[info.id],
        }

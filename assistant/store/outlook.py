"""What the lists of due dates, matings, medicines and feet read from the tables made for reading."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, datetime
from functools import cache, partial
from itertools import groupby
from operator import itemgetter
from typing import Any, NamedTuple, TypeVar, cast

from sqlite_utils import Database

from assistant.session.scale import YOUNG_BORN
from assistant.values import FEET, Sex, Species
from assistant.values.book import is_likely
from assistant.values.outlook import IN_HERD, Asked, Called, Child, Head, Measured, Name

_SPECIES = {str(one): one for one in Species}
_SEX = {str(one): one for one in Sex}
_day = cache(date.fromisoformat)

_ANIMALS = "animal INDEXED BY animal_head"
"""The register in the order of saving, which is that of this index."""


@cache
def _likely(text: str) -> date | None:
    """A day of the register; None if no animal of today can have it."""
    day = date.fromisoformat(text)
    return day if is_likely(day) else None


R = TypeVar("R", bound=tuple[Any, ...])


class Found(NamedTuple):
    """A finding, with its place in the order of recording."""

    animal: str
    place: str
    what: str
    number: int
    day: date
    entry: str = ""
    grade: str | None = None


class Visit(NamedTuple):
    """A session in which something was found on an animal or done to it."""

    day: date
    session: str
    is_trimmed: bool


class Born(NamedTuple):
    """A birth that a session recorded: the mother, the day, and how many young."""

    animal: str
    day: date
    young: int


class Entered(NamedTuple):
    """A medicine that a session recorded."""

    entry: str
    animal: str
    time: datetime
    medicine: str
    by: str


def heads(db: Database) -> tuple[Head, ...]:
    """Every animal of the register in the order of saving, without what no list needs; no day that cannot be."""
    columns = f"id, species, sex, born, herd_group, status = '{IN_HERD}', due"
    return _made(
        Head,
        [
            (key, _SPECIES[kind], _SEX[sex], born and _likely(born), group, here == 1, due and _likely(due))
            for key, kind, sex, born, group, here, due in _whole(db, columns, _ANIMALS)
        ],
    )


def names(db: Database) -> dict[str, Name]:
    """Animal → how it is shown."""
    rows = _whole(db, "id, coalesce(nullif(name, ''), nullif(management, ''), tag), management", _ANIMALS)
    return {key: Name(label, number) for key, label, number in rows}


def children(db: Database, born: tuple[date, date] | None = None) -> tuple[Child, ...]:
    """Animals with the texts that name their parents, in the order of saving: all, or those born in a period."""
    clause, values = (" WHERE born BETWEEN ? AND ?", [day.isoformat() for day in born]) if born else ("", [])
    return _made(Child, _whole(db, "id, dam, sire", f"{_ANIMALS}{clause}", values))


def called(db: Database) -> tuple[Called, ...]:
    """All that each animal of the register may be called by, in the order of saving."""
    columns = "id, sex, tag, management, name, electronic, nullif(nicknames, '[]'), nullif(past_tags, '[]')"
    return _made(
        Called,
        (
            (
                *(key, _SEX[sex], tag, number, name, electronic),
                tuple(json.loads(nicknames)) if nicknames else (),
                tuple(one["code"] for one in json.loads(past)) if past else (),
            )
            for key, sex, tag, number, name, electronic, nicknames, past in _whole(db, columns, _ANIMALS)
        ),
    )


def _whole(db: Database, columns: str, source: str, values: Sequence[str] = ()) -> list[list[Any]]:
    """Rows as one text in JSON, which takes half the time of fetching them one by one."""
    (text,) = db.execute(f"SELECT json_group_array(json_array({columns})) FROM {source}", values).fetchone()
    return cast("list[list[Any]]", json.loads(text))


def _made(kind: type[R], rows: Iterable[Sequence[Any]]) -> tuple[R, ...]:
    """Rows as named tuples of a kind. Their own constructor is Python, which counts where a row is an animal."""
    return tuple(map(partial(tuple.__new__, kind), rows))


def last_values(db: Database, measure: str) -> dict[str, Measured]:
    """Animal → what was last measured; of several on one day the last that was recorded."""
    rows = db.execute(
        "SELECT day, json_group_array(animal), json_group_array(value) FROM entry INDEXED BY entry_last "
        "WHERE is_live AND kind = 'measure' AND what = ? GROUP BY day ORDER BY day",
        (measure,),
    )
    found: dict[str, Measured] = {}
    for day, animals, values in rows:
        measured = cache(partial(_measured, _day(day)))  # one for all animals with this value on this day
        found.update(zip(json.loads(animals), map(measured, json.loads(values)), strict=True))
    return found


def _measured(day: date, value: float) -> Measured:
    return Measured(value, day)


def births(db: Database, since: date, until: date, animal: str | None = None) -> tuple[Born, ...]:
    """Births that sessions recorded in a period, in the order of days; of one animal, or all."""
    clause, values = (" AND animal = ?", (animal,)) if animal is not None else ("", ())
    rows = db.execute(
        "SELECT animal, day, value FROM entry WHERE is_live AND kind = 'measure' AND what = ? "
        f"AND day BETWEEN ? AND ?{clause} ORDER BY day, number",
        (YOUNG_BORN, since.isoformat(), until.isoformat(), *values),
    )
    return tuple(Born(animal, _day(day), int(young)) for animal, day, young in rows)


def traits(db: Database) -> dict[str, frozenset[str]]:
    """Animal → its lasting judgements."""
    found: dict[str, set[str]] = {}
    for animal, what in db.execute("SELECT DISTINCT animal, what FROM entry WHERE is_live AND kind = 'trait'"):
        found.setdefault(animal, set()).add(what)
    return {animal: frozenset(whats) for animal, whats in found.items()}


def open_feet(db: Database, whats: Collection[str], since: date) -> dict[str, tuple[str, ...]]:
    """Animal → "foot finding" where nothing was done to the foot in that session or since, nor was it found sound.

    Args:
        db: the store.
        whats: the findings.
        since: older ones are left out.
    """
    rows = db.execute(
        "SELECT day, found.session, kind, what, place, animals FROM ("
        "SELECT day, session, kind, what, place, json_group_array(animal) AS animals FROM entry INDEXED BY entry_foot "
        f"WHERE is_live AND kind IN ('finding', 'action') AND day >= ? AND place IN {FEET} "
        "GROUP BY day, session, kind, what, place"
        ") AS found LEFT JOIN session ON session.id = found.session ORDER BY day, julianday(started), number",
        (since.isoformat(),),
    )
    left: dict[str, dict[str, set[str]]] = {foot: {what: set() for what in whats} for foot in FEET}
    for _, of_session in groupby(rows, key=itemgetter(0, 1)):
        cared: dict[str, set[str]] = {foot: set() for foot in FEET}
        for _, _, kind, what, foot, animals in of_session:
            if what == "sound" or (kind == "action" and what != "left alone"):
                cared[foot].update(json.loads(animals))
            elif what in left[foot]:
                left[foot][what].update(json.loads(animals))
        for foot, those in cared.items():
            for waiting in left[foot].values():
                waiting.difference_update(those)
    found: dict[str, tuple[str, ...]] = {}
    for foot, by_what in left.items():
        for what, animals in by_what.items():
            for animal in animals:
                found[animal] = (*found.get(animal, ()), f"{foot} {what}")
    return found


def findings(
    db: Database, whats: Collection[str], since: date | None = None, animal: str | None = None
) -> tuple[Found, ...]:
    """Every one of these findings since a day, in the order of recording; of one animal, or all."""
    clause, values = (" AND animal = ?", (animal,)) if animal is not None else ("", ())
    rows = db.execute(
        f"SELECT animal, coalesce(place, ''), what, number, day, id, grade FROM entry WHERE is_live "
        f"AND kind = 'finding' AND what IN ({_marks(whats)}) AND day >= ?{clause} ORDER BY number",
        (*sorted(whats), (since or date.min).isoformat(), *values),
    )
    return _made(
        Found,
        ((animal, place, what, number, _day(day), key, grade) for animal, place, what, number, day, key, grade in rows),
    )


def asked(db: Database, animal: str | None = None) -> tuple[Asked, ...]:
    """What remarks asked for, in the order of recording; of one animal, or all."""
    clause, values = (" WHERE animal = ?", (animal,)) if animal is not None else ("", ())
    rows = db.execute(f"SELECT entry, animal, what, said, due FROM follow_up{clause} ORDER BY number", values)
    return tuple(
        Asked(entry, who, what, _day(said), _day(due) if due else None) for entry, who, what, said, due in rows
    )


def visits(db: Database, after: Mapping[str, date]) -> dict[str, tuple[Visit, ...]]:
    """Animal → the sessions in which something was found on it or done to it, earliest first.

    Args:
        db: the store.
        after: animal → only sessions later than this day.
    """
    rows = db.execute(
        "SELECT animal, day, session, max(what = 'trimmed') FROM json_each(?) AS asked CROSS JOIN entry "
        "WHERE animal = asked.key AND day > asked.value AND kind IN ('finding', 'action') AND is_live "
        "GROUP BY animal, day, session ORDER BY day",
        (json.dumps({animal: day.isoformat() for animal, day in after.items()}),),
    )
    found: dict[str, list[Visit]] = {}
    for animal, day, session, is_trimmed in rows:
        found.setdefault(animal, []).append(Visit(_day(day), session, bool(is_trimmed)))
    return {animal: tuple(held) for animal, held in found.items()}


def times_at_table(db: Database, n_sessions: int = 10) -> tuple[tuple[datetime, ...], ...]:
    """For each of the last sessions: when each animal was first spoken of, in order."""
    rows = db.execute(
        "SELECT session, min(time) FROM entry WHERE session IN (SELECT id FROM session ORDER BY number DESC LIMIT ?) "
        "GROUP BY session, animal",
        (n_sessions,),
    )
    found: dict[str, list[datetime]] = {}
    for session, time in rows:
        found.setdefault(session, []).append(datetime.fromisoformat(time))
    return tuple(tuple(sorted(times)) for times in found.values())


def entered_medicines(db: Database, animal: str | None = None) -> tuple[Entered, ...]:
    """Entries of sessions that name a medicine, in the order of recording; of one animal, or all."""
    clause, values = (" AND animal = ?", (animal,)) if animal is not None else ("", ())
    rows = db.execute(
        "SELECT id, animal, time, medicine, by FROM entry INDEXED BY entry_treatment "
        f"WHERE is_live AND medicine IS NOT NULL{clause} ORDER BY number",
        values,
    )
    return tuple(Entered(key, who, datetime.fromisoformat(time), medicine, by) for key, who, time, medicine, by in rows)


def _marks(items: Collection[str]) -> str:
    return ", ".join("?" * len(items))


# ------------------------------------------------------------------------------------------------------------- feet


class Scored(NamedTuple):
    """How many animals of a species got a score of lameness on a day."""

    day: date
    species: Species
    value: float
    n: int


class Noted(NamedTuple):
    """One finding or action on one foot in one session, and the animals that it was recorded of."""

    day: str
    kind: str
    what: str
    place: str
    animals: Collection[str]


def foot_entries(db: Database, since: date, until: date) -> tuple[Noted, ...]:
    """Findings and actions on feet, days in ISO form, in the order of days."""
    # In the order of the index, which SQLite would not choose by itself, those of a session lie side by side.
    rows = db.execute(
        "SELECT day, kind, what, place, json_group_array(animal) FROM entry INDEXED BY entry_foot WHERE is_live "
        f"AND kind IN ('finding', 'action') AND day BETWEEN ? AND ? AND place IN {FEET} "
        "GROUP BY day, session, kind, what, place ORDER BY day",
        (since.isoformat(), until.isoformat()),
    )
    return tuple(Noted(day, kind, what, place, json.loads(animals)) for day, kind, what, place, animals in rows)


def lameness_scores(db: Database, since: date, until: date) -> tuple[Scored, ...]:
    """How many animals got each score of lameness on each day."""
    rows = db.execute(
        "SELECT entry.day, animal.species, entry.value, count(*) FROM entry JOIN animal ON animal.id = entry.animal "
        "WHERE is_live AND kind = 'measure' AND what = 'lameness' AND day BETWEEN ? AND ? GROUP BY 1, 2, 3",
        (since.isoformat(), until.isoformat()),
    )
    return tuple(Scored(date.fromisoformat(day), _SPECIES[species], value, n) for day, species, value, n in rows)

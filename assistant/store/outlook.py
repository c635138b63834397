"""What the lists of due dates, matings, medicines and feet read from the tables made for reading."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable
from datetime import date, datetime
from functools import cache, partial
from typing import Any, NamedTuple, TypeVar

from sqlite_utils import Database

from assistant.husbandry.book import is_likely
from assistant.husbandry.family import Called, Child
from assistant.husbandry.follow_up import Asked
from assistant.husbandry.head import IN_HERD, Head
from assistant.husbandry.readiness import Measured
from assistant.session.scale import YOUNG_BORN
from assistant.values import FEET, Sex, Species

_SPECIES = {str(one): one for one in Species}
_SEX = {str(one): one for one in Sex}
_day = cache(date.fromisoformat)


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
    rows = db.execute(
        "SELECT id, coalesce(nullif(name, ''), nullif(management, ''), tag), management, species, sex, born, "
        f"herd_group, status = '{IN_HERD}', due FROM animal ORDER BY number"
    )
    return _made(
        Head,
        [
            (
                key,
                label,
                number,
                _SPECIES[kind],
                _SEX[sex],
                born and _likely(born),
                group,
                here == 1,
                due and _likely(due),
            )
            for key, label, number, kind, sex, born, group, here, due in rows
        ],
    )


def children(db: Database, born: tuple[date, date] | None = None) -> tuple[Child, ...]:
    """Animals with the texts that name their parents, in the order of saving: all, or those born in a period."""
    clause, values = (" WHERE born BETWEEN ? AND ?", [day.isoformat() for day in born]) if born else ("", [])
    return _made(Child, db.execute(f"SELECT id, dam, sire FROM animal{clause} ORDER BY number", values))


def called(db: Database) -> tuple[Called, ...]:
    """All that each animal of the register may be called by, in the order of saving."""
    rows = db.execute(
        "SELECT id, sex, tag, management, name, electronic, nullif(nicknames, '[]'), nullif(past_tags, '[]') "
        "FROM animal ORDER BY number"
    )
    return _made(
        Called,
        (
            (
                *(key, _SEX[sex], tag, number, name, electronic),
                tuple(json.loads(nicknames)) if nicknames else (),
                tuple(one["code"] for one in json.loads(past)) if past else (),
            )
            for key, sex, tag, number, name, electronic, nicknames, past in rows
        ),
    )


def _made(kind: type[R], rows: Iterable[tuple[Any, ...]]) -> tuple[R, ...]:
    """Rows as named tuples of a kind. Their own constructor is Python, which counts where a row is an animal."""
    return tuple(map(partial(tuple.__new__, kind), rows))


def last_values(db: Database, measure: str) -> dict[str, Measured]:
    """Animal → what was last measured; of several on one day the last that was recorded."""
    rows = db.execute(
        "SELECT animal, value, day, max(number) FROM entry WHERE is_live AND kind = 'measure' AND what = ? "
        "GROUP BY animal",
        (measure,),
    ).fetchall()
    values = _made(Measured, ((value, _day(day)) for _, value, day, _ in rows))
    return dict(zip((row[0] for row in rows), values, strict=True))


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
        whats: the findings; the last of them on each foot counts.
        since: older ones are left out.
    """
    rows = db.execute(
        f"WITH last AS (SELECT animal, place, max(CASE WHEN what IN ({_marks(whats)}) THEN number END) AS found, "
        "max(CASE WHEN what = 'sound' OR (kind = 'action' AND what <> 'left alone') THEN number END) AS cared "
        "FROM entry INDEXED BY entry_foot WHERE is_live AND kind IN ('finding', 'action') AND day >= ? "
        f"AND place IN {FEET} GROUP BY animal, place) "
        "SELECT last.animal, last.place, entry.what FROM last JOIN entry ON entry.number = last.found "
        "LEFT JOIN entry AS care ON care.number = last.cared "
        "WHERE last.found > coalesce(last.cared, -1) AND entry.session IS NOT care.session",
        (*whats, since.isoformat()),
    )
    found: dict[str, tuple[str, ...]] = {}
    for animal, place, what in rows:
        found[animal] = (*found.get(animal, ()), f"{place} {what}")
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
    return tuple(
        Found(animal, place, what, number, date.fromisoformat(day), key, grade)
        for animal, place, what, number, day, key, grade in rows
    )


def asked(db: Database, animal: str | None = None) -> tuple[Asked, ...]:
    """What remarks asked for, in the order of recording; of one animal, or all."""
    clause, values = (" WHERE animal = ?", (animal,)) if animal is not None else ("", ())
    rows = db.execute(f"SELECT entry, animal, what, said, due FROM follow_up{clause} ORDER BY number", values)
    return tuple(
        Asked(entry, who, what, date.fromisoformat(said), date.fromisoformat(due) if due else None)
        for entry, who, what, said, due in rows
    )


def visits(db: Database, animals: Collection[str]) -> dict[str, tuple[Visit, ...]]:
    """Animal → the sessions in which something was found on it or done to it, earliest day first."""
    rows = db.execute(
        "SELECT animal, day, session, max(what = 'trimmed') FROM entry WHERE is_live "
        "AND animal IN (SELECT value FROM json_each(?)) AND kind IN ('finding', 'action') "
        "GROUP BY animal, day, session ORDER BY day",
        (json.dumps(list(animals)),),
    )
    found: dict[str, list[Visit]] = {}
    for animal, day, session, is_trimmed in rows:
        found.setdefault(animal, []).append(Visit(date.fromisoformat(day), session, bool(is_trimmed)))
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
    """One finding or action on one foot of one day, and the animals that it was recorded of."""

    day: str
    kind: str
    what: str
    place: str
    animals: Collection[str]


def foot_entries(db: Database, since: date, until: date) -> tuple[Noted, ...]:
    """Findings and actions on feet, days in ISO form, in the order of days."""
    # In the order of the index, which SQLite would not choose by itself, those that are alike lie side by side.
    rows = db.execute(
        "SELECT day, kind, what, place, json_group_array(animal) FROM entry INDEXED BY entry_foot WHERE is_live "
        f"AND kind IN ('finding', 'action') AND day BETWEEN ? AND ? AND place IN {FEET} "
        "GROUP BY day, kind, what, place ORDER BY day, kind, what, place",
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

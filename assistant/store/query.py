"""What the projections answer: entries, the last time, counts over the whole herd, what is due, what was given."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlite_utils import Database

from assistant.session.events import Said, event_from_flat
from assistant.values import Entry, Remark, SessionInfo, State, part_from

_ENTRY = "SELECT id, animal, flat, state, remark, session, time, supersedes, by FROM entry"

_PENDING = """
SELECT sound.remark, sound.session, sound.time, sound.by, sound.file, sound.sha256, sound.start_s, sound.end_s
FROM sound LEFT JOIN remark ON remark.id = sound.remark
WHERE remark.id IS NULL AND sound.session = coalesce(?, sound.session)
ORDER BY sound.number
"""


@dataclass(frozen=True)
class PendingSound:
    """A remark that is kept as sound and not understood yet.

    Attributes:
        remark: id of the remark.
        file: name in the folder of sounds.
        sha256: of the file, hexadecimal.
        start_s, end_s: place in the session's recording.
    """

    remark: str
    session: str
    time: datetime
    by: str
    file: str
    sha256: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class History:
    """What is known of an animal from earlier sessions.

    Attributes:
        entries: those that hold, oldest session first.
        trimmed: day of the last trim.
    """

    entries: tuple[Entry, ...]
    trimmed: date | None


@dataclass(frozen=True)
class Count:
    """How often something was recorded at a place, with a grade or without."""

    what: str
    place: str | None
    grade: str | None
    n: int


@dataclass(frozen=True)
class FollowUp:
    """Something to be done later; `due` is None if no time was said."""

    entry: str
    session: str
    animal: str
    what: str
    said: date
    due: date | None


@dataclass(frozen=True)
class Treatment:
    """An action with a medicine."""

    entry: str
    session: str
    animal: str
    day: date
    place: str | None
    action: str
    medicine: str


def sessions(db: Database) -> tuple[SessionInfo, ...]:
    """Every session in the order of their beginning."""
    rows = db.execute("SELECT id, started, ended, planned, by, source FROM session ORDER BY number")
    return tuple(
        SessionInfo(
            key,
            datetime.fromisoformat(started),
            datetime.fromisoformat(ended) if ended else None,
            tuple(json.loads(planned)),
            by,
            source,
        )
        for key, started, ended, planned, by, source in rows
    )


def pending(db: Database, session: str | None = None) -> tuple[PendingSound, ...]:
    """Sounds that no remark was made of yet, oldest first."""
    return tuple(
        PendingSound(remark, of, datetime.fromisoformat(time), *rest)
        for remark, of, time, *rest in db.execute(_PENDING, (session,))
    )


def with_sound(db: Database, session: str) -> tuple[str, ...]:
    """Ids of the remarks of a session that have a sound, in the order of keeping."""
    rows = db.execute("SELECT remark FROM sound WHERE session = ? ORDER BY number", (session,))
    return tuple(remark for (remark,) in rows)


def remarks(db: Database, session: str) -> tuple[Remark, ...]:
    """What was said in a session: understood or not in the order of settling, then what is pending."""
    rows = db.execute("SELECT payload FROM remark WHERE session = ? ORDER BY number", (session,))
    settled = tuple(_remark(json.loads(payload)) for (payload,) in rows)
    waiting = tuple(
        Remark(p.remark, p.session, p.time, audio=p.file, start_s=p.start_s, end_s=p.end_s, by=p.by)
        for p in pending(db, session)
    )
    return settled + waiting


def _remark(flat: dict[str, Any]) -> Remark:
    said = event_from_flat("Said", {"remark": flat})
    if not isinstance(said, Said):
        raise TypeError(f"not a remark: {said}")
    return said.remark


def entries(db: Database, session: str | None, animal: str | None, *, live_only: bool) -> tuple[Entry, ...]:
    """Entries of a session, an animal, both or all, in the order of recording."""
    wanted = {"session = ?": session, "animal = ?": animal}
    clauses = [clause for clause, value in wanted.items() if value is not None] + ["is_live"] * live_only
    where = f" WHERE {' AND '.join(clauses)}" if clauses else ""
    values = tuple(value for value in wanted.values() if value is not None)
    return tuple(_entry(row) for row in db.execute(f"{_ENTRY}{where} ORDER BY number", values))


def _entry(row: tuple[Any, ...]) -> Entry:
    key, animal, flat, state, remark, session, time, supersedes, by = row
    part = part_from(json.loads(flat))
    return Entry(key, animal, part, State(state), remark, session, datetime.fromisoformat(time), supersedes, by)


def history(db: Database, animal: str, before: str | None) -> History:
    """What is known of an animal from the sessions that began before session `before`; from all if it is None.

    It is the day on which they began that counts: one that another machine recorded may have come to the store later,
    and a recording of an old day is heard with what was known then.
    """
    began = db.execute("SELECT julianday(started), number FROM session WHERE id = ?", (before,)).fetchone()
    of_it, values = "WHERE animal = ? AND is_live", [animal]
    if began:
        of_it += " AND session IN (SELECT id FROM session WHERE (julianday(started), number) < (?, ?))"
        values += began
    rows = db.execute(f"{_ENTRY} {of_it} ORDER BY julianday(time), number", values).fetchall()
    trims = f"SELECT max(day) FROM entry {of_it} AND kind = 'action' AND what = 'trimmed'"
    return History(tuple(_entry(row) for row in rows), _day(db.execute(trims, values).fetchone()[0]))


def counts(db: Database, kind: str, since: date | None, until: date | None) -> tuple[Count, ...]:
    """How often each thing of a kind was recorded at each place over the herd, days included; live entries only."""
    days = ((since or date.min).isoformat(), (until or date.max).isoformat())
    rows = db.execute(
        "SELECT what, place, grade, count(*) FROM entry WHERE is_live AND kind = ? AND day BETWEEN ? AND ? "
        "GROUP BY what, place, grade",
        (kind, *days),
    )
    return tuple(Count(*row) for row in rows)


def last_days(db: Database, kind: str, what: str) -> dict[str, date]:
    """Animal → day on which something was last recorded on it, for all animals."""
    # Day by day, as a herd has far more animals than days.
    rows = db.execute(
        "SELECT day, json_group_array(animal) FROM entry INDEXED BY entry_last "
        "WHERE is_live AND kind = ? AND what = ? GROUP BY day ORDER BY day",
        (kind, what),
    )
    found: dict[str, date] = {}
    for day, animals in rows:
        found.update(dict.fromkeys(json.loads(animals), date.fromisoformat(day)))
    return found


def follow_ups(db: Database, until: date | None) -> tuple[FollowUp, ...]:
    """What is to be done, earliest first and undated last; up to a day, or all."""
    clause, values = (" WHERE due <= ?", (until.isoformat(),)) if until else ("", ())
    rows = db.execute(
        f"SELECT entry, session, animal, what, said, due FROM follow_up{clause} ORDER BY due IS NULL, due, number",
        values,
    )
    return tuple(
        FollowUp(entry, session, animal, what, date.fromisoformat(said), _day(due))
        for entry, session, animal, what, said, due in rows
    )


def treatments(db: Database, animal: str | None) -> tuple[Treatment, ...]:
    """What was given, in the order of recording; to one animal, or all."""
    clause, values = (" WHERE animal = ?", (animal,)) if animal is not None else ("", ())
    rows = db.execute(
        f"SELECT entry, session, animal, day, place, action, medicine FROM treatment{clause} ORDER BY number", values
    )
    return tuple(Treatment(key, of, who, date.fromisoformat(day), *rest) for key, of, who, day, *rest in rows)


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)

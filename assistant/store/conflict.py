"""What two machines say differently of the same thing: found when stores are merged, kept, and shown until settled."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from sqlite_utils import Database

from assistant.store import journal
from assistant.store.joining import EventRow
from assistant.store.projection import dumped, project_record

BOOK = "conflict"
"""Kind under which conflicts are kept among the records of the books."""

_NAMESPACE = uuid.UUID("6c8f1bb4-3a8e-4b0e-a8de-0f4a1f2f62ad")


class ConflictKind(StrEnum):
    """What two machines say differently."""

    CORRECTED = "corrected twice"
    OUTCOME = "how an animal left"
    REMARK = "what a remark was taken for"
    ENTRY = "what an entry says"
    ANIMAL = "an animal of the register"
    RECORD = "a record of the books"


@dataclass(frozen=True)
class Conflict:
    """One thing on which machines differ.

    Attributes:
        kind: what sort of thing.
        subject: its id; of an outcome, session and animal with a stroke between.
        sides: what each machine says, as JSON, sorted; two or more.
        is_settled: the keeper has seen to it.
    """

    kind: ConflictKind
    subject: str
    sides: tuple[str, ...]
    is_settled: bool = False

    @property
    def id(self) -> str:
        """The same on every machine."""
        return str(uuid.uuid5(_NAMESPACE, f"{self.kind}/{self.subject}"))

    def flat(self) -> dict[str, Any]:
        """As a plain object."""
        sides = [json.loads(side) for side in self.sides]
        return {"kind": str(self.kind), "subject": self.subject, "sides": sides, "is_settled": self.is_settled}


def conflicts(db: Database) -> tuple[Conflict, ...]:
    """Every conflict on record, settled ones too, in the order of finding."""
    rows = db.execute("SELECT payload FROM record WHERE kind = ? ORDER BY number", (BOOK,))
    return tuple(_from_payload(payload) for (payload,) in rows)


def _from_payload(payload: str) -> Conflict:
    flat = json.loads(payload)
    sides = tuple(sorted(dumped(side) for side in flat["sides"]))
    return Conflict(ConflictKind(flat["kind"]), flat["subject"], sides, flat["is_settled"])


def keep(db: Database, found: Iterable[Conflict]) -> None:
    """Puts conflicts on record, inside the transaction that is open; what is known of one stays beside what is new.

    One that gets a further side is open again.
    """
    known = {one.id: one for one in conflicts(db)}
    for one in found:
        before = known.get(one.id)
        after = one if before is None else together(before, one)
        if after != before:
            save(db, after)
            known[one.id] = after


def together(a: Conflict, b: Conflict) -> Conflict:
    """Two findings of one conflict: all sides of both, settled if one that knew all of them is."""
    sides = tuple(sorted({*a.sides, *b.sides}))
    return replace(a, sides=sides, is_settled=any(one.is_settled and one.sides == sides for one in (a, b)))


def save(db: Database, one: Conflict) -> None:
    """Adds a version of a conflict, inside the transaction that is open."""
    payload = dumped(one.flat())
    number = journal.add_record(db, one.id, BOOK, payload, None)
    project_record(db, number, one.id, BOOK, payload)


# -------------------------------------------------------------------------------------------------------- finding


def of_session(session: str, ours: Sequence[EventRow], theirs: Sequence[EventRow]) -> Iterator[Conflict]:
    """Conflicts between what only one and what only the other machine has of a session."""
    for kind, held, others in (
        (ConflictKind.REMARK, _by_key(ours, "Said"), _by_key(theirs, "Said")),
        (ConflictKind.ENTRY, _by_key(ours, *_ENTRIES), _by_key(theirs, *_ENTRIES)),
        (ConflictKind.OUTCOME, _by_key(ours, "AnimalLeft"), _by_key(theirs, "AnimalLeft")),
    ):
        for key in held.keys() & others.keys():
            if held[key] != others[key]:
                subject = f"{session}/{key}" if kind is ConflictKind.OUTCOME else key
                yield Conflict(kind, subject, tuple(sorted((held[key], others[key]))))


_ENTRIES = ("EntryMade", "EntrySuperseded")


def _by_key(rows: Sequence[EventRow], *names: str) -> dict[str, str]:
    """What events of these types are about → what the last of them says of it."""
    found: dict[str, str] = {}
    for name, text in rows:
        if name in names:
            payload = json.loads(text)
            if name == "AnimalLeft":
                found[str(payload["animal"])] = dumped(payload["outcome"])
            else:
                what = payload["remark" if name == "Said" else "entry"]
                found[str(what["id"])] = dumped(what)
    return found


def entry_text(row: EventRow) -> str | None:
    """What an event says of its entry, in the form of a conflict's side; None if it makes none."""
    name, text = row
    return dumped(json.loads(text)["entry"]) if name in _ENTRIES else None


def corrected_twice(db: Database) -> Iterator[Conflict]:
    """Entries in whose place two machines each put something else; both hold until one is withdrawn."""
    rows = db.execute(
        "SELECT supersedes, json_group_array(json_object('id', id, 'animal', animal, 'part', json(flat), "
        "'state', state, 'time', time, 'by', by)) "
        "FROM entry WHERE supersedes IS NOT NULL GROUP BY supersedes HAVING count(*) > 1"
    )
    for subject, sides in rows.fetchall():
        yield Conflict(ConflictKind.CORRECTED, subject, tuple(sorted(dumped(side) for side in json.loads(sides))))

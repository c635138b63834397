"""The store as its callers see it: animals, sounds kept first, sessions as events, and what is read from them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Concatenate, ParamSpec, Self, TypeVar

from sqlite_utils import Database

from assistant.errors import BadStore
from assistant.session.events import Said, Started, flat_event
from assistant.session.state import Policy
from assistant.store import check, conflict, journal, keeping, outlook, query, retention
from assistant.store.animal_row import animal_from_flat, animal_to_flat
from assistant.store.backup import Copied, back_up
from assistant.store.conflict import Conflict
from assistant.store.connection import connected, writing
from assistant.store.fault import faults_told
from assistant.store.merging import Merged, merge
from assistant.store.projection import dumped, project_animal, project_record, rebuild
from assistant.store.query import Count, FollowUp, History, PendingSound, Treatment
from assistant.store.retention import KeptSound
from assistant.store.sound_file import folder_of
from assistant.values import Animal, Entry, Remark, SessionInfo, Sound
from assistant.values.book import Record, book_of, record_from_flat, record_to_flat
from assistant.values.outlook import Head

R = TypeVar("R")
Q = ParamSpec("Q")


class Store:
    """One SQLite file and the folder of sounds beside it; to be used from the thread that opened it.

    Every method raises `BadStore` if the file or disk fails; nothing of the call is kept then.
    """

    def __init__(self, path: Path, db: Database, *, read_only: bool = False) -> None:
        self.path = path
        self.sounds = folder_of(path)
        self.is_read_only = read_only
        self._db = db

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Store:
        """Opens a store, and makes it if there is none; takes in sounds that a killed program left without a record.

        Raises:
            BadStore: not a store, damaged, from a newer program, not to be written to, no room, or held by another
                program.
        """
        path = Path(path)
        store = cls(path, connected(path, read_only=read_only), read_only=read_only)
        if not read_only:
            try:
                keeping.tidy(store._db, path)
            except BadStore:
                store.close()
                raise
        return store

    def close(self) -> None:
        """Closes the file; what was kept is on the disk already."""
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    # ------------------------------------------------------------------------------------------------------ animals

    def animals(self) -> tuple[Animal, ...]:
        """The register as it is now, in the order in which animals were first saved."""
        with self._reading():
            rows = self._db.execute("SELECT payload FROM animal ORDER BY number").fetchall()
            return tuple(animal_from_flat(json.loads(payload)) for (payload,) in rows)

    def newest_animal(self) -> int:
        """Number of the latest version of any animal, 0 if there is none: while it is the same, the register is."""
        with self._reading():
            (number,) = self._db.execute("SELECT coalesce(max(number), 0) FROM animal_version").fetchone()
            return int(number)

    def save_animals(self, animals: Iterable[Animal], time: datetime | None = None) -> None:
        """Saves animals: each that is new or changed gets one more version; those not named stay as they are.

        Args:
            animals: all or some of the register.
            time: when, for the record.
        """
        with self._writing():
            for animal in animals:
                payload = dumped(animal_to_flat(animal))
                held = self._db.execute("SELECT payload FROM animal WHERE id = ?", (animal.id,)).fetchone()
                if held is None or held[0] != payload:
                    number = journal.add_animal(self._db, animal.id, payload, time.isoformat() if time else None)
                    project_animal(self._db, number, animal.id, payload)

    def heads(self) -> tuple[Head, ...]:
        """What the lists need of every animal of the register, in the order of saving."""
        return self.ask(outlook.heads)

    # -------------------------------------------------------------------------------------------------------- books

    def save_record(self, record: Record, time: datetime | None = None) -> None:
        """Saves a record of one of the holding's books: the first version, or one more under the same id.

        Args:
            record: see `assistant.values.book`.
            time: when, for the record.
        """
        book, payload = book_of(type(record)), dumped(record_to_flat(record))
        with self._writing():
            number = journal.add_record(self._db, record.id, book, payload, time.isoformat() if time else None)
            project_record(self._db, number, record.id, book, payload)

    def records(self, kind: type[R]) -> tuple[R, ...]:
        """All records of a type that hold now, in the order of their first saving; withdrawn ones left out."""
        with self._reading():
            rows = self._db.execute("SELECT payload FROM record WHERE kind = ? ORDER BY number", (book_of(kind),))
            made = (record_from_flat(book_of(kind), json.loads(payload)) for (payload,) in rows.fetchall())
            return tuple(record for record in made if not record.is_withdrawn)

    # ------------------------------------------------------------------------------------------------------- sounds

    def keep_sound(self, session: str, sound: Sound, time: datetime, by: str = "") -> str:
        """Keeps the sound of a remark before anything tries to understand it. On return it is on the disk, synced.

        Args:
            session: id of the session; it need not have begun.
            sound: one remark, any rate that FLAC holds; `start_s` is its place in the session's recording.
            time: when it began.
            by: who said it.

        Returns:
            The id of the remark, pending from now on.

        Raises:
            BadAudio: no samples, or samples that are not numbers.
            BadStore: no room; or the file is written but not its record, which is then made on the next opening.
        """
        self._refuse_read_only()
        return keeping.keep(self._db, self.path, session, sound, time, by)

    def pending(self) -> tuple[PendingSound, ...]:
        """Remarks that are kept as sound and not settled yet, oldest first."""
        with self._reading():
            return query.pending(self._db)

    def sound(self, remark: str) -> Sound:
        """The sound of a remark.

        Raises:
            BadStore: there is none, or it is not as it was kept.
        """
        with self._reading():
            return keeping.sound(self._db, self.path, remark)

    def with_sound(self, session: str) -> tuple[str, ...]:
        """Ids of the remarks of a session that have a sound, in the order of keeping."""
        with self._reading():
            return query.with_sound(self._db, session)

    def flac(self, remark: str) -> bytes:
        """The sound of a remark as the FLAC file that it was kept in.

        Raises:
            BadStore: there is none, or it is not as it was kept.
        """
        with self._reading():
            return keeping.flac(self._db, self.path, remark)

    def settle(
        self, remark: Remark, events: Sequence[Mapping[str, Any]] = (), expected_version: int | None = None
    ) -> int:
        """A remark was understood, or found not to be: it is recorded with its events in one transaction.

        Args:
            remark: spoken (its sound was pending) or typed.
            events: what it led to, flat; the remark's own "Said" is put before them unless it is among them.
            expected_version: of the session; None takes it as it is.

        Returns:
            The session's version with all of them.

        Raises:
            BadStore: settled already, another writer was quicker, or the session has not begun.
        """
        with self._writing():
            db = self._db
            if db.execute("SELECT 1 FROM remark WHERE id = ?", (remark.id,)).fetchone():
                raise BadStore(f"Remark {remark.id} is settled already; nothing was recorded twice.")
            held = db.execute("SELECT session, file FROM sound WHERE remark = ?", (remark.id,)).fetchone()
            if held and held[0] != remark.session:
                raise BadStore(f"Remark {remark.id} was said in session {held[0]}, not in {remark.session}.")
            if not any(_is_said(event, remark.id) for event in events):
                events = (flat_event(Said(remark)), *events)
            if held:
                events = [_with_file(event, held[1]) if _is_said(event, remark.id) else event for event in events]
            version = journal.version(db, remark.session) if expected_version is None else expected_version
            return journal.add_events(db, remark.session, version, events)

    # ----------------------------------------------------------------------------------------------------- sessions

    def begin(self, info: SessionInfo, policy: Policy = Policy.NORMAL) -> int:
        """Begins a session: its "Started" is kept as the first event; gives the session's version, 1.

        Raises:
            BadStore: the session has begun already.
        """
        started = Started(info.id, info.started, info.planned, info.by, info.source, policy)
        return self.append(info.id, 0, [flat_event(started)])

    def append(self, session: str, expected_version: int, events: Sequence[Mapping[str, Any]]) -> int:
        """Adds events to a session; all are on the disk when it returns, or none is kept.

        Args:
            session: its id.
            expected_version: how many events the caller knows the session to have.
            events: flat, see `assistant.session.events.flat_event`. A "Said" settles its remark.

        Returns:
            The session's version with them.

        Raises:
            BadStore: another writer was quicker, or an event is not whole.
        """
        with self._writing():
            return journal.add_events(self._db, session, expected_version, events)

    def version(self, session: str) -> int:
        """How many events a session has; 0 if it has not begun."""
        with self._reading():
            return journal.version(self._db, session)

    def events(self, session: str) -> Iterator[dict[str, Any]]:
        """The events of a session in order, flat, exactly as they were added."""
        with self._reading():
            yield from journal.events(self._db, session)

    def sessions(self) -> tuple[SessionInfo, ...]:
        """Every session in the order of their beginning."""
        with self._reading():
            return query.sessions(self._db)

    def remarks(self, session: str) -> tuple[Remark, ...]:
        """What was said in a session: settled remarks in the order of settling, then pending ones without words."""
        with self._reading():
            return query.remarks(self._db, session)

    # ------------------------------------------------------------------------------------------------------ reading

    def entries(
        self, session: str | None = None, animal: str | None = None, *, live_only: bool = True
    ) -> tuple[Entry, ...]:
        """Entries in the order of recording; `live_only` leaves out superseded and withdrawn ones."""
        with self._reading():
            return query.entries(self._db, session, animal, live_only=live_only)

    def history(self, animal: str, before: str | None = None) -> History:
        """What is known of an animal from the sessions that began before session `before`, or from all."""
        with self._reading():
            return query.history(self._db, animal, before)

    def counts(self, kind: str = "finding", since: date | None = None, until: date | None = None) -> tuple[Count, ...]:
        """How often each finding, action … was recorded at each place over the whole herd, days included."""
        with self._reading():
            return query.counts(self._db, kind, since, until)

    def last_days(self, what: str = "trimmed", kind: str = "action") -> dict[str, date]:
        """Animal → day on which something was last recorded on it: who is due for a trim."""
        with self._reading():
            return query.last_days(self._db, kind, what)

    def follow_ups(self, until: date | None = None) -> tuple[FollowUp, ...]:
        """What is to be done, earliest first, undated last; up to a day (then without undated ones), or all."""
        with self._reading():
            return query.follow_ups(self._db, until)

    def treatments(self, animal: str | None = None) -> tuple[Treatment, ...]:
        """Actions with a medicine, in the order of recording."""
        with self._reading():
            return query.treatments(self._db, animal)

    def ask(self, query: Callable[Concatenate[Database, Q], R], *args: Q.args, **keys: Q.kwargs) -> R:
        """What one of the questions of `assistant.store.outlook` answers.

        Args:
            query: the question, such as `outlook.traits`.
            *args: what else it takes.
            **keys: the same by name.
        """
        with self._reading():
            return query(self._db, *args, **keys)

    # ------------------------------------------------------------------------------------------------------- upkeep

    def back_up(self, target: Path, extras: Mapping[str, Path]) -> Copied:
        """Writes everything into one file; see `assistant.store.backup`."""
        with self._reading():
            return back_up(self._db, self.path, target, extras)

    def kept_sounds(self, needed: Iterable[str] = ()) -> tuple[KeptSound, ...]:
        """Sounds that were not removed, oldest first; `needed` are remarks that wait for a decision."""
        with self._reading():
            return retention.kept_sounds(self._db, self.sounds, needed)

    def remove_sounds(self, sounds: Sequence[KeptSound], reason: str, now: datetime) -> None:
        """Removes sounds for good; what was understood stays. See `assistant.store.retention`."""
        self._refuse_read_only()
        retention.remove(self._db, self.path, sounds, reason, now)

    def merge(self, other: Path) -> Merged:
        """Brings what another machine's store has into this one; see `assistant.store.merging`."""
        self._refuse_read_only()
        return merge(self._db, self.path, other)

    def conflicts(self) -> tuple[Conflict, ...]:
        """On what merged machines differ, settled ones too, in the order of finding."""
        with self._reading():
            return conflict.conflicts(self._db)

    def settle_conflict(self, key: str) -> None:
        """The keeper has seen to a conflict.

        Raises:
            BadStore: there is no such conflict.
        """
        known = {one.id: one for one in self.conflicts()}
        if key not in known:
            raise BadStore(f"There is no conflict {key} in {self.path}.")
        with self._writing():
            conflict.save(self._db, replace(known[key], is_settled=True))

    def rebuild(self) -> None:
        """Drops the tables for reading and makes them again from the append-only ones."""
        with self._writing():
            rebuild(self._db)

    def check(self) -> tuple[str, ...]:
        """What is wrong with the store, one sentence each; reads all of it, changes nothing."""
        with self._reading():
            return tuple(check.problems(self._db, self.sounds))

    def _refuse_read_only(self) -> None:
        if self.is_read_only:
            raise BadStore(f"{self.path} was opened for reading only.")

    @contextmanager
    def _reading(self) -> Iterator[None]:
        with faults_told(self.path):
            try:
                yield
            except (ValueError, KeyError, TypeError) as error:
                raise BadStore(f"{self.path} has a record that cannot be read ({error}). Check the store.") from error

    @contextmanager
    def _writing(self) -> Iterator[None]:
        self._refuse_read_only()
        with writing(self._db, self.path):
            yield


def _is_said(event: Mapping[str, Any], remark: str) -> bool:
    return bool(event.get("type") == "Said" and event["remark"]["id"] == remark)


def _with_file(said: Mapping[str, Any], file: str) -> dict[str, Any]:
    """The event with the name of the file of its sound: only the store knows it."""
    return {**said, "remark": {**said["remark"], "audio": file}}

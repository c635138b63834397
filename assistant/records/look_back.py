"""A session's summary, from what the store holds of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assistant.errors import BadStore
from assistant.husbandry.follow_up import is_now
from assistant.husbandry.practice import Practice
from assistant.records.look_ahead import LookAhead
from assistant.report.summary import Outcome, Summary, ToDo, summary
from assistant.session.events import EVENT_TYPES, Event, event_value
from assistant.session.fold import replay
from assistant.store.store import Store
from assistant.values import Entry, SessionInfo


def session_summary(store: Store, key: str | None = None, practice: Practice | None = None) -> Summary:
    """The summary of one session.

    Args:
        store: where it is.
        key: the session's id or the beginning of it; None for the last.
        practice: the holding's rules, to say what is still due from before; None leaves that out.

    Raises:
        BadStore: there is no such session, or several.
    """
    info = session_info(store, key)
    found = summary_of(store, info, events_of(store, info.id), store.entries(info.id))
    return found if practice is None else replace(found, still_due=_still_due(store, practice, found))


def _still_due(store: Store, practice: Practice, of: Summary) -> tuple[ToDo, ...]:
    """What was asked for before a session, was due by its day, and was not done in it; of the animals it was for."""
    ahead = LookAhead(store, practice, of.session.ended or of.session.started)
    animals = {one.id: one for one in (*(card.animal for card in of.cards), *of.left)}
    return tuple(
        ToDo(one.due, animals[one.asked.animal], one.asked.what)
        for one in ahead.follow_ups()
        if is_now(one) and one.asked.animal in animals and one.asked.said < of.session.started.date()
    )


def summary_of(store: Store, info: SessionInfo, events: Sequence[Event], entries: Sequence[Entry]) -> Summary:
    """The summary of a session whose events and live entries are read already."""
    state = replay(events)
    outcomes = {animal: Outcome(True) for animal in state.done} | {
        animal: Outcome(False, reason) for animal, reason in state.skipped.items()
    }
    remarks = {remark.id: remark for remark in store.remarks(info.id)} if state.review else {}
    review = [remarks[item] for item in state.review if item in remarks]
    animals = {animal.id: animal for animal in store.animals()}
    return summary(info, animals, entries, outcomes, review)


def events_of(store: Store, session: str) -> list[Event]:
    """The events of a session as values; those of a type that this program does not know are left out.

    Raises:
        BadStore: an event is not what it was.
    """
    found = []
    for n, flat in enumerate(store.events(session), 1):
        try:
            if flat["type"] in EVENT_TYPES:
                found.append(event_value(flat))
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise BadStore(
                f"Event {n} of session {session} in {store.path} is damaged ({error}). Other sessions can be "
                "used; for this one keep the file as it is, and go on with a copy of the last backup."
            ) from error
    return found


def session_info(store: Store, key: str | None = None) -> SessionInfo:
    """The session whose id begins with `key`; the last one if it is None.

    Raises:
        BadStore: there is no such session, or several.
    """
    sessions = store.sessions()
    if not sessions:
        raise BadStore(f"{store.path} has no session yet. Record one with: assistant session --from FILE")
    if key is None:
        return sessions[-1]
    found = [info for info in sessions if info.id.startswith(key)]
    if len(found) != 1:
        ids = ", ".join(info.id[:8] for info in (found or sessions)[-8:])
        raise BadStore(f"{'Several sessions begin' if found else 'No session begins'} with {key!r}. There are: {ids}.")
    return found[0]

"""From events to state: the only place where a session's state changes, live and in a replay alike."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import reduce
from typing import Any

from assistant.session.events import (
    AnimalCaught,
    AnimalLeft,
    EntryMade,
    EntrySuperseded,
    Event,
    Finished,
    GapsTold,
    Paused,
    QuestionAnswered,
    QuestionAsked,
    RemarkHeld,
    RemarkKept,
    Replied,
    Resumed,
    Reviewed,
    ScopeOpened,
    Started,
    TableDoubted,
    TableSure,
    Undone,
)
from assistant.session.state import ACTS_KEPT, Act, Doubt, OutcomeKind, QuestionKind, SessionState, Table
from assistant.values import Entry, Scope, SessionInfo, State


def replay(events: Iterable[Event]) -> SessionState:
    """The state that a session's kept events lead to; inputs among them change nothing."""
    return reduce(applied, events, SessionState())


def applied(state: SessionState, event: Event) -> SessionState:
    """The state after one kept event."""
    change = _CHANGES.get(type(event))
    return change(state, event) if change else state


def _acted(state: SessionState, remark: str) -> SessionState:
    """The state with `remark` as the last that changed something: what "scratch" takes back."""
    if state.acts and state.acts[-1].remark == remark:
        return state
    return replace(state, acts=(*state.acts, Act(remark, state.table))[-ACTS_KEPT:])


def _started(_: SessionState, event: Started) -> SessionState:
    info = SessionInfo(event.session, event.time, None, event.planned, event.by, event.source)
    return SessionState(info=info, policy=event.policy, is_attended=event.is_attended)


def _caught(state: SessionState, event: AnimalCaught) -> SessionState:
    state = _acted(state, event.remark)
    return replace(state, table=replace(state.table, animal=event.animal, scope=Scope(), gaps=None), doubt=None)


def _left(state: SessionState, event: AnimalLeft) -> SessionState:
    state = _acted(state, event.remark)
    before = state.table.outcomes.get(event.animal)
    outcomes = {key: outcome for key, outcome in state.table.outcomes.items() if key != event.animal}
    is_done_already = before is not None and before.kind is OutcomeKind.DONE
    outcomes[event.animal] = before if before and is_done_already else event.outcome
    departures = state.table.departures
    if event.outcome.kind is OutcomeKind.DONE:
        departures = (*departures, event.time)
    return replace(state, table=Table(outcomes=outcomes, departures=departures), doubt=None)


def _gaps_told(state: SessionState, event: GapsTold) -> SessionState:
    state = _acted(state, event.remark)
    return replace(state, table=replace(state.table, gaps=event.gaps, scope=Scope()))


def _with_entry(state: SessionState, entry: Entry) -> SessionState:
    return replace(state, entries={**state.entries, entry.animal: (*state.entries_of(entry.animal), entry)})


def _made(state: SessionState, event: EntryMade) -> SessionState:
    return _with_entry(_acted(state, event.entry.remark), event.entry)


def _superseded(state: SessionState, event: EntrySuperseded) -> SessionState:
    holder = next((key for key, held in state.entries.items() if any(e.id == event.old for e in held)), None)
    if holder is not None:
        rest = tuple(entry for entry in state.entries[holder] if entry.id != event.old)
        state = replace(state, entries={**state.entries, holder: rest})
    if event.entry.state is State.WITHDRAWN:
        return state
    return _with_entry(_acted(state, event.entry.remark), event.entry)


def _undone(state: SessionState, event: Undone) -> SessionState:
    for index in range(len(state.acts) - 1, -1, -1):
        if state.acts[index].remark == event.remark:
            return replace(state, table=state.acts[index].before, acts=state.acts[:index])
    return state


def _kept(state: SessionState, event: RemarkKept) -> SessionState:
    is_new = event.to_review and event.remark not in state.review
    review = (*state.review, event.remark) if is_new else state.review
    proposed = {**state.proposed, event.remark: event.animals} if event.animals else state.proposed
    state = replace(state, review=review, proposed=proposed, n_kept=state.n_kept + 1)
    return replace(state, doubt=_without(state, event.remark))


def _without(state: SessionState, remark: str) -> Doubt | None:
    """The doubt when a remark waits no longer; where nobody is on the table and nothing waits, there is none."""
    if state.doubt is None:
        return None
    held = tuple(one for one in state.doubt.held if one.remark != remark)
    return replace(state.doubt, held=held) if held or state.animal else None


def _doubted(state: SessionState, event: TableDoubted) -> SessionState:
    """The open place is closed: it is one of the animal that may have gone."""
    doubt = state.doubt or Doubt()
    likely = tuple(dict.fromkeys((*event.animals, *doubt.likely)))
    table = replace(state.table, scope=Scope())
    return replace(state, table=table, doubt=replace(doubt, likely=likely, is_asked=False))


def _held(state: SessionState, event: RemarkHeld) -> SessionState:
    doubt = state.doubt or Doubt()
    return replace(state, doubt=replace(doubt, held=(*doubt.held, event.held)))


def _sure(state: SessionState, _: TableSure) -> SessionState:
    """An animal that there is more to say of is not done yet, even if "done" was said before."""
    return replace(state, table=replace(state.table, gaps=None), doubt=None)


def _asked(state: SessionState, event: QuestionAsked) -> SessionState:
    doubt = state.doubt
    if doubt and event.question.kind is QuestionKind.STILL:
        doubt = replace(doubt, is_asked=True)
    return replace(state, question=event.question, doubt=doubt)


def _replied(state: SessionState, event: Replied) -> SessionState:
    return replace(state, last_reply=event.text) if event.text else state


def _reviewed(state: SessionState, event: Reviewed) -> SessionState:
    waiting = tuple(remark for remark in state.review if remark not in event.closed)
    again = tuple(remark for remark in event.reopened if remark not in waiting)
    return replace(state, review=waiting + again)


def _finished(state: SessionState, event: Finished) -> SessionState:
    info = replace(state.info, ended=event.time) if state.info else None
    return replace(state, info=info, is_paused=False)


_CHANGES: dict[type[Any], Callable[[SessionState, Any], SessionState]] = {
    Started: _started,
    AnimalCaught: _caught,
    AnimalLeft: _left,
    GapsTold: _gaps_told,
    EntryMade: _made,
    EntrySuperseded: _superseded,
    Undone: _undone,
    ScopeOpened: lambda state, event: replace(state, table=replace(state.table, scope=event.scope)),
    RemarkKept: _kept,
    TableDoubted: _doubted,
    RemarkHeld: _held,
    TableSure: _sure,
    QuestionAsked: _asked,
    QuestionAnswered: lambda state, _: replace(state, question=None),
    Paused: lambda state, _: replace(state, is_paused=True),
    Resumed: lambda state, _: replace(state, is_paused=False),
    Replied: _replied,
    Reviewed: _reviewed,
    Finished: _finished,
}

"""Kept sounds are heard again: as the holding's own test set, and for what would be read differently today."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from assistant.errors import BadStore
from assistant.interpreter import Interpreter
from assistant.learning.kept_remark import KeptRemark, Proposal, kept_remarks, proposal
from assistant.listening.pool import Hearers
from assistant.live.handling import Judge
from assistant.meaning.canonical import meaning_key
from assistant.measuring.evaluate import Case, Examiner, Score, evaluate
from assistant.records.look_back import events_of
from assistant.store.store import Store
from assistant.values import Decision, Sound, recordable


def all_kept(store: Store, sessions: Collection[str] = (), *, is_spoken: bool = True) -> Iterator[KeptRemark]:
    """The spoken remarks of a store, session by session; or the typed ones.

    Args:
        store: where they are.
        sessions: ids, or the beginnings of ids; all sessions if empty.
        is_spoken: False for the typed ones.

    Raises:
        BadStore: an id fits no session.
    """
    infos = store.sessions()
    for wanted in sessions:
        if not any(info.id.startswith(wanted) for info in infos):
            raise BadStore(
                f"No session of {store.path} begins with {wanted!r}. See them with: assistant summary --list"
            )
    for info in infos:
        if not sessions or any(info.id.startswith(wanted) for wanted in sessions):
            yield from kept_remarks(info.id, events_of(store, info.id), is_spoken=is_spoken)


def with_sound(store: Store, kept: Iterable[KeptRemark]) -> Iterator[tuple[KeptRemark, Sound]]:
    """The remarks whose sound is still there and whole."""
    for one in kept:
        try:
            yield one, store.sound(one.remark.id)
        except BadStore:
            continue


def own_score(store: Store, interpreter: Interpreter, judge: Judge) -> Score:
    """How well the remarks are heard that the keeper has confirmed or put right.

    Raises:
        BadStore: there is none with its sound.
    """
    settled = [
        (Case(one.remark.id, "expect", [fact.flat() for fact in one.facts], one.scope), sound)
        for one, sound in with_sound(store, (one for one in all_kept(store) if one.is_settled))
    ]
    if not settled:
        raise BadStore(
            f"No spoken remark of {store.path} has been confirmed or put right yet. Do that with: assistant review"
        )

    def guess(case: Case, words: str) -> Sequence[object]:
        return [part.flat() for part in recordable(interpreter.heard(words, case.scope).parts)]

    return evaluate(settled, Examiner(judge, guess, lambda _, parts: meaning_key(parts, interpreter.same_animal)))


def proposals(
    store: Store, kept: Iterable[KeptRemark], interpreter: Interpreter, pool: Hearers
) -> Iterator[tuple[KeptRemark, Proposal | None]]:
    """Each remark that has its sound, with what hearing it again would change; the store is only read."""
    for one, _, verdict in pool.in_order(with_sound(store, kept)):
        words = verdict.choices[0] if verdict.choices else ""
        meaning = interpreter.heard(words, one.scope)
        is_sure = verdict.decision is Decision.ACCEPTED
        yield one, proposal(one, words, meaning, interpreter.same_animal, is_sure=is_sure)

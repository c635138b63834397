"""Remarks whose sound was kept, beside what stands on record from them now.

They are the holding's own test set, and what better listeners or new words can be tried on. No record changes here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from assistant.meaning.canonical import MeaningKey, meaning_key
from assistant.session.events import EntryMade, EntrySuperseded, Event, RemarkKept, Reviewed, Said
from assistant.session.fold import applied
from assistant.session.review import Review
from assistant.session.state import SessionState
from assistant.values import Entry, Meaning, Part, Remark, Scope, State, recordable


@dataclass(frozen=True)
class KeptRemark:
    """One remark of an earlier session.

    Attributes:
        remark: as it was understood then.
        scope: the place that was open before it.
        facts: what stands on record from it now; if a later remark has changed that, what it was taken for.
        is_settled: the keeper has confirmed, put right or withdrawn all of it.
        is_open: it waits for a decision.
    """

    remark: Remark
    scope: Scope
    facts: tuple[Part, ...]
    is_settled: bool
    is_open: bool


def kept_remarks(session: str, events: Iterable[Event], *, is_spoken: bool = True) -> list[KeptRemark]:
    """The spoken remarks of one session, in the order in which they were understood; or the typed ones.

    Args:
        session: its id.
        events: all of them, in order.
        is_spoken: False for the typed ones.
    """
    state = SessionState()
    said: list[tuple[Remark, Scope]] = []
    entries: list[Entry] = []
    decisions: list[RemarkKept | Reviewed] = []
    for event in events:
        if isinstance(event, Said) and (event.remark.verdict is not None) == is_spoken:
            said.append((event.remark, state.scope))
        elif isinstance(event, EntryMade | EntrySuperseded):
            entries.append(event.entry)
        elif isinstance(event, RemarkKept | Reviewed):
            decisions.append(event)
        state = applied(state, event)
    review = Review.of(session, entries, decisions)
    return [_kept(review, remark, scope) for remark, scope in said]


def _kept(review: Review, remark: Remark, scope: Scope) -> KeptRemark:
    tips = [versions[-1] for versions in review.lines.values() if versions[0].remark == remark.id]
    is_open = remark.id in review.open
    if any(tip.remark != remark.id for tip in tips):
        # "Scratch that" and "no, left fore" tell how the keeper changed the record, not what was said here.
        return KeptRemark(remark, scope, recordable(remark.meaning.parts), False, is_open)
    is_settled = bool(tips) and all(tip.state is not State.HEARD for tip in tips)
    facts = tuple(tip.part for tip in tips if tip.state is not State.WITHDRAWN)
    return KeptRemark(remark, scope, facts, is_settled, is_open)


@dataclass(frozen=True)
class Proposal:
    """A remark that would be taken for something else today.

    Attributes:
        kept: the remark.
        words: what it is taken for today; empty if nobody hears a sentence.
        meaning: what that means.
        is_sure: whether the listeners agree today.
    """

    kept: KeptRemark
    words: str
    meaning: Meaning
    is_sure: bool


def proposal(
    kept: KeptRemark, words: str, meaning: Meaning, who: Callable[[str], str], *, is_sure: bool
) -> Proposal | None:
    """What hearing a remark again would change; None if it means what it was taken for.

    A remark that waits for a decision gives a proposal if it is sure today. One that stands on record gives none if
    nobody hears a sentence in it today: that tells nothing against the record.

    Args:
        kept: the remark.
        words: what it is taken for today.
        meaning: of these words, with the place that was open then.
        who: gives mentions of the same animal the same text.
        is_sure: whether the listeners agree today.
    """
    if kept.is_open:
        return Proposal(kept, words, meaning, is_sure) if is_sure else None
    if not words or _key(meaning.parts, who) == _key(_taken_for(kept), who):
        return None
    return Proposal(kept, words, meaning, is_sure)


def _taken_for(kept: KeptRemark) -> list[Part]:
    parts = kept.remark.meaning.parts
    others = set(parts) - set(recordable(parts))
    return [*kept.facts, *(part for part in parts if part in others)]


def _key(parts: Sequence[Part], who: Callable[[str], str]) -> MeaningKey:
    return meaning_key(parts, who)

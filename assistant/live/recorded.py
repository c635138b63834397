"""A recording goes through a session: cut into remarks, each heard, understood and recorded in turn."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from assistant.listening.pool import ListeningPool
from assistant.live.farm import Farm
from assistant.live.handling import Handling, Judge, Outcome, Pending, Unfinished
from assistant.session.replies import Reply
from assistant.session.state import Policy
from assistant.sound.endpoint import remarks
from assistant.sound.recording import blocks
from assistant.store.claim import Claims, claims
from assistant.store.store import Store
from assistant.values import SessionInfo

KEPT_SOUND = "kept sound"
"""Source of a session of which only sounds were left."""


@dataclass(frozen=True)
class Run:
    """One session about to be recorded.

    Attributes:
        planned: ids of the animals that are to be handled.
        started: when the recording or the typing began.
        source: name of the recording, "microphone", or "typed".
        claims: the sessions that this program records.
        clock_note: what is wrong with the clock by which it begins, in one sentence; empty if nothing can be seen.
    """

    store: Store
    farm: Farm
    planned: Sequence[str]
    started: datetime
    source: str
    policy: Policy = Policy.NORMAL
    claims: Claims | None = None
    clock_note: str = ""

    def begin(self, judge: Judge | None = None, *, is_attended: bool = True) -> tuple[Handling, str]:
        """Starts the session; gives it and its id.

        Args:
            judge: what the listeners make of one remark; None if it is typed, or listened to elsewhere.
            is_attended: whether the keeper hears what is said back; False for a recording.
        """
        key = str(uuid.uuid4())
        if self.claims is not None:
            self.claims.claim(key)
        handling = self.farm.handling(self.store, key, judge)
        info = SessionInfo(key, self.started, planned=tuple(self.planned), source=self.source)
        handling.begin(info, self.policy, is_attended=is_attended)
        return handling, key


def check_recording(recording: Path) -> None:
    """Reads the beginning of a recording, so that a bad one is refused before listeners are started.

    Raises:
        BadAudio: it cannot be read as sound.
    """
    next(blocks(recording), None)


def hear_recording(handling: Handling, recording: Path, started: datetime, pool: ListeningPool) -> Iterator[Outcome]:
    """Each remark of a recording with what it came to; memory does not grow with its length.

    Every remark is on the disk before a listener has it; they are understood in the order in which they were said.

    Raises:
        BadAudio: the recording is none, or breaks off; what was said before that is kept and understood first.
    """
    kept = (
        ((handling.keep(sound, time), time), sound)
        for sound in remarks(blocks(recording))
        for time in [started + timedelta(seconds=sound.start_s)]
    )
    for (key, time), sound, verdict in pool.in_order(kept):
        yield handling.take(key, sound, time, verdict)


def end_recording(handling: Handling, started: datetime, length_s: float) -> tuple[Reply, ...]:
    """Ends the session where the recording ends, if nobody said so in it."""
    return handling.end(started + timedelta(seconds=length_s))


def unfinished(store: Store, farm: Farm, claimed: Claims | None = None) -> Iterator[Unfinished]:
    """Remarks that a program which was stopped had kept as sound only, in the order of their keeping.

    Those of a session that a program is recording now are left to it. Sounds whose session is not in the store, as
    after the store file alone was lost, get a session of their own.

    Args:
        store: where they are.
        farm: the holding.
        claimed: the sessions that this program records; those with such remarks are added to them.
    """
    with claims(store.path) as own:
        handlings: dict[str, Handling] = {}
        for item in store.pending():
            if not (claimed or own).claim(item.session):
                continue
            if item.session not in handlings:
                handlings[item.session] = _reopened(store, farm, item)
            sound = store.sound(item.remark)
            yield Unfinished(sound, partial(handlings[item.session].take_pending, item, sound))


def _reopened(store: Store, farm: Farm, item: Pending) -> Handling:
    handling = farm.handling(store, item.session, None)
    handling.reopen(item.session)
    if handling.state.info is None:
        handling.begin(SessionInfo(item.session, item.time, source=KEPT_SOUND), is_attended=False)
    return handling


def finish_pending(store: Store, farm: Farm, judge: Judge, claimed: Claims | None = None) -> int:
    """Understands remarks that a program which was stopped had kept as sound only; gives how many."""
    n_pending = 0
    for item in unfinished(store, farm, claimed):
        item.take(judge(item.sound))
        n_pending += 1
    return n_pending

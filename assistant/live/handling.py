"""One remark or typed line from start to end: kept, heard, understood, carried out, recorded, answered."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Protocol

from assistant.interpreter import Interpreter
from assistant.register.mention import Context
from assistant.session.events import (
    Ended,
    EntryMade,
    EntrySuperseded,
    Event,
    Replied,
    Said,
    Started,
    TimedOut,
    event_value,
    flat_event,
)
from assistant.session.fold import replay
from assistant.session.in_part import agreed_facts
from assistant.session.replies import Reply, ReplyKind
from assistant.session.state import ANSWER_S, Policy, SessionState
from assistant.session.step import step
from assistant.session.world import World
from assistant.values import Decision, Entry, Meaning, Part, Remark, SessionInfo, Sound, State, Verdict

Judge = Callable[[Sound], Verdict]


class Pending(Protocol):
    """A remark that is kept as sound and not understood yet."""

    @property
    def remark(self) -> str: ...
    @property
    def session(self) -> str: ...
    @property
    def time(self) -> datetime: ...
    @property
    def by(self) -> str: ...


class Keeper(Protocol):
    """What keeps a session: see `assistant.store.store.Store`."""

    def keep_sound(self, session: str, sound: Sound, time: datetime, by: str = "") -> str: ...
    def settle(
        self, remark: Remark, events: Sequence[Mapping[str, Any]] = (), expected_version: int | None = None
    ) -> int: ...
    def append(self, session: str, expected_version: int, events: Sequence[Mapping[str, Any]]) -> int: ...
    def events(self, session: str) -> Iterable[Mapping[str, Any]]: ...
    def sound(self, remark: str) -> Sound: ...


@dataclass(frozen=True)
class Outcome:
    """What one remark came to.

    Attributes:
        remark: with its words, meaning and verdict.
        replies: what to tell the keeper.
        entries: the facts that it put on record.
    """

    remark: Remark
    replies: tuple[Reply, ...]
    entries: tuple[Entry, ...] = ()


@dataclass(frozen=True)
class Unfinished:
    """A remark that a stopped program left: its sound, and what takes the verdict on it."""

    sound: Sound
    take: Callable[[Verdict], Outcome]


class Handling:
    """One session as it goes on.

    Args:
        keeper: the store; all is on the disk before a reply is given.
        interpreter: meaning and animals.
        world: the herd as the session sees it.
        judge: what the listeners make of one remark; None for a typed session.
    """

    def __init__(self, keeper: Keeper, interpreter: Interpreter, world: World, judge: Judge | None = None) -> None:
        self._keeper = keeper
        self._interpreter = interpreter
        self._world = world
        self._judge = judge
        self.state = SessionState()
        self._version = 0
        self._asked: datetime | None = None
        self._latest: datetime | None = None

    def begin(
        self, info: SessionInfo, policy: Policy = Policy.NORMAL, *, is_attended: bool = True
    ) -> tuple[Reply, ...]:
        """Starts a new session.

        Args:
            info: its id, plan and beginning.
            policy: how much is said back.
            is_attended: whether the keeper hears what is said back; False for a recording.
        """
        started = Started(info.id, info.started, info.planned, info.by, info.source, policy, is_attended)
        return self._append(started)

    def reopen(self, session: str) -> None:
        """Takes up a session that is in the store, as when the program was stopped in the middle of it."""
        kept = [event_value(flat) for flat in self._keeper.events(session)]
        self.state = replay(kept)
        self._version = len(kept)
        self._latest = max((event.remark.time for event in kept if isinstance(event, Said)), default=None)
        asked = [event.time for event in kept if isinstance(event, Replied) and event.kind == ReplyKind.ASKING]
        self._asked = asked[-1] if asked and self.state.question else None

    def hear(self, sound: Sound, time: datetime, by: str = "") -> Outcome:
        """Takes one spoken remark. Its sound is on the disk before anything listens to it.

        Args:
            sound: one remark, 16 kHz mono.
            time: when it began.
            by: who said it, if known.
        """
        key = self.keep(sound, time, by)
        return self.take(key, sound, time, self._judged(sound), by)

    def keep(self, sound: Sound, time: datetime, by: str = "") -> str:
        """Keeps the sound of a remark on the disk; gives its id, to be handed to `take` with a verdict."""
        return self._keeper.keep_sound(self.session, sound, time, by)

    def take(
        self, key: str, sound: Sound, time: datetime, verdict: Verdict, by: str = "", *, is_late: bool = False
    ) -> Outcome:
        """Takes a spoken remark that was kept and listened to.

        Args:
            key: what `keep` gave.
            sound: the remark.
            time: when it began.
            verdict: what the listeners made of it.
            by: who said it, if known.
            is_late: whether remarks that were said after it were taken before it.
        """
        self.time_out(time)
        if sound.lacks_start and verdict.decision is Decision.ACCEPTED and self.state.question is None:
            # The rest of a remark can be another one: "[condi]tion three and a half" is a weight.
            verdict = replace(verdict, decision=Decision.ASK, reason="its beginning was not heard")
        meanings = [self._interpreter.heard(words, self.state.scope) for words in verdict.choices]
        base = Remark(key, self.session, time, verdict=verdict, start_s=sound.start_s, end_s=sound.end_s, by=by)
        readings = tuple(
            replace(base, words=words, meaning=meaning)
            for words, meaning in zip(verdict.choices, meanings, strict=True)
        )
        best = readings[0] if readings else base
        if verdict.decision is not Decision.ASK:
            return self._carry_out(best, is_late=is_late)
        rivals = [self._interpreter.heard(words, self.state.scope).parts for words in verdict.rivals]
        return self._carry_out(best, readings, agreed_facts(rivals), is_late=is_late)

    def is_whole(self, words: str) -> bool:
        """Whether nothing can follow these words in one remark, as after "carry on"."""
        return not self._interpreter.can_go_on(words)

    def finish_pending(self, pending: Pending) -> Outcome:
        """Takes a remark whose sound was kept by a program that was stopped before it understood it.

        If later ones were understood already, another animal may be on the table by now: then it goes to the review.
        """
        sound = self._keeper.sound(pending.remark)
        return self.take_pending(pending, sound, self._judged(sound))

    def take_pending(self, pending: Pending, sound: Sound, verdict: Verdict) -> Outcome:
        """The same, with the verdict of listeners that work elsewhere."""
        is_late = self._latest is not None and pending.time < self._latest
        return self.take(pending.remark, sound, pending.time, verdict, pending.by, is_late=is_late)

    def type(self, text: str, time: datetime, by: str = "") -> Outcome:
        """Takes one typed remark. A question waits for it as long as it takes: reading and typing are slow."""
        meaning = self._interpreter.typed(text, self.state.scope)
        remark = Remark(str(uuid.uuid4()), self.session, time, text.strip(), meaning, by=by)
        return self._carry_out(remark)

    def time_out(self, time: datetime) -> tuple[Reply, ...]:
        """Puts the open question off if it was not answered in time; to be called now and then while nobody speaks.

        Args:
            time: now.

        Returns:
            What to tell the keeper: nothing if there is no question, or still time.
        """
        if self.state.question is None or self._asked is None:
            return ()
        waited_s = (time - self._asked).total_seconds()
        return self._append(TimedOut(time)) if waited_s > ANSWER_S else ()

    def asked(self, time: datetime) -> None:
        """The open question was said aloud until `time`: only from then on the answer is waited for."""
        if self._asked is not None:
            self._asked = max(self._asked, time)

    def end(self, time: datetime) -> tuple[Reply, ...]:
        """Ends the session from outside, as when a recording is over; nothing happens if it is finished."""
        return self._append(Ended(time))

    @property
    def session(self) -> str:
        """Id of the session; empty before it has begun."""
        return self.state.info.id if self.state.info else ""

    def _judged(self, sound: Sound) -> Verdict:
        if self._judge is None:
            raise TypeError("a typed session has no listeners")
        return self._judge(sound)

    def _carry_out(
        self, remark: Remark, choices: tuple[Remark, ...] = (), agreed: tuple[Part, ...] = (), *, is_late: bool = False
    ) -> Outcome:
        state = self.state
        parts = _parts((remark.meaning, *(choice.meaning for choice in choices)))
        left = {*state.done, *state.skipped}
        planned = frozenset(state.info.planned) if state.info else frozenset()
        context = Context(planned, left)
        animals = self._interpreter.mentioned(parts, context)
        if unplaced := remark.meaning.unplaced:
            animals[unplaced] = self._interpreter.alike(unplaced, context)
        said = Said(remark, animals, choices, is_late, agreed)
        self.state, kept, replies = step(state, said, self._world)
        self._version = self._keeper.settle(remark, [flat_event(event) for event in (said, *kept)], self._version)
        self._latest = remark.time if self._latest is None else max(self._latest, remark.time)
        if any(reply.kind is ReplyKind.ASKING for reply in replies):
            self._asked = remark.time + timedelta(seconds=remark.end_s - remark.start_s)
        made = [event.entry for event in kept if isinstance(event, EntryMade | EntrySuperseded)]
        return Outcome(remark, replies, tuple(entry for entry in made if entry.state is not State.WITHDRAWN))

    def _append(self, event: Event) -> tuple[Reply, ...]:
        self.state, kept, replies = step(self.state, event, self._world)
        session = event.session if isinstance(event, Started) else self.session
        if kept:
            self._version = self._keeper.append(session, self._version, [flat_event(item) for item in kept])
        return replies


def _parts(meanings: Iterable[Meaning]) -> list[Part]:
    return [part for meaning in meanings for part in meaning.parts]

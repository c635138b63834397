"""A session that is listened to as it goes on: sound comes in, remarks are kept, heard and answered, lines are typed.

One thread runs the loop and owns the store. Listeners work in another process, so that none of them keeps the
microphone waiting; they begin on a remark as soon as it may be over, and most verdicts are there when it surely is.
A screen or a command line drives a session through this module alone: it starts `LiveLoop.run` in a thread, is told
what happens (`assistant.live.happening`), and calls `type` and `stop` from wherever it likes.
"""

from __future__ import annotations

import logging
import threading
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, wait
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from queue import Empty, SimpleQueue

from assistant.errors import AssistantError
from assistant.live.handling import Handling, Outcome, Unfinished
from assistant.live.happening import Came, HeardSoFar, Kept, Levelled, Noted, Ready, Tell, Told
from assistant.live.parts import LiveSession
from assistant.session import replies
from assistant.session.replies import Reply, ReplyKind
from assistant.sound.level import Meter
from assistant.values import Decision, Sound, Verdict

_log = logging.getLogger(__name__)

BEAT_S = 0.05
"""Longest time that the loop waits for sound before it looks for verdicts and typed lines."""

GAP_S = 0.5
"""So much without sound ends the remark that was being spoken: the microphone is gone."""

SHORT_PAUSE_S = 0.4
"""This much silence ends a remark that nothing can follow."""

NOTICED_S = 1.0
"""A remark is noticed so much later than it began at most; so long after its time an open question is put off."""


@dataclass(frozen=True)
class _Waiting:
    """Something said that waits for its turn: what the listeners make of it, and what is done then."""

    verdict: Future[Verdict] | None
    take: Callable[[], Outcome]
    is_old: bool = False


class LiveLoop:
    """Runs a live session.

    Args:
        session: its parts.
        tell: called in the loop's thread with all that happens; must return soon.
    """

    def __init__(self, session: LiveSession, tell: Tell) -> None:
        self._session = session
        self._tell = tell
        self._typed: SimpleQueue[str] = SimpleQueue()
        self._stopping = threading.Event()
        self._endpoint = session.endpoint
        self._meter = Meter()
        self._waiting: deque[_Waiting] = deque()
        self._early: tuple[Sound, Future[Verdict]] | None = None
        self._so_far = ""
        self._held: list[Reply] = []
        self._heard_up_to_s = 0.0
        self._is_ready = False
        self._was_speaking = False
        self._note = ""
        self._warned: set[str] = set()
        self._n_restarts = 0

    # ------------------------------------------------------------------------------------------- from any thread

    def type(self, text: str) -> None:
        """Takes a typed remark, answer or question; it has its turn after what was said before it."""
        if text.strip():
            self._typed.put(text)

    def stop(self) -> None:
        """Ends the session: what was said up to now is still understood, then `run` returns."""
        self._stopping.set()

    # ---------------------------------------------------------------------------------------------- in the thread

    def run(self) -> None:
        """Goes on until the keeper finishes, `stop` is called, or the recording is over.

        Raises:
            AssistantError: it cannot go on, as when the disk is full; what was kept stays, and is told aloud.
        """
        session = self._session
        fault: AssistantError | None = None
        for item in session.unfinished:
            verdict = session.pool.begin(item.sound)
            self._waiting.append(_Waiting(verdict, partial(_take_old, item, verdict), is_old=True))
        try:
            while self._goes_on():
                try:
                    self._beat()
                except AssistantError as error:
                    fault = error
                    break
            self._wind_up(fault)
        finally:
            session.source.close()
        if fault is not None:
            session.mouth.say([Reply(ReplyKind.TOLD, replies.STOPPED)])
            raise fault

    @property
    def now(self) -> datetime:
        """The moment of the session: its beginning and the sound since."""
        return self._session.started + timedelta(seconds=self._session.source.position_s)

    def _goes_on(self) -> bool:
        session = self._session
        if self._stopping.is_set():
            return False
        if session.source.is_live:
            return not _is_over(session.handling)
        return not (session.source.is_over and not self._waiting)

    def _beat(self) -> None:
        source = self._session.source
        if self._is_full() or source.is_over:
            self._wait_for_listeners()
        elif (block := source.next(BEAT_S)) is not None:
            self._hear(block)
        elif self._endpoint.is_open and source.position_s - self._heard_up_to_s > GAP_S:
            self._keep_all(self._endpoint.flush())
        self._take_typed()
        self._take_heard()
        self._tick()
        self._look_about()

    def _is_full(self) -> bool:
        """A recording waits for its listeners; a keeper does not."""
        return not self._session.source.is_live and len(self._waiting) > 2 * self._session.pool.workers

    def _wait_for_listeners(self) -> None:
        if self._session.source.is_over:
            self._keep_all(self._endpoint.flush())
        if self._waiting and (verdict := self._waiting[0].verdict) is not None:
            wait([verdict], BEAT_S)

    # ------------------------------------------------------------------------------------------------------- sound

    def _hear(self, block: Sound) -> None:
        is_deaf = self._session.mouth.is_speaking and not self._session.hears_over_voice
        if block.start_s - self._heard_up_to_s > GAP_S:
            self._keep_all(self._endpoint.flush())
        self._heard_up_to_s = block.end_s
        self._keep_all(self._endpoint.push(block, is_deaf=is_deaf))
        if is_deaf:
            self._meter.rest()
        else:
            self._measure(block)
        self._begin_early()
        if self._so_far and self._endpoint.silence_s > SHORT_PAUSE_S and self._session.handling.is_whole(self._so_far):
            self._keep_all(self._endpoint.close())
        if self._endpoint.is_open and self._session.hears_over_voice and self._session.mouth.is_speaking:
            self._session.mouth.hush()

    def _measure(self, block: Sound) -> None:
        is_speech, may_be_own = self._endpoint.is_open, self._session.mouth.is_speaking
        if level := self._meter.push(block, is_speech=is_speech, may_be_own=may_be_own):
            self._tell(Levelled(level, is_speech))
            self._warn(level.note)

    def _begin_early(self) -> None:
        """Lets listeners begin on a remark that may be over, while none of them has other work."""
        draft = self._endpoint.draft
        self._tell_so_far(draft)
        if draft is None or any(item.verdict is not None for item in self._waiting):
            return
        if self._early is not None and (_is_same(self._early[0], draft) or not self._early[1].done()):
            return
        self._early = draft, self._session.pool.begin(draft)

    def _tell_so_far(self, draft: Sound | None) -> None:
        """Shows what the listeners agree on while it is not sure yet that the remark is over."""
        words = ""
        if draft is not None and self._early is not None and _is_same(self._early[0], draft):
            words = _agreed(self._early[1])
        if words != self._so_far and not self._session.handling.state.is_paused:
            self._so_far = words
            self._tell(HeardSoFar(words))

    def _keep_all(self, sounds: Iterable[Sound]) -> None:
        session = self._session
        for sound in sounds:
            key = session.handling.keep(sound, self._time_of(sound), session.by)
            verdict = self._verdict_on(sound)
            self._waiting.append(_Waiting(verdict, partial(self._take_spoken, key, sound, verdict)))
            self._so_far = ""  # what is shown of it stays until it is understood
            self._tell(Kept(len(self._waiting)))

    def _time_of(self, sound: Sound) -> datetime:
        return self._session.started + timedelta(seconds=sound.start_s)

    def _verdict_on(self, sound: Sound) -> Future[Verdict]:
        early, self._early = self._early, None
        if early is not None:
            if _is_same(early[0], sound):
                return early[1]
            early[1].cancel()
        return self._session.pool.begin(sound)

    # ------------------------------------------------------------------------------------------------- what was said

    def _take_spoken(self, key: str, sound: Sound, verdict: Future[Verdict]) -> Outcome:
        handling, by = self._session.handling, self._session.by
        return handling.take(key, sound, self._time_of(sound), verdict.result(), by)

    def _take_typed(self) -> None:
        handling, by = self._session.handling, self._session.by
        while True:
            try:
                text = self._typed.get_nowait()
            except Empty:
                return
            self._waiting.append(_Waiting(None, partial(handling.type, text, self.now, by)))

    def _take_heard(self) -> None:
        """Takes what the listeners are done with, in the order in which it was said."""
        while self._waiting and ((first := self._waiting[0]).verdict is None or first.verdict.done()):
            self._waiting.popleft()
            outcome = first.take()
            self._tell(Came(outcome, first.is_old))
            if not first.is_old:
                self._say(outcome.replies)

    def _say(self, told: Sequence[Reply]) -> None:
        """Says replies, but does not talk over the keeper."""
        self._held += told
        if not self._endpoint.is_open and self._held:
            said, self._held = self._held, []
            self._session.mouth.say(said)

    def _tick(self) -> None:
        """While nobody speaks and nothing waits, an open question may be put off, and what was held is said."""
        handling, is_speaking = self._session.handling, self._session.mouth.is_speaking
        if self._was_speaking and not is_speaking and handling.state.question is not None:
            handling.asked(self.now)
        self._was_speaking = is_speaking
        if self._endpoint.is_open or self._waiting or is_speaking:
            return
        self._say(())
        if told := handling.time_out(self.now - timedelta(seconds=NOTICED_S)):
            self._tell(Told(told))
            self._say(told)

    def _look_about(self) -> None:
        session = self._session
        if not self._is_ready and session.pool.is_ready:
            self._is_ready = True
            self._tell(Ready(session.pool.names, session.pool.notices))
        if session.pool.n_restarts > self._n_restarts:
            self._n_restarts = session.pool.n_restarts
            told = (Reply(ReplyKind.TOLD, replies.LISTENERS_AGAIN),)
            self._tell(Told(told))
            self._say(told)
        if session.source.note and session.source.note != self._note:
            self._say([Reply(ReplyKind.TOLD, replies.CANNOT_HEAR)])
        note = session.source.note or session.mouth.note
        if note != self._note:
            self._note = note
            self._tell(Noted(note))

    def _warn(self, note: str) -> None:
        """Says once that the microphone is set so that the keeper cannot be understood."""
        if note and note not in self._warned:
            self._warned.add(note)
            self._say([Reply(ReplyKind.TOLD, note)])

    # -------------------------------------------------------------------------------------------------------- the end

    def _wind_up(self, fault: AssistantError | None) -> None:
        """What was said is still understood, unless that is what fails; then the session ends."""
        session = self._session
        try:
            self._keep_all(self._endpoint.flush())
            while self._waiting:
                self._wait_for_listeners()
                self._take_heard()
            if told := session.handling.end(self.now):
                self._tell(Told(told))
                self._say(told)
        except AssistantError as error:
            if fault is None:
                raise
            _log.info("winding up: %s", error)


def _take_old(item: Unfinished, verdict: Future[Verdict]) -> Outcome:
    return item.take(verdict.result())


def _agreed(verdict: Future[Verdict]) -> str:
    """What the listeners agree on; nothing if they do not, or are not done."""
    if not verdict.done() or verdict.cancelled() or verdict.exception() is not None:
        return ""
    return verdict.result().choices[0] if verdict.result().decision is Decision.ACCEPTED else ""


def _is_same(one: Sound, other: Sound) -> bool:
    return one.start_s == other.start_s and len(one.samples) == len(other.samples)


def _is_over(handling: Handling) -> bool:
    return handling.state.info is not None and handling.state.info.ended is not None

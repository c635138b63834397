"""A live session for tests: sound and listeners with a script, a mouth that only counts; the loop is real."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future
from pathlib import Path

import numpy as np
from live_stage import START, Stage

from assistant.live.handling import Outcome
from assistant.live.happening import Came, Happening, Kept, Noted, Told
from assistant.live.loop import LiveLoop
from assistant.live.parts import LiveSession
from assistant.session.replies import Reply
from assistant.sound.endpoint import Endpoint
from assistant.values import Sound, Verdict

RATE_HZ = 16000
BLOCK = 512
"""Samples of one block, and of one frame of the voice detector."""

Step = tuple[float, float] | Callable[[], None]
"""So many seconds of sound of such a loudness, or something done at that moment."""


def detector(frame: np.ndarray) -> float:
    """Any sound is speech."""
    return float(np.abs(frame).max() > 0.0005)


class ScriptedSource:
    """Sound with a script.

    Args:
        steps: what comes, in order.
        is_live: as a microphone, or a recording.
    """

    def __init__(self, steps: Iterable[Step] = (), *, is_live: bool = True) -> None:
        self.is_live = is_live
        self.steps = list(steps)
        self.is_over = False
        self.is_closed = False
        self.position_s = 0.0
        self.note = ""
        self._left = 0
        self._level = 0.0

    def next(self, timeout_s: float) -> Sound | None:
        """The next block; None where the script says that nothing comes."""
        while self._left <= 0:
            if not self.steps:
                self.is_over = True
                return None
            step = self.steps.pop(0)
            if callable(step):
                step()
            else:
                self._left, self._level = round(step[0] * RATE_HZ / BLOCK), step[1]
        self._left -= 1
        start_s, self.position_s = self.position_s, self.position_s + BLOCK / RATE_HZ
        if self._level < 0:
            return None
        return Sound(np.full(BLOCK, self._level, np.float32), RATE_HZ, start_s)

    def close(self) -> None:
        """Remembers that it was closed."""
        self.is_closed = True


class ScriptedPool:
    """Listeners that answer at once, or when they are let."""

    workers = 1
    names = ("one", "two")
    notices = ()
    is_ready = True
    n_restarts = 0

    def __init__(self, judge: Callable[[Sound], Verdict]) -> None:
        self._judge = judge
        self.begun: list[Sound] = []
        self.is_slow = False
        self._due: list[tuple[Future[Verdict], Sound]] = []

    def begin(self, sound: Sound) -> Future[Verdict]:
        """Listens to one remark."""
        self.begun.append(sound)
        future: Future[Verdict] = Future()
        self._due.append((future, sound))
        if not self.is_slow:
            self.work()
        return future

    def work(self) -> None:
        """Finishes all that is due."""
        due, self._due = self._due, []
        for future, sound in due:
            if not future.set_running_or_notify_cancel():
                continue
            try:
                future.set_result(self._judge(sound))
            except Exception as error:  # noqa: BLE001 - handed on, as a pool does
                future.set_exception(error)


class CountingMouth:
    """Says nothing, but for so long as it is told."""

    def __init__(self) -> None:
        self.is_speaking = False
        self.note = ""
        self.said: list[Reply] = []
        self.n_hushed = 0

    def say(self, replies: Sequence[Reply]) -> None:
        """Remembers what was to be said."""
        self.said += replies

    def hush(self) -> None:
        """Is silent."""
        self.n_hushed += 1
        self.is_speaking = False


class LiveStage(Stage):
    """A holding whose keeper speaks into a microphone."""

    def __init__(self, folder: Path, *, is_live: bool = True) -> None:
        super().__init__(folder)
        self.n_said = 100  # remarks are told apart by their loudness: none of them is too quiet
        self.source = ScriptedSource(is_live=is_live)
        self.pool = ScriptedPool(self.judge)
        self.mouth = CountingMouth()
        self.happened: list[Happening] = []
        self.session_parts = LiveSession(
            self.handling,
            START,
            self.source,
            self.pool,
            self.mouth,
            by="Rowan",
            endpoint=Endpoint(detector=detector),
        )
        self.loop = LiveLoop(self.session_parts, self.happened.append)

    def says(self, *first: str, second: Sequence[str] | None = None, length_s: float = 1.0) -> list[Step]:
        """A remark, and enough silence after it."""
        self.sound(first, second)
        return [(length_s, self.n_said / 1000), (1.0, 0.0)]

    def run(self, *steps: list[Step] | Step) -> None:
        """Lets all of it happen, then stops listening."""
        for step in steps:
            self.source.steps += step if isinstance(step, list) else [step]
        self.source.steps.append(self.loop.stop)
        self.loop.run()

    @property
    def outcomes(self) -> list[Outcome]:
        """What the remarks came to, in order, old ones left out."""
        return [what.outcome for what in self.happened if isinstance(what, Came) and not what.is_old]

    @property
    def words(self) -> list[str]:
        """What was understood, in order."""
        return [outcome.remark.words for outcome in self.outcomes]

    @property
    def told_aside(self) -> list[str]:
        """What was said without a remark."""
        return [reply.text for what in self.happened if isinstance(what, Told) for reply in what.replies]

    def of(self, kind: type[Kept] | type[Noted]) -> list[Happening]:
        """All happenings of a kind."""
        return [what for what in self.happened if isinstance(what, kind)]

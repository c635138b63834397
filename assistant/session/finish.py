"""The end of a session, and how far it has come."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median

from assistant.session import replies
from assistant.session.events import AnimalLeft, Finished
from assistant.session.state import Outcome, OutcomeKind, SessionState
from assistant.session.turn import Turn

ENOUGH_DONE = 3
"""From so many animals on, the time for the rest is estimated (common practice, no source)."""


@dataclass(frozen=True)
class Progress:
    """How far a session has come.

    Attributes:
        done: animals done.
        skipped: animals skipped.
        left: planned animals that have not left the table.
        each_min: median minutes from one animal's leaving to the next one's; None before `ENOUGH_DONE`.
    """

    done: int
    skipped: int
    left: int
    each_min: float | None

    @property
    def left_min(self) -> float | None:
        """Minutes that the rest will take at the pace so far."""
        return None if self.each_min is None else self.each_min * self.left


def progress(state: SessionState) -> Progress:
    """How far a session has come. The median, so that a pause in the middle does not count."""
    times = state.table.departures
    each = None
    if state.info and len(times) >= ENOUGH_DONE:
        starts = (state.info.started, *times[:-1])
        each = median((end - start).total_seconds() for start, end in zip(starts, times, strict=True)) / 60
    return Progress(len(state.done), len(state.skipped), len(state.left), each)


def finish(turn: Turn, remark: str = "") -> None:
    """Ends the session and says what it came to and what is open.

    An animal of which "done" was said, and answered with what was not mentioned, is done: nothing more came of it.
    """
    if turn.state.animal and turn.state.table.gaps is not None:
        turn.emit(AnimalLeft(turn.time, turn.state.animal, Outcome(OutcomeKind.DONE), remark))
    turn.emit(Finished(turn.time, remark))
    state = turn.state
    far = progress(state)
    sentences = [f"Session finished. {replies.sentence_case(replies.number(far.done))} done"]
    if far.skipped:
        sentences[0] += f", {replies.number(far.skipped)} skipped"
    sentences[0] += "."
    if state.left:
        sentences.append(f"Left: {replies.some_of([turn.called(key) for key in state.left])}.")
    elif state.animal and state.animal not in state.table.outcomes:
        sentences.append(f"{turn.called(state.animal)} is not done yet.")
    if n := len(state.review):
        remarks = "remark" if n == 1 else "remarks"
        sentences.append(f"{replies.sentence_case(replies.number(n))} {remarks} to look at.")
    turn.told(" ".join(sentences))

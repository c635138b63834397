"""What the live screen shows, as one value worked out from the session's state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from assistant.live.handling import Outcome
from assistant.screens.palette import ASKING, FOUND, KEPT, LET_GO, SO_FAR, SOUND
from assistant.screens.plan import Plan, in_words, plan
from assistant.session.catching import background
from assistant.session.replies import Reply, ReplyKind
from assistant.session.state import SessionState
from assistant.session.turn import Turn
from assistant.session.world import World
from assistant.values import Animal, Decision, Species

NOBODY = "Nobody on the table"
OPENING = "One moment: the session is being opened, and the listeners get ready."


@dataclass(frozen=True)
class Spoken:
    """One remark in the log: its mark, its words, and what came of it."""

    mark: str
    words: str
    came: str = ""


@dataclass(frozen=True)
class Listening:
    """Who listens, and what reaches them.

    Attributes:
        names: the listeners; none in a typed session.
        level_db: of full scale, of the last moments; None if nothing is measured.
        note: what is wrong with the microphone, or that remarks wait.
    """

    names: tuple[str, ...] = ()
    level_db: float | None = None
    note: str = ""


@dataclass(frozen=True)
class LiveView:
    """One moment of a session.

    Attributes:
        who: the animal on the table.
        number: the animal's management number, where it has a name too.
        about: kind and group.
        before: cautions, then what was recorded at the last visit.
        plan: what holds for it now.
        spoken: the last remarks, oldest first.
        question: what is being asked; empty if nothing is.
        choices: the answers that are offered.
        told: what was last said to the keeper.
        listed: lines that belong to it: the list behind a spoken answer, or what is to be known before the work.
        left: names of those who are still to come, the next ones first.
        n_left: how many are left, with the one on the table if it is one of them.
        n_done: how many are done.
        is_paused, is_over: whether remarks are taken at all.
    """

    who: str = ""
    number: str = ""
    about: str = ""
    before: tuple[str, ...] = ()
    plan: Plan = field(default_factory=Plan)
    spoken: tuple[Spoken, ...] = ()
    question: str = ""
    choices: tuple[str, ...] = ()
    told: str = OPENING
    listed: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    n_left: int = 0
    n_done: int = 0
    has_plan: bool = True
    is_paused: bool = False
    is_over: bool = False
    hearing: Listening = field(default_factory=Listening)


def live_view(
    state: SessionState,
    world: World,
    spoken: Sequence[Spoken],
    hearing: Listening,
    now: datetime,
    listed: Sequence[str] = (),
    so_far: str = "",
) -> LiveView:
    """The view of a session.

    Args:
        state: of the session.
        world: its herd.
        spoken: the last remarks, oldest first.
        hearing: who listens.
        now: for how long ago something was.
        listed: lines that belong to what was last told.
        so_far: what a remark will be if nothing more is said; nothing of it is recorded.
    """
    if so_far:
        spoken = (*spoken, Spoken(SO_FAR, so_far, "heard so far"))
    key = state.animal
    animal = world.animal(key) if key else None
    parts = [entry.part for entry in state.entries_of(key)]
    named = [(world.animal(one), one) for one in state.left if one != key]
    is_doubtful = state.doubt is not None and key is not None
    return LiveView(
        who=(animal.label if animal else key or "") + (" ?" if is_doubtful else ""),
        number=animal.number if animal and animal.name else "",
        about=_about(animal) if animal else "",
        before=tuple(background(Turn(state, now, world), key)) if key else (),
        plan=plan(parts, state.scope),
        spoken=tuple(spoken),
        question=state.question.text if state.question else "",
        choices=tuple(choice.label for choice in state.question.choices) if state.question else (),
        told=_told(state, spoken),
        listed=tuple(listed),
        left=tuple(one.label if one else other for one, other in named),
        n_left=len(state.left),
        n_done=len(state.done),
        has_plan=bool(state.planned),
        is_paused=state.is_paused,
        is_over=state.info is not None and state.info.ended is not None,
        hearing=hearing,
    )


def _told(state: SessionState, spoken: Sequence[Spoken]) -> str:
    """What came of the last remark: what was said back, or the words that were taken down with a soft tick."""
    last = next((one for one in reversed(spoken) if one.mark != LET_GO), None)
    is_shown = last and last.words and (not last.came or last.mark == SO_FAR)
    return f"{last.mark} {last.words}" if last and is_shown else state.last_reply


def _about(animal: Animal) -> str:
    kind = "sheep" if animal.species is Species.SHEEP else "goat"
    return " · ".join(filter(None, (f"{animal.sex} {kind}" if animal.sex != "unknown" else kind, animal.group)))


def spoken(outcome: Outcome) -> Spoken:
    """A remark as it stands in the log."""
    remark = outcome.remark
    words = remark.words or "(no words)"
    told = " ".join(reply.text for reply in outcome.replies if reply.text)
    return Spoken(_mark(outcome), words, told)


def _mark(outcome: Outcome) -> str:
    kinds = {reply.kind for reply in outcome.replies}
    verdict = outcome.remark.verdict
    if verdict is not None and verdict.decision is Decision.ASIDE:
        return LET_GO
    if ReplyKind.ASKING in kinds:
        return ASKING
    if outcome.entries:
        return KEPT if ReplyKind.NOT_UNDERSTOOD in kinds else SOUND
    # What was said while paused, or is understood too late, gets no answer, not even a tick.
    is_heard = verdict is None or verdict.decision is Decision.ACCEPTED
    return SOUND if is_heard and kinds and ReplyKind.NOT_UNDERSTOOD not in kinds else KEPT


STATE_WORD = {
    SOUND: "heard",
    ASKING: "asking",
    KEPT: "kept for review",
    FOUND: "found",
    SO_FAR: "not over yet",
    LET_GO: "not for the record",
}


def said_in_words(view: LiveView) -> tuple[str, ...]:
    """The view as sentences, for those who listen to the screen: what matters most comes first."""
    lines = [", ".join(filter(None, (view.who or NOBODY, view.number, view.about))) + "."]
    if view.question:
        answers = ", ".join(f"{n} {label}" for n, label in enumerate(view.choices, start=1))
        lines.append(f"Question: {view.question}{f' Answers: {answers}.' if answers else ''}")
    elif view.told:
        lines.append(f"Told: {view.told}")
    lines += view.listed
    lines += [*view.before, *(in_words(view.plan) if view.who else ())]
    lines += [f"{STATE_WORD[one.mark]}: {one.words}. {one.came}".rstrip() for one in view.spoken[-3:]]
    names = f"; next: {', '.join(view.left[:8])}" if view.left else ""
    lines.append(f"{view.n_done} done. {view.n_left} left{names}." if view.has_plan else "")
    state = "The session is over." if view.is_over else "Paused." if view.is_paused else ""
    listening = f"Listening: {', '.join(view.hearing.names)}." if view.hearing.names else "Nobody listens: type."
    return tuple(filter(None, (*lines, state, listening, view.hearing.note)))


def lines_of(replies: Sequence[Reply]) -> tuple[str, ...]:
    """The lists that belong to replies; they are shown, for nobody can keep a list in mind that is read out."""
    return tuple(line for reply in replies for line in reply.lines)


def reply_words(replies: Sequence[Reply]) -> str:
    """Replies as one line."""
    return " ".join(reply.text for reply in replies if reply.text)

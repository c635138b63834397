"""One step of a session: an input and the state in, the new state, the events to keep and the replies out."""

from __future__ import annotations

from assistant.session import replies
from assistant.session.answering import answer_to, answered
from assistant.session.catching import ask_alike
from assistant.session.conduct import carry_out
from assistant.session.doubt import close_place, may_be_change, may_be_name
from assistant.session.events import Ended, Event, Kept, RemarkKept, Resumed, Said, Started, TimedOut
from assistant.session.finish import finish
from assistant.session.in_part import ask_which
from assistant.session.replies import Reply, ReplyKind
from assistant.session.state import Policy, QuestionKind, SessionState
from assistant.session.turn import Source, Turn
from assistant.session.world import World
from assistant.values import ActionPart, CommandPart, Decision, Meaning, Remark


def step(state: SessionState, event: Event, world: World) -> tuple[SessionState, tuple[Kept, ...], tuple[Reply, ...]]:
    """Takes one input.

    Args:
        state: the state so far; `SessionState()` before the start.
        event: an input; an event that was kept earlier changes nothing here (`replay` folds those).
        world: the herd as it is known.

    Returns:
        The new state, the events to keep in order, and what to tell the keeper in order. The state is the fold of the
        events over the old one, nothing else, so that a replay of kept events gives the same.
    """
    match event:
        case Started():
            turn = Turn(state, event.time, world)
            turn.emit(event)
        case Said():
            turn = Turn(state, event.remark.time, world, event.remark.id)
            _said(turn, event)
        case TimedOut():
            turn = Turn(state, event.time, world, event.time.isoformat())
            if turn.state.question is not None:
                turn.put_off("nobody answered")
                turn.told(replies.KEPT_FOR_LATER)
        case Ended():
            turn = Turn(state, event.time, world, event.time.isoformat())
            _end(turn)
        case _:
            return state, (), ()
    return turn.state, tuple(turn.events), tuple(turn.replies)


def _end(turn: Turn) -> None:
    if turn.state.info is not None and turn.state.info.ended is None:
        turn.put_off("the session ended before an answer")
        finish(turn)


def _said(turn: Turn, said: Said) -> None:
    remark = said.remark
    readings = _readings(said)
    if turn.state.info is None or turn.state.info.ended is not None:
        turn.keep(remark.id, "said outside a session")
        turn.told(replies.IS_OVER)
    elif _is_aside(turn, remark):
        _let_go(turn, remark)
    elif said.is_late:
        turn.emit(RemarkKept(turn.time, remark.id, "understood only after what was said later"))
    elif turn.state.is_paused:
        _while_paused(turn, remark, readings)
    elif not readings:
        _not_understood(turn, said)
    elif not _is_answer(turn, said, readings):
        _new_remark(turn, said, readings)


def _readings(said: Said) -> list[Remark]:
    """What a remark may mean: itself if accepted or typed, the choices if it must be asked, nothing if unheard."""
    verdict = said.remark.verdict
    if verdict is None or verdict.decision is Decision.ACCEPTED:
        return [said.remark] if said.remark.meaning.parts else []
    if verdict.decision is Decision.ASK:
        return [choice for choice in said.choices if choice.meaning.parts]
    return []


def _is_accepted(remark: Remark) -> bool:
    return remark.verdict is None or remark.verdict.decision is Decision.ACCEPTED


def _is_aside(turn: Turn, remark: Remark) -> bool:
    """Whether it was said to the animal or to somebody else; of typed words, whether they were read and mean nothing.

    What is typed while a question is open may be a word of one of the choices.
    """
    if remark.verdict is None:
        return bool(remark.words) and remark.meaning == Meaning(()) and turn.state.question is None
    return remark.verdict.decision is Decision.ASIDE


def _let_go(turn: Turn, remark: Remark) -> None:
    """Nothing comes of it, and nothing is said: an open question stays open. Who typed it sees that it was read."""
    turn.keep(remark.id, "not for the record", to_review=False)
    if remark.verdict is None:
        turn.told(replies.NOT_FOR_RECORD)


def _while_paused(turn: Turn, remark: Remark, readings: list[Remark]) -> None:
    """Talk is let go; what the listeners agree on, or what may be "resume", is for review, in case that was missed."""
    if not (readings and _is_accepted(remark) and _is_resuming(remark)):
        is_meant = bool(readings) and (_is_accepted(remark) or any(map(_is_resuming, readings)))
        turn.keep(remark.id, "said while paused", to_review=is_meant)
        return
    turn.emit(Resumed(turn.time, remark.id))
    turn.told(replies.RESUMED)
    if rest := remark.meaning.parts[1:]:
        carry_out(turn, Source(remark.id, remark.by), rest)


def _is_resuming(reading: Remark) -> bool:
    head = reading.meaning.parts[0]
    return isinstance(head, CommandPart) and head.command == "resume"


def _not_understood(turn: Turn, said: Said) -> None:
    """Kept for review. An answer of a word or two may have no meaning in the grammar, but be part of a choice."""
    remark, question = said.remark, turn.state.question
    is_heard = turn.state.is_attended and _is_accepted(remark)
    if question and remark.words and is_heard and answer_to(turn, question, remark, {}):
        answered(turn, remark, [remark], {})
        return
    source = Source(remark.id, remark.by, said.animals)
    if remark.verdict is None and ask_alike(turn, source, remark.meaning.unplaced, ()):
        return
    turn.keep(remark.id, remark.verdict.reason if remark.verdict else "no meaning")
    if may_be_name(turn, remark, said.animals):
        turn.doubt(remark.id, said.animals)
    text = replies.kept_words(remark.meaning.unplaced) if remark.meaning.unplaced else replies.NOT_UNDERSTOOD
    turn.reply(ReplyKind.NOT_UNDERSTOOD, text)


def _is_answer(turn: Turn, said: Said, readings: list[Remark]) -> bool:
    """Whether the remark is dealt with as an answer; a lone doubtful reading may pick among choices, nothing else."""
    question = turn.state.question
    if question is None:
        return False
    is_lone_doubt = len(readings) == 1 and not _is_accepted(said.remark)
    is_command = isinstance(readings[0].meaning.parts[0], CommandPart)
    if is_lone_doubt and not turn.state.is_attended:
        return False
    if is_lone_doubt and (is_command or question.kind not in (QuestionKind.READING, QuestionKind.ANIMAL)):
        turn.keep(said.remark.id, "an answer that was not clear", to_review=not is_command)
        if may_be_change(turn, said.remark, readings, said.animals):
            turn.doubt(said.remark.id, said.animals)
        turn.reply(ReplyKind.ASKING, question.text)
        return True
    return answered(turn, said.remark, readings, said.animals)


def _new_remark(turn: Turn, said: Said, readings: list[Remark]) -> None:
    remark = said.remark
    if not _is_accepted(remark):
        turn.put_off("the next remark came before an answer")
        ask_which(turn, said, readings)
        return
    if remark.meaning.mended:
        turn.told(f"Taken as: {remark.meaning.mended}.")
    if remark.meaning.unplaced:
        close_place(turn, [remark])
        if _is_asked_about(turn, said):
            return
    # A tick is for what cannot well be anything else; what is said back the keeper can put right at once.
    is_close = bool(remark.meaning.unplaced) or (remark.verdict is not None and remark.verdict.is_close)
    aloud = is_close and turn.state.policy is not Policy.QUICK
    carry_out(turn, Source(remark.id, remark.by, said.animals), remark.meaning.parts, aloud=aloud)


def _is_asked_about(turn: Turn, said: Said) -> bool:
    """Whether it must be asked if words without a meaning were a name; if not, they are kept.

    A medicine on no list is on record as it was typed.
    """
    remark, left = said.remark, said.remark.meaning.unplaced
    named = [part.medicine for part in remark.meaning.parts if isinstance(part, ActionPart) and part.medicine]
    if unlisted := next((name for name in named if name in left), None):
        turn.keep(remark.id, f"not on the list of medicines: {left}")
        turn.reply(ReplyKind.NOT_UNDERSTOOD, replies.unlisted(unlisted))
        return False
    is_name = may_be_name(turn, remark, said.animals)
    source = Source(remark.id, remark.by, said.animals)
    if is_name and ask_alike(turn, source, left, remark.meaning.parts):
        return True
    turn.keep(remark.id, f"could not be placed: {left}")
    turn.reply(ReplyKind.NOT_UNDERSTOOD, replies.kept_words(left))
    if is_name:
        turn.doubt(remark.id, {left: said.animals[left]})
    return False

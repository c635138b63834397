"""The answer to "Still on Tansy?": who is on the table, and so whose what was said since is."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.session import replies
from assistant.session.conduct import carry_out, carry_out_after, carry_out_held
from assistant.session.doubt import may_be_change
from assistant.session.events import QuestionAnswered, TableSure
from assistant.session.replies import ReplyKind
from assistant.session.state import Question, QuestionKind
from assistant.session.turn import Animals, Source, Turn
from assistant.values import AnimalPart, CommandPart, Part, QuestionPart, Remark

LEFT_TO_OTHERS = ("pause", "note", "repeat")
"""Commands that have nothing to do with the question, and leave it open."""


def settled(
    turn: Turn, question: Question, remark: Remark, readings: Sequence[Remark], animals: Animals
) -> bool | None:
    """Deals with a remark while it is asked who is on the table and something waits for the answer.

    In a recording a name alone is no answer: nobody heard the question, and it is the next animal's.

    Returns:
        As `answered`; None if the remark has nothing to do with it.
    """
    is_waiting = turn.state.doubt is not None and bool(turn.state.doubt.held)
    if not is_waiting or question.kind not in (QuestionKind.STILL, QuestionKind.WHO):
        return None
    if len(readings) > 1:
        return _unclear(turn, question, remark, readings, animals)
    parts = readings[0].meaning.parts
    head = parts[0]
    command = head.command if isinstance(head, CommandPart) else ""
    if isinstance(head, QuestionPart) or command in LEFT_TO_OTHERS:
        return None
    source = Source(remark.id, remark.by, animals, is_answer=True)
    if command == "yes" and question.kind is QuestionKind.STILL:
        _same(turn, question, source, parts[1:])
    elif (named := _named(turn, question, parts)) is not None:
        turn.emit(QuestionAnswered(turn.time, question.remark, remark.id))
        carry_out(turn, source, named)
    elif command == "no":
        _another(turn, question, source, parts[1:])
    elif command in ("next", "finish") or isinstance(head, AnimalPart):
        turn.put_off("the next remark came before an answer")
        return False
    else:
        carry_out(turn, Source(remark.id, remark.by, animals), parts)
    return True


def _unclear(turn: Turn, question: Question, remark: Remark, readings: Sequence[Remark], animals: Animals) -> bool:
    """In a recording it is a remark of its own; a keeper who hears is asked again."""
    if not turn.state.is_attended:
        turn.put_off("the next remark came before an answer")
        return False
    turn.keep(remark.id, "an answer that was not clear")
    if may_be_change(turn, remark, readings, animals):
        turn.doubt(remark.id, animals)
    turn.reply(ReplyKind.ASKING, question.text)
    return True


def _named(turn: Turn, question: Question, parts: tuple[Part, ...]) -> tuple[Part, ...] | None:
    """The animal that an answer names, with what follows it; None if it names none.

    "Next is Betony" moves on to Betony, and says nothing of what went before; "no, next is Betony" answers.
    """
    is_denied = isinstance(parts[0], CommandPart) and parts[0].command in ("no", "correct") and not parts[0].place
    if is_denied:
        parts = parts[1:]
    elif not turn.state.is_attended:
        return None
    is_asked_who = is_denied or question.kind is QuestionKind.WHO
    if parts and is_asked_who and isinstance(parts[0], CommandPart) and parts[0].command == "next":
        parts = parts[1:]
    return parts if parts and isinstance(parts[0], AnimalPart) else None


def _same(turn: Turn, question: Question, source: Source, rest: tuple[Part, ...]) -> None:
    held = turn.state.doubt.held if turn.state.doubt else ()
    turn.emit(QuestionAnswered(turn.time, question.remark, source.remark))
    turn.emit(TableSure(turn.time, turn.state.animal or "", source.remark))
    carry_out_held(turn, held)
    carry_out_after(turn, source, rest)


def _another(turn: Turn, question: Question, source: Source, rest: tuple[Part, ...]) -> None:
    """It is another animal, but which is not said yet; a second no leaves it to the review."""
    if question.kind is QuestionKind.WHO:
        turn.put_off("answered with no")
        turn.told(replies.KEPT_FOR_LATER)
    else:
        turn.emit(QuestionAnswered(turn.time, question.remark, source.remark))
        first = Source(question.remark, question.by, question.animals)
        turn.ask_open(first, QuestionKind.WHO, replies.WHICH_ANIMAL)
    carry_out(turn, Source(source.remark, source.by, source.animals), rest)

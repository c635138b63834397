"""Carrying out what was said, part by part, in the order in which it was said."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import takewhile

from assistant.session import replies
from assistant.session.catching import catch, leave_done, leave_skipped, part_from_table
from assistant.session.doubt import hold, is_change, is_second_round, waits
from assistant.session.events import Noted, Paused
from assistant.session.finish import finish
from assistant.session.inquiry import inquire
from assistant.session.mending import correct, scratch
from assistant.session.recording import record_all
from assistant.session.state import Held, QuestionKind
from assistant.session.turn import Source, Turn
from assistant.values import AnimalPart, CommandPart, Part, QuestionPart

Rest = tuple[Part, ...]


def carry_out(turn: Turn, source: Source, parts: Rest, *, aloud: bool = False) -> None:
    """Carries out parts until they are used up or something must be asked; the rest then waits in the question.

    `aloud` reads back what is recorded even where the policy would give a tick.
    """
    rest: Rest | None = _ordered(parts)
    while rest:
        head, after = rest[0], rest[1:]
        if isinstance(head, AnimalPart):
            rest = _animal(turn, source, head, after)
        elif turn.state.doubt and _is_denial(head, after):
            rest = after
        elif turn.state.doubt and waits(head):
            rest = _held(turn, source, rest)
        elif isinstance(head, QuestionPart):
            inquire(turn, source, head)
            rest = after
        elif isinstance(head, CommandPart):
            rest = _command(turn, source, head, after)
            aloud = aloud or head.command == "scratch"
        else:
            rest = _facts(turn, source, rest, aloud=aloud)


def carry_out_after(turn: Turn, source: Source, parts: Rest) -> None:
    """Carries out what comes after something else, unless that left a question open; then it is kept."""
    if turn.state.question is None:
        carry_out(turn, source, parts)
    elif parts:
        keep_rest(turn, source, parts, "said while another question was open")


def carry_out_held(turn: Turn, waiting: Sequence[Held]) -> None:
    """Carries out what waited until it was sure who is on the table, in the order in which it was said."""
    for held in waiting:
        carry_out_after(turn, Source(held.remark, held.by, held.animals), held.parts)


def keep_rest(turn: Turn, source: Source, parts: Rest, reason: str) -> None:
    """Keeps a remark of which parts are not carried out; if they change the animal, the table is in doubt."""
    is_of_change = is_change(turn, parts, source.animals)
    turn.keep(source.remark, reason)
    if is_of_change:
        turn.doubt(source.remark, source.animals)


def _animal(turn: Turn, source: Source, head: AnimalPart, after: Rest) -> Rest | None:
    """The animal comes to the table; what waited is said of it if it was named in answer to who is there."""
    waiting = turn.state.doubt.held if turn.state.doubt else ()
    if waiting and not source.is_answer:
        turn.put_off("another animal came before an answer")
        waiting = ()
    if not catch(turn, source, head, after):
        return None
    carry_out_held(turn, waiting)
    return after


def _held(turn: Turn, source: Source, rest: Rest) -> Rest:
    """Lets the head of `rest` wait until it is sure who is on the table; gives what follows it."""
    held = tuple(takewhile(waits, rest))
    hold(turn, source, held)
    return rest[len(held) :]


def _is_denial(head: Part, after: Rest) -> bool:
    """Whether in doubt "correction, Betony" is said: nothing is moved to Betony, it only says who is there."""
    is_denying = isinstance(head, CommandPart) and head.command in ("correct", "no") and not head.place
    return is_denying and bool(after) and isinstance(after[0], AnimalPart)


def _ordered(parts: Rest) -> Rest:
    """The animal before its command: skipping Tansy may be said in either order."""
    ordered = list(parts)
    for index in range(len(ordered) - 1):
        head, after = ordered[index], ordered[index + 1]
        if isinstance(head, CommandPart) and head.command in ("skip", "done") and isinstance(after, AnimalPart):
            ordered[index], ordered[index + 1] = after, head
    return tuple(ordered)


def _facts(turn: Turn, source: Source, rest: Rest, *, aloud: bool) -> Rest | None:
    """Records the run of facts at the head of `rest`; gives what follows it, or None if it waits for an answer."""
    if turn.state.animal is None:
        return _held(turn, source, rest)
    run = tuple(takewhile(lambda part: not isinstance(part, AnimalPart | CommandPart | QuestionPart), rest))
    if is_second_round(turn, run):
        turn.doubt(source.remark, {})
        return rest
    after = rest[len(run) :]
    return after if record_all(turn, source, run, after, aloud=aloud) else None


def _command(turn: Turn, source: Source, part: CommandPart, after: Rest) -> Rest | None:
    handler = _COMMANDS.get(part.command)
    if handler is None:
        turn.keep(source.remark, f"no such command: {part.command}")
        turn.told(replies.CANNOT_ANSWER)
        return after
    return handler(turn, source, part, after)


def _next(turn: Turn, source: Source, _: CommandPart, after: Rest) -> Rest | None:
    if after and isinstance(after[0], AnimalPart):
        return after[1:] if catch(turn, source, after[0], after[1:], is_next=True) else None
    parting = part_from_table(turn, source, is_next=True)
    turn.ask_open(source, QuestionKind.WHO, f"{parting} {replies.WHICH_ANIMAL}".strip(), after, is_of_change=True)
    return None


def _done(turn: Turn, source: Source, part: CommandPart, after: Rest) -> Rest | None:
    if turn.state.animal is None:
        turn.ask_open(source, QuestionKind.WHO, f"{replies.NOBODY} {replies.WHICH_ANIMAL}", (part, *after))
        return None
    if part.command == "skip":
        leave_skipped(turn, source, part.reason or "")
    else:
        leave_done(turn, source)
    return after


def _repeat(turn: Turn, _: Source, __: CommandPart, after: Rest) -> Rest:
    turn.told(turn.state.last_reply or replies.NOTHING_SAID_YET)
    return after


def _pause(turn: Turn, source: Source, _: CommandPart, after: Rest) -> None:
    turn.emit(Paused(turn.time, source.remark))
    turn.told(replies.PAUSED)
    if after:
        keep_rest(turn, source, after, "more was said after pause")


def _resume(turn: Turn, _: Source, __: CommandPart, after: Rest) -> Rest:
    turn.told(replies.RESUMED)
    return after


def _note(turn: Turn, source: Source, part: CommandPart, after: Rest) -> Rest:
    animal = None if turn.state.doubt else turn.state.animal
    turn.emit(Noted(turn.time, source.remark, animal, part.note or ""))
    turn.reply(replies.ReplyKind.HEARD, replies.NOTED)
    return after


def _answer(turn: Turn, _: Source, __: CommandPart, after: Rest) -> Rest:
    if not after:
        turn.told(replies.NO_QUESTION)
    return after


def _finish(turn: Turn, source: Source, _: CommandPart, after: Rest) -> None:
    if after:
        turn.keep(source.remark, "more was said after finish")
    finish(turn, source.remark)


_COMMANDS: dict[str, Callable[[Turn, Source, CommandPart, Rest], Rest | None]] = {
    "next": _next,
    "done": _done,
    "skip": _done,
    "scratch": scratch,
    "correct": correct,
    "repeat": _repeat,
    "pause": _pause,
    "resume": _resume,
    "note": _note,
    "yes": _answer,
    "no": _answer,
    "first": _answer,
    "second": _answer,
    "finish": _finish,
}

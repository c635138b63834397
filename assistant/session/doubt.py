"""Doubt about who is on the table: what raises it, and what waits until it is over.

A wrong record on the wrong animal is the worst fault there is. It comes about when "done" or a name was said and not
understood, and what follows goes on record on the animal before. So the table is in doubt

- after a remark that the listeners did not agree on, if nobody answered the question about it and it may have been a
  change of animal: a reading of it names an animal or ends the work on one, or it was as short as a name;
- after a question which animal is meant that stayed open or was answered with no; what is typed and like the name of
  one or a few is asked about that way;
- after another typed line that means nothing and is as short as a name;
- if after "done" the feet that were reported already are reported again.

A sound that no listener has a sentence for raises no doubt: bleats, gates and the neighbour are of that kind and come
by the hundred, while a name of the register is nearly always among the readings.

What is said in doubt waits. The keeper is asked once; a name, "yes" or "no" and a name ends it. If nobody answers,
what waits goes to the review with the animals that it may be about, and so does all that follows until a name is said.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.session import replies
from assistant.session.coverage import is_between
from assistant.session.events import RemarkHeld, ScopeOpened
from assistant.session.recording import scope_after
from assistant.session.replies import ReplyKind
from assistant.session.state import Held, QuestionKind
from assistant.session.turn import Animals, Source, Turn
from assistant.values import (
    BETWEEN,
    FEET,
    ActionPart,
    AnimalPart,
    CommandPart,
    FindingPart,
    MeasurePart,
    Part,
    PlacePart,
    QuestionPart,
    Remark,
    Scope,
)

CHANGING = frozenset({"next", "done", "skip", "finish"})
"""Commands with which an animal leaves the table or another comes."""

NAME_S = 1.3
"""A name said alone is at most so long, in seconds, with the 0.6 s of silence around it (measured: 0.8 to 1.2)."""

NAME_WORDS = 3
"""A name or number typed alone has at most so many words (common practice, no source)."""

FREE = frozenset({"next", "finish", "pause", "resume", "repeat", "note", "yes", "no", "first", "second"})
"""Commands that mean the same whoever is on the table."""


def may_be_change(turn: Turn, remark: Remark, readings: Sequence[Remark], animals: Animals) -> bool:
    """Whether a remark that the listeners did not agree on may have brought another animal to the table."""
    is_short = remark.verdict is not None and 0 < remark.end_s - remark.start_s <= NAME_S
    return is_short or any(is_change(turn, reading.meaning.parts, animals) for reading in readings)


def is_change(turn: Turn, parts: Sequence[Part], animals: Animals) -> bool:
    """Whether parts name an animal that is not surely the one on the table, or end the work on it."""
    here = (turn.state.animal,)
    return any(
        (isinstance(part, AnimalPart) and animals.get(part.animal) != here)
        or (isinstance(part, CommandPart) and part.command in CHANGING)
        for part in parts
    )


def may_be_name(turn: Turn, remark: Remark, animals: Animals) -> bool:
    """Whether typed words without a meaning may have been an animal's name: like one, or few and the whole line."""
    if remark.verdict is not None:
        return False
    alike = animals.get(remark.meaning.unplaced, ())
    is_short = not remark.meaning.parts and 0 < len(remark.words.split()) <= NAME_WORDS
    return is_short or any(key != turn.state.animal for key in alike)


def is_second_round(turn: Turn, parts: Sequence[Part]) -> bool:
    """Whether, after "done", things are said again that were said already, and nothing that was missing."""
    gaps = turn.state.table.gaps
    if gaps is None:
        return False
    placed = [part for part in parts if isinstance(part, FindingPart | ActionPart)]
    if any(part.place in gaps or (is_between(part) and BETWEEN in gaps) for part in placed):
        return False
    measured = {part.measure for part in _recorded(turn) if isinstance(part, MeasurePart)}
    is_foot_again = any(part.place in FEET and not is_between(part) for part in placed)
    return is_foot_again or any(isinstance(part, MeasurePart) and part.measure in measured for part in parts)


def close_place(turn: Turn, readings: Sequence[Remark]) -> None:
    """After a remark that was not understood and may have opened a place, none is open.

    Otherwise "bathed" after an abscess that was only asked about would be recorded on the foot before.
    """
    parts = [part for reading in readings for part in reading.meaning.parts]
    if turn.scope != Scope() and any(isinstance(part, PlacePart | FindingPart | ActionPart) for part in parts):
        turn.emit(ScopeOpened(turn.time, Scope()))


def _recorded(turn: Turn) -> list[Part]:
    return [entry.part for entry in turn.state.entries_of(turn.state.animal)]


def waits(part: Part) -> bool:
    """Whether a part is held while it is in doubt who is on the table."""
    is_free = isinstance(part, CommandPart) and part.command in FREE
    return not (is_free or isinstance(part, AnimalPart | QuestionPart))


def hold(turn: Turn, source: Source, parts: tuple[Part, ...]) -> None:
    """Lets parts wait until it is sure who is on the table; asks if that was not asked yet.

    If it was asked and nobody answered, they go to the review at once. Where nobody is on the table at all, it is asked
    again each time.
    """
    doubt = turn.state.doubt
    is_waiting = doubt is not None and bool(doubt.held) and turn.state.question is not None
    if doubt is not None and doubt.is_asked and not is_waiting:
        turn.keep(source.remark, "it was not sure who was on the table")
        turn.told(replies.KEPT_FOR_LATER)
        return
    if not is_waiting:
        turn.put_off("another question came up")
    turn.emit(RemarkHeld(turn.time, Held(source.remark, parts, source.animals, source.by)))
    scope = scope_after(parts, turn.scope)
    if scope != turn.scope:
        turn.emit(ScopeOpened(turn.time, scope))
    if is_waiting:
        turn.reply(ReplyKind.HEARD)
    elif turn.state.animal is None:
        turn.ask_open(source, QuestionKind.WHO, replies.WHICH_ANIMAL)
    else:
        turn.ask_open(source, QuestionKind.STILL, f"Still on {turn.called(turn.state.animal)}?")

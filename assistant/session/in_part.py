"""A remark that must be asked about: what all agree on is recorded at once, the question is about the rest."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.session import replies
from assistant.session.doubt import close_place, may_be_change
from assistant.session.events import Said
from assistant.session.offer import offer
from assistant.session.recording import is_plain, record_all
from assistant.session.state import Choice, Question, QuestionKind
from assistant.session.turn import Source, Turn
from assistant.values import RECORDABLE, Part, PlacePart, Remark, recordable

Parts = tuple[Part, ...]


def without(parts: Sequence[Part], taken: Sequence[Part]) -> Parts:
    """What is left of `parts`."""
    return tuple(part for part in parts if part not in taken)


def agreed_facts(readings: Sequence[Sequence[Part]]) -> Parts:
    """The facts that all readings have, each once.

    None if there is a reading with anything but facts and places: what is a command or a question to one listener may
    be another remark altogether.
    """
    if any(not isinstance(part, (*RECORDABLE, PlacePart)) for parts in readings for part in parts):
        return ()
    facts = recordable(part for parts in readings[:1] for part in parts)
    return tuple(part for part in dict.fromkeys(facts) if all(part in parts for parts in readings))


def ask_which(turn: Turn, said: Said, readings: Sequence[Remark]) -> None:
    """Asks which reading of a remark is meant, but for the facts that all of them share: those are recorded.

    Args:
        turn: the step at hand; no question is open.
        said: the remark.
        readings: what it may mean, best first.
    """
    remark = said.remark
    is_of_change = may_be_change(turn, remark, readings, said.animals)
    source = Source(remark.id, remark.by, said.animals)
    taken = () if is_of_change else _plain_facts(turn, source, said.agreed)
    if taken:
        record_all(turn, source, taken, ())
    close_place(turn, readings)
    rests = [_facts_beyond(reading, taken) for reading in readings] if taken else []
    open_rests = [rest for rest in dict.fromkeys(rests) if rest]
    if () in rests and len(open_rests) <= 1:
        _ask_whether(turn, source, open_rests)
        return
    choices = tuple(_choice(turn, one.words, one.meaning.parts) for one in readings)
    offered = tuple(_choice(turn, "", rest) for rest in open_rests) or choices
    kind, text = QuestionKind.READING, offer(offered, turn.today)
    turn.ask(Question(remark.id, kind, text, choices, (), said.animals, remark.by, is_of_change, taken))


def _ask_whether(turn: Turn, source: Source, rests: Sequence[Parts]) -> None:
    """One reading says no more than is on record, another does: is it so? If no other does, there is nothing to ask."""
    for rest in rests:
        text = offer([_choice(turn, "", rest)], turn.today)
        turn.ask(
            Question(source.remark, QuestionKind.SURE, text, (Choice("yes", rest),), (), source.animals, source.by)
        )


def _choice(turn: Turn, words: str, parts: Parts) -> Choice:
    return Choice(words or replies.said_again(parts, turn.today).removesuffix("."), parts)


def _facts_beyond(reading: Remark, taken: Parts) -> Parts:
    return without(recordable(reading.meaning.parts), taken)


def _plain_facts(turn: Turn, source: Source, agreed: Parts) -> Parts:
    """Of the facts agreed on those to be recorded now: none where it is not sure whose they are."""
    state = turn.state
    if state.animal is None or state.doubt or state.table.gaps is not None:
        return ()
    return tuple(part for part in agreed if is_plain(turn, source, part))

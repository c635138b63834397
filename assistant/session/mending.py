"""Taking back and putting right: nothing is overwritten, a later entry names the one that it replaces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import takewhile, zip_longest

from assistant.session import replies
from assistant.session.catching import catch
from assistant.session.events import ScopeOpened, Undone
from assistant.session.recording import Placed, scope_after
from assistant.session.replies import ReplyKind
from assistant.session.state import Choice, Question, QuestionKind, Table
from assistant.session.turn import Source, Turn
from assistant.values import (
    ActionPart,
    AnimalPart,
    CommandPart,
    Entry,
    FindingPart,
    MeasurePart,
    Part,
    PlacePart,
    QuestionPart,
)

Rest = tuple[Part, ...]


def scratch(turn: Turn, source: Source, _: CommandPart, after: Rest) -> Rest:
    """Takes back all that the last remark did: entries, and who is on the table."""
    taken = take_back(turn, source)
    is_fact_next = bool(after) and not isinstance(after[0], CommandPart | AnimalPart | QuestionPart)
    if taken is None:
        turn.told(replies.NOTHING_TO_SCRATCH)
    elif not is_fact_next or not taken:
        turn.reply(ReplyKind.HEARD, taken)
    return after


def take_back(turn: Turn, source: Source) -> str | None:
    """Takes back the last remark that still has an effect; says what was taken back, None if there is nothing."""
    while turn.state.acts:
        act = turn.state.acts[-1]
        held = turn.state.entries_from(act.remark)
        before = turn.state.table
        for entry in reversed(held):
            turn.withdraw(source, entry)
        turn.emit(Undone(turn.time, act.remark))
        if _who(before) != _who(act.before):
            key = turn.state.animal
            who = f"{turn.called(key)} is on the table." if key else replies.NOBODY
            return f"{replies.SCRATCHED} {who}"
        if held:
            return f"Scratched: {replies.said_again([entry.part for entry in held], turn.today)}"
    return None


def _who(table: Table) -> object:
    return (table.animal, table.gaps is None, table.outcomes)


def correct(turn: Turn, source: Source, part: CommandPart, after: Rest) -> Rest | None:
    """Puts the last remark's entries right: another place, another animal, or other facts of the same kind."""
    if after and isinstance(after[0], AnimalPart):
        return _other_animal(turn, source, after[0], after[1:])
    given = tuple(takewhile(lambda one: not isinstance(one, AnimalPart | CommandPart | QuestionPart), after))
    places = [PlacePart(part.place, part.part)] if part.place else []
    places += [one for one in given if isinstance(one, PlacePart)]
    facts = [one for one in given if not isinstance(one, PlacePart)]
    old = _last_entries(turn)
    if not places and not facts:
        turn.ask_open(source, QuestionKind.CORRECTION, replies.CORRECT_TO_WHAT, after)
        return None
    if not _can_be_corrected(old, places, facts):
        turn.keep(source.remark, "there was nothing to correct")
        turn.told(f"{replies.NOTHING_TO_CORRECT} {replies.KEPT_FOR_LATER}")
        return after[len(given) :]
    if problem := _problem(turn, old[0].animal, facts):
        turn.ask_open(source, QuestionKind.VALUE, f"{problem} Say it again?", (part, *after))
        return None
    new = _moved(turn, source, old, places) if places else []
    for kind in dict.fromkeys(_kind(fact) for fact in facts):
        new += _replaced(turn, source, [fact for fact in facts if _kind(fact) == kind], places)
    turn.emit(ScopeOpened(turn.time, scope_after(new, turn.scope)))
    _say_corrected(turn, new)
    return after[len(given) :]


def _can_be_corrected(old: Sequence[Entry], places: Sequence[PlacePart], facts: Sequence[Part]) -> bool:
    """Whether there is something to move to the places, and a place for each fact that needs one."""
    has_placed = any(isinstance(entry.part, FindingPart | ActionPart) for entry in old)
    is_homeless = any(isinstance(fact, FindingPart | ActionPart) and fact.place is None for fact in facts)
    return bool(old) and (has_placed or not (places or is_homeless))


def _say_corrected(turn: Turn, new: Sequence[Part]) -> None:
    only = new[0] if len(new) == 1 else None
    text = f"{replies.sentence_case(replies.value(only.value))}." if isinstance(only, MeasurePart) else ""
    turn.reply(ReplyKind.HEARD, text or replies.read_back(new, turn.today))


def _problem(turn: Turn, key: str, facts: Sequence[Part]) -> str | None:
    problems = (turn.misfit(fact, key) for fact in facts if isinstance(fact, MeasurePart))
    return next((problem for problem in problems if problem), None)


def _last_entries(turn: Turn) -> tuple[Entry, ...]:
    """The entries of the last remark that has any, if they are of the animal on the table or nobody is on it."""
    for act in reversed(turn.state.acts):
        if held := turn.state.entries_from(act.remark):
            return held if turn.state.animal in (None, held[0].animal) else ()
    return ()


def _moved(turn: Turn, source: Source, old: Sequence[Entry], places: Sequence[PlacePart]) -> list[Part]:
    """Moves what was last said of a place to other places, the rest of the remark stays where it is."""
    last = scope_after([entry.part for entry in old], turn.scope).places
    movable = [e for e in old if isinstance(e.part, FindingPart | ActionPart) and (e.part.place in last or not last)]
    contents = dict.fromkeys(replace(_as_placed(entry.part), place=None) for entry in movable)
    new: list[Part] = [
        replace(content, place=to.place, part=to.part or content.part) for content in contents for to in places
    ]
    _supersede(turn, source, movable, new)
    return new


def _as_placed(part: Part) -> Placed:
    if isinstance(part, FindingPart | ActionPart):
        return part
    raise TypeError(f"{type(part).__name__} has no place of its own")


def _replaced(turn: Turn, source: Source, facts: list[Part], places: Sequence[PlacePart]) -> list[Part]:
    """Replaces the facts of one kind of the last remark; a measure replaces the animal's last of the same measure."""
    kind = _kind(facts[0])
    last = _last_entries(turn)
    old = [entry for entry in last if _kind(entry.part) == kind]
    if not old and not isinstance(facts[0], FindingPart | ActionPart):
        old = [entry for entry in turn.state.entries_of(last[0].animal) if _kind(entry.part) == kind][-1:]
    where: list[tuple[str | None, str | None]] = [(to.place, to.part) for to in places]
    if not where:
        where = [(e.part.place, e.part.part) for e in old or last if isinstance(e.part, FindingPart | ActionPart)]
    new: list[Part] = []
    for fact in facts:
        if isinstance(fact, FindingPart | ActionPart) and fact.place is None and where:
            new += [replace(fact, place=place, part=fact.part or part) for place, part in dict.fromkeys(where)]
        else:
            new.append(fact)
    _supersede(turn, source, old, list(dict.fromkeys(new)), last[0].animal)
    return new


def _kind(part: Part) -> tuple[str, str]:
    return type(part).__name__, part.measure if isinstance(part, MeasurePart) else ""


def _supersede(turn: Turn, source: Source, old: Sequence[Entry], new: Sequence[Part], animal: str = "") -> None:
    """Each old entry makes way for a new one in order; what is over on either side is withdrawn or recorded."""
    for entry, part in zip_longest(old, new):
        if part is None:
            turn.withdraw(source, entry)
        else:
            turn.record(source, part, instead_of=entry, animal="" if entry else animal or old[0].animal)


def _other_animal(turn: Turn, source: Source, part: AnimalPart, after: Rest) -> Rest | None:
    """The last remark was about another animal, or the wrong one was put on the table."""
    ids = turn.meant(source, part.animal)
    if len(ids) > 1:
        choices = tuple(Choice(turn.called(key), (CommandPart("correct"), AnimalPart(key), *after)) for key in ids)
        text = replies.either([choice.label for choice in choices])
        kind = QuestionKind.ANIMAL
        turn.ask(Question(source.remark, kind, text, choices, (), source.animals, source.by, is_of_change=True))
        return None
    if not ids:
        turn.keep(source.remark, f"no animal {part.animal} to correct to")
        turn.told(f"I know no animal {part.animal}. {replies.KEPT_FOR_LATER}")
        return after
    acts = turn.state.acts
    held = turn.state.entries_from(acts[-1].remark) if acts else ()
    if acts and not held and acts[-1].before.animal != turn.state.animal:
        take_back(turn, source)
    held = tuple(entry for entry in held if entry.animal != ids[0])
    for entry in held:
        turn.record(source, entry.part, instead_of=entry, animal=ids[0])
    if held:
        turn.told(f"Moved to {turn.called(ids[0])}: {replies.said_again([e.part for e in held], turn.today)}")
    return after if catch(turn, source, part, after) else None

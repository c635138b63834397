"""The keeper's questions, each answered in one sentence from the session and what is known of the herd."""

from __future__ import annotations

from collections.abc import Callable

from assistant.session import replies
from assistant.session.finish import progress
from assistant.session.state import QuestionKind
from assistant.session.turn import Source, Turn
from assistant.values import ActionPart, Entry, FindingPart, QuestionPart


def inquire(turn: Turn, source: Source, part: QuestionPart) -> None:
    """Answers a question, or asks which animal it is about."""
    question = part.question.casefold()
    if question == "advice":
        turn.told(replies.NO_ADVICE)
        return
    if question in _OF_HERD | _OF_ONE | _OF_TWO:
        _ask_herd(turn, source, part)
        return
    answer = _ANSWERS.get(question)
    if answer is None:
        turn.keep(source.remark, f"no such question: {part.question}")
        turn.told(replies.CANNOT_ANSWER)
        return
    if question not in _ABOUT_ONE:
        turn.told(answer(turn, part, ""), _due_lines(turn) if answer is _due else ())
        return
    key = _who(turn, source, part)
    if key is None:
        turn.ask_open(source, QuestionKind.WHO, replies.WHICH_ANIMAL, (part,))
    else:
        turn.told(answer(turn, part, key))


def _ask_herd(turn: Turn, source: Source, part: QuestionPart) -> None:
    """A question that the herd answers: about all of it, about one animal, or about two."""
    question = part.question.casefold()
    if part.other is not None:
        _ask_of_two(turn, source, question, (part.animal or "", part.other))
        return
    named = part.medicine or "" if question in _OF_HERD else _who(turn, source, part)
    if question in _OF_TWO and turn.state.animal is None:
        turn.told(replies.NOBODY)
        return
    if named is None or (question in _OF_TWO and named == turn.state.animal):
        turn.ask_open(source, QuestionKind.WHO, replies.WHICH_ANIMAL, (part,))
        return
    key, other = (turn.state.animal or "", named) if question in _OF_TWO else (named, "")
    _answer(turn, question, key, other)


def _ask_of_two(turn: Turn, source: Source, question: str, said: tuple[str, str]) -> None:
    """Both animals are named; who is on the table has nothing to do with it."""
    one, other = (turn.meant(source, name) for name in said)
    for name, ids in zip(said, (one, other), strict=True):
        if len(ids) != 1:
            told = f"Several animals may be {name}. Ask by number." if ids else f"I know no animal {name}."
            turn.told(told)
            return
    if one == other:
        turn.told("That is one and the same animal.")
    else:
        _answer(turn, question, one[0], other[0])


def _answer(turn: Turn, question: str, key: str, other: str) -> None:
    answer = turn.world.answer(question, key, other, turn.today)
    if answer is None:
        turn.told(replies.CANNOT_ANSWER)
    else:
        turn.told(answer.sentence, answer.lines)


def _who(turn: Turn, source: Source, part: QuestionPart) -> str | None:
    """The animal that a question is about: the one named if it is only one, else the one on the table."""
    if part.animal is None:
        return turn.state.animal
    ids = turn.meant(source, part.animal)
    return ids[0] if len(ids) == 1 else None


def _who_is_left(turn: Turn, _: QuestionPart, __: str) -> str:
    state = turn.state
    if not state.planned:
        return f"Nobody was planned. {replies.left_over(0, len(state.done), has_plan=False)}"
    if not state.left:
        return "Nobody is left."
    sentence = f"{replies.some_of([turn.called(key) for key in state.left])}."
    minutes = progress(state).left_min
    if minutes is None:
        return sentence
    return f"{sentence} About {replies.number(max(1, round(minutes)))} minutes."


def _last_time(turn: Turn, part: QuestionPart, key: str) -> str:
    last = turn.last_visit(key)
    who = turn.called(key)
    if last is None or (last.trimmed is None and not last.parts):
        return f"Nothing is known of {who} from before."
    if last.trimmed is None and part.action is not None:
        return f"No trim of {who} is on record."
    when = f"{who} was last trimmed {replies.ago(last.trimmed, turn.today)}" if last.trimmed else who
    told = [replies.part_words(one, turn.today) for one in last.parts if _fits(one, part)]
    return f"{when}: {', '.join(told)}." if told and part.action is None else f"{when}."


def _history(turn: Turn, part: QuestionPart, key: str) -> str:
    last = turn.last_visit(key)
    now = [entry.part for entry in turn.state.entries_of(key) if _fits(entry.part, part)]
    before = [one for one in last.parts if _fits(one, part)] if last else []
    where = replies.place_words(part.place) or turn.called(key)
    told = []
    for when, parts in (("last time", before), ("today", now)):
        if parts:
            names = [one.finding if isinstance(one, FindingPart) else getattr(one, "action", "") for one in parts]
            told.append(f"{when} {', '.join(dict.fromkeys(names))}")
    return f"{replies.sentence_case(where)}: {'; '.join(told) if told else 'nothing on record'}."


def _fits(part: object, asked: QuestionPart) -> bool:
    """Whether a finding or action lies at the place and is of the kind asked for."""
    if not isinstance(part, FindingPart | ActionPart):
        return False
    if asked.place is not None and asked.place not in (part.place, part.part):
        return False
    if asked.finding is not None:
        return isinstance(part, FindingPart) and part.finding == asked.finding
    if asked.action is not None:
        return isinstance(part, ActionPart) and part.action == asked.action
    return True


def _count(turn: Turn, part: QuestionPart, _: str) -> str:
    """How often something was found or done in this session, and on how many animals."""
    found: list[Entry] = [e for held in turn.state.entries.values() for e in held if _fits(e.part, part)]
    what = replies.sentence_case(part.finding or part.action or "findings and actions")
    if not found:
        return f"{what}: none today."
    n_animals = len({entry.animal for entry in found})
    animals = "animal" if n_animals == 1 else "animals"
    return f"{what}: {replies.times(len(found))} today, on {replies.number(n_animals)} {animals}."


def _due(turn: Turn, _: QuestionPart, __: str) -> str:
    due = [f"{turn.called(one.animal)} {one.what}" for one in turn.world.due(turn.today)]
    return f"{replies.some_of(due)}." if due else replies.NOTHING_DUE


def _due_lines(turn: Turn) -> tuple[str, ...]:
    return tuple(f"{one.day}: {turn.called(one.animal)}, {one.what}" for one in turn.world.due(turn.today))


def _where_am_i(turn: Turn, _: QuestionPart, __: str) -> str:
    if turn.state.animal is None:
        return replies.NOBODY
    who = turn.called(turn.state.animal)
    if turn.state.doubt:
        return f"Perhaps still {who}."
    places = list(turn.scope.places)
    where = ", ".join([replies.listed(places), *([turn.scope.part] if turn.scope.part else [])]) if places else ""
    return f"{who}, {where}." if where else f"{who}, no place open."


_OF_HERD = frozenset({"not to the male", "worst feet", "births", "withdrawal"})
_OF_ONE = frozenset({"birth", "withheld"})
_OF_TWO = frozenset({"related"})
_ABOUT_ONE = frozenset({"last time", "history"})
_ANSWERS: dict[str, Callable[[Turn, QuestionPart, str], str]] = {
    "who is left": _who_is_left,
    "last time": _last_time,
    "history": _history,
    "count": _count,
    "due": _due,
    "where am i": _where_am_i,
}

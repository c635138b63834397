"""Answers to the open question: what counts as one, and what it completes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from assistant.session import replies
from assistant.session.conduct import carry_out, carry_out_after, keep_rest
from assistant.session.doubt import may_be_change
from assistant.session.events import QuestionAnswered
from assistant.session.in_part import without
from assistant.session.mending import take_back
from assistant.session.recording import placed
from assistant.session.replies import ReplyKind
from assistant.session.settling import settled
from assistant.session.state import Choice, Question, QuestionKind
from assistant.session.turn import Animals, Source, Turn
from assistant.values import (
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

ORDINALS = ("first", "second", "third", "fourth")
FILLERS = frozenset(["the", "a", "it", "that", "is", "one", "was", "its", "please", "yes", "no", "i", "mean"])


@dataclass(frozen=True)
class Answer:
    """What an answer asks for.

    Attributes:
        parts: what is now carried out in the name of the first remark; None if the question is refused.
        rest: what was said beyond the answer, in the name of the answering remark.
    """

    parts: tuple[Part, ...] | None
    rest: tuple[Part, ...] = ()


def answered(turn: Turn, remark: Remark, readings: Sequence[Remark], animals: Animals) -> bool:
    """Deals with a remark as an answer to the open question.

    Args:
        turn: the step at hand; a question is open.
        remark: what was said.
        readings: what it may mean: one reading if accepted, several if the listeners do not agree.
        animals: for each animal mentioned, the ids that it may stand for.

    Returns:
        Whether the remark is dealt with; if not, it is a new remark and the question was put off.
    """
    question = turn.state.question
    if question is None:
        return False
    if (is_dealt_with := settled(turn, question, remark, readings, animals)) is not None:
        return is_dealt_with
    heads = [reading.meaning.parts[0] for reading in readings if reading.meaning.parts]
    head = heads[0] if len(readings) == 1 and heads else None
    if isinstance(head, CommandPart) and head.command in ("scratch", "repeat"):
        _scratch_or_repeat(turn, question, remark, head.command, readings[0].meaning.parts[1:], animals)
        return True
    if isinstance(head, QuestionPart) or (isinstance(head, CommandPart) and head.command in ("pause", "note")):
        return False
    if not turn.state.is_attended and not _is_unmistakable(question, head):
        turn.put_off("the next remark came before an answer")
        return False
    answers = [answer_to(turn, question, reading, animals) for reading in readings]
    is_doubtful = len(readings) > 1 and (None in answers or any(answer != answers[0] for answer in answers))
    is_bare_yes = isinstance(head, CommandPart) and head.command == "yes" and answers == [None]
    if (is_doubtful and any(answer is not None for answer in answers)) or (is_bare_yes and turn.state.is_attended):
        turn.keep(remark.id, "an answer that was not clear", to_review=False)
        if may_be_change(turn, remark, readings, animals):
            turn.doubt(remark.id, animals)
        turn.reply(ReplyKind.ASKING, question.text)
        return True
    if not answers or answers[0] is None:
        turn.put_off("the next remark came before an answer")
        return False
    _follow(turn, question, remark, answers[0], animals)
    return True


def _is_unmistakable(question: Question, head: Part | None) -> bool:
    """Whether a remark is an answer even in a recording, where nobody heard the question.

    There a place, a finding or a name that fits the question is what comes next on the animal, or the next animal.
    """
    if isinstance(head, CommandPart):
        return head.command in ("yes", "no", "correct")
    return isinstance(head, AnimalPart) and question.kind in (QuestionKind.ANIMAL, QuestionKind.READING)


def _follow(turn: Turn, question: Question, remark: Remark, answer: Answer, animals: Animals) -> None:
    turn.emit(QuestionAnswered(turn.time, question.remark, remark.id))
    known = {**question.animals, **animals}
    is_pick = question.kind is QuestionKind.ANIMAL
    is_who = is_pick or question.kind is QuestionKind.WHO
    source = Source(question.remark, question.by, known, is_pick=is_pick, is_answer=is_who)
    is_doubt = question.kind is QuestionKind.SURE
    if answer.parts is None:
        turn.keep(question.remark, f"answered with no: {question.text}", to_review=not is_doubt)
        turn.release(f"answered with no: {question.text}")
        if question.kind is QuestionKind.ANIMAL and question.is_of_change:
            turn.doubt(question.remark, {})  # somebody else may be there
        turn.told("Not recorded." if is_doubt else replies.KEPT_FOR_LATER)
    else:
        is_sure = is_doubt and answer.parts == question.choices[0].parts
        parts = without(answer.parts, question.taken)
        carry_out(turn, replace(source, is_sure=is_sure), parts, aloud=question.kind is QuestionKind.VALUE)
    if is_doubt:
        carry_out(turn, source, question.pending)
    carry_out_after(turn, Source(remark.id, remark.by, known), answer.rest)


def _scratch_or_repeat(
    turn: Turn, question: Question, remark: Remark, command: str, rest: tuple[Part, ...], animals: Animals
) -> None:
    """Scratching takes back the remark that the question is about; repeating asks again."""
    if command == "repeat":
        turn.reply(ReplyKind.ASKING, question.text)
        if rest:
            keep_rest(turn, Source(remark.id, remark.by, animals), rest, "more was said after repeat")
        return
    turn.emit(QuestionAnswered(turn.time, question.remark, remark.id))
    turn.keep(question.remark, "scratched before it was complete", to_review=False)
    turn.release("said before who is on the table was known")
    source = Source(remark.id, remark.by, animals)
    is_begun = bool(turn.state.acts) and turn.state.acts[-1].remark == question.remark
    turn.reply(ReplyKind.HEARD, (take_back(turn, source) if is_begun else None) or replies.SCRATCHED)
    carry_out(turn, source, rest)


def answer_to(turn: Turn, question: Question, reading: Remark, animals: Animals) -> Answer | None:
    """What one reading of a remark answers, or None if it is no answer to this question."""
    parts = reading.meaning.parts
    if question.choices:
        picked = _picked(turn, question, reading, animals)
        if picked is not None:
            return Answer(picked.parts, () if picked.parts == parts else parts[1:])
        if question.taken and set(question.taken) <= set(parts):
            return Answer(parts)  # said again in full
    command = parts[0].command if parts and isinstance(parts[0], CommandPart) else ""
    is_about_place = question.kind in (QuestionKind.READING, QuestionKind.WHERE)
    is_denied_place = question.kind is QuestionKind.SURE and command in ("no", "correct")
    places = _places(parts) if is_about_place or is_denied_place else []
    if places and (moved := _moved(question, places)):
        return Answer(moved, _beyond_places(parts))
    if command == "no":
        return Answer(None, parts[1:])
    completed = None if question.choices else _completed(turn, question, parts)
    if completed is None and command == "correct":
        return Answer(None)  # never taken for a correction of the remark before the one in question
    return completed


def _picked(turn: Turn, question: Question, reading: Remark, animals: Animals) -> Choice | None:
    """The one choice meant: by yes, an animal, the same meaning, first or second, or some of its words."""
    parts, choices = reading.meaning.parts, question.choices
    head = parts[0] if parts else None
    if isinstance(head, CommandPart) and head.command == "yes" and len(choices) == 1:
        return choices[0]
    if isinstance(head, CommandPart) and (head.command == "no" or head.place):
        return None
    same = [choice for choice in choices if choice.parts == parts]
    ways = [same]
    if isinstance(head, AnimalPart):
        ways += _by_animal(turn, choices, head.animal, animals)
    if not parts or len(parts) == 1:
        words = [word for word in reading.words.casefold().split() if word not in FILLERS]
        ways.append([choice for n, choice in zip(ORDINALS, choices, strict=False) if words == [n]])
        ways.append([choice for choice in choices if words and set(words) <= _words(turn, choice)])
    return next((found[0] for found in ways if len(found) == 1), None)


def _words(turn: Turn, choice: Choice) -> set[str]:
    """The words of a choice, as said and as offered."""
    offered = [replies.part_words(part, turn.today) for part in choice.parts]
    return set(" ".join([choice.label, *offered]).casefold().replace(",", " ").split())


def _by_animal(turn: Turn, choices: Sequence[Choice], said: str, animals: Animals) -> list[list[Choice]]:
    """Choices whose animal is meant: by the register, or by the end of its number as keepers shorten it."""
    ids = animals.get(said, ())
    digits = said.replace(" ", "")
    by_id, by_end, by_part = [], [], []
    for choice in choices:
        mention = next((part.animal for part in choice.parts if isinstance(part, AnimalPart)), "")
        animal = turn.animal(mention)
        numbers = [animal.number, animal.tag.replace(" ", "")] if animal else [mention.replace(" ", "")]
        if mention in ids or mention == said:
            by_id.append(choice)
        if digits.isdigit() and any(text.endswith(digits) for text in numbers if text):
            by_end.append(choice)
        if digits.isdigit() and any(digits in text for text in numbers):
            by_part.append(choice)
    return [by_id, by_end, by_part]


def _places(parts: Sequence[Part]) -> list[PlacePart]:
    """The places that an answer is made of: "left fore", "no, left fore", "correction, left fore"."""
    places = []
    for part in parts:
        if isinstance(part, PlacePart):
            places.append(part)
        elif isinstance(part, CommandPart) and part.command in ("correct", "no", "yes"):
            places += [PlacePart(part.place, part.part)] if part.place else []
        else:
            break
    return places


def _beyond_places(parts: tuple[Part, ...]) -> tuple[Part, ...]:
    for index, part in enumerate(parts):
        if not isinstance(part, PlacePart | CommandPart) or (isinstance(part, CommandPart) and part.command == "done"):
            return parts[index:]
    return ()


def _moved(question: Question, places: Sequence[PlacePart]) -> tuple[Part, ...] | None:
    """The parts that wait, at the place given; of several readings only if they differ in nothing but the place."""
    scope = Scope(tuple(place.place for place in places), places[0].part)
    if not question.choices:
        return _spread(question.pending, scope)
    rests = [without(choice.parts, question.taken) for choice in question.choices]
    bare = [tuple(map(_without_place, rest)) for rest in rests]
    if any(one != bare[0] for one in bare):
        wanted = set(scope.places)
        fitting = [rest for rest in rests if _places_of(rest) == wanted]
        return fitting[0] if len(fitting) == 1 else None
    return _spread(bare[0], scope)


def _places_of(parts: Sequence[Part]) -> set[str | None]:
    return {part.place for part in parts if isinstance(part, PlacePart | FindingPart | ActionPart)}


def _without_place(part: Part) -> Part:
    return replace(part, place=None) if isinstance(part, FindingPart | ActionPart) else part


def _spread(parts: Sequence[Part], scope: Scope) -> tuple[Part, ...]:
    spread: list[Part] = []
    for part in parts:
        spread += placed(part, scope) if isinstance(part, FindingPart | ActionPart) else (part,)
    return tuple(spread)


def _completed(turn: Turn, question: Question, parts: tuple[Part, ...]) -> Answer | None:
    """What an open question waits for, completed by the answer; None if the answer does not fit it."""
    head = parts[0] if parts else None
    if isinstance(head, CommandPart) and head.command in ("next", "correct") and len(parts) > 1:
        parts = parts[1:]
        head = parts[0]
    pending = question.pending
    if question.kind is QuestionKind.WHO and isinstance(head, AnimalPart):
        if pending and isinstance(pending[0], QuestionPart):
            return Answer((replace(pending[0], animal=head.animal),), parts[1:])
        return Answer((head, *pending), parts[1:])
    if question.kind is QuestionKind.VALUE and (value := _value(turn, question, head)) is not None:
        swapped = [
            value if isinstance(part, MeasurePart) and part.measure == value.measure else part for part in pending
        ]
        return Answer(tuple(swapped), parts[1:])
    if question.kind is QuestionKind.WHERE and {_without_place(one) for one in pending} <= set(
        map(_without_place, parts)
    ):
        return Answer((), parts)  # said again in full, with its place
    is_new_fact = isinstance(head, PlacePart | FindingPart | ActionPart | MeasurePart)
    if question.kind is QuestionKind.CORRECTION and (is_new_fact or isinstance(head, AnimalPart)):
        return Answer((CommandPart("correct"), *parts))
    if question.kind is QuestionKind.CORRECTION and isinstance(head, CommandPart) and head.place:
        return Answer(parts)
    return None


def _value(turn: Turn, question: Question, head: Part | None) -> MeasurePart | None:
    """The number that was asked for; a bare number, which sounds like an animal's, counts too."""
    asked = next((part for part in question.pending if isinstance(part, MeasurePart)), None)
    if asked is None:
        return None
    if isinstance(head, MeasurePart) and head.measure == asked.measure:
        return head
    if isinstance(head, AnimalPart) and head.animal.isascii() and head.animal.isdigit() and len(head.animal) <= 3:
        number = MeasurePart(asked.measure, float(head.animal))
        return number if turn.misfit(number) is None else None
    return None

"""Who is on the table: catching an animal, what is said of it, and its leaving."""

from __future__ import annotations

from datetime import date

from assistant.session import replies
from assistant.session.coverage import gaps
from assistant.session.events import AnimalCaught, AnimalLeft, GapsTold, TableSure
from assistant.session.replies import ReplyKind
from assistant.session.scale import YOUNG_BORN
from assistant.session.state import Choice, Outcome, OutcomeKind, Policy, Question, QuestionKind
from assistant.session.turn import Source, Turn
from assistant.values import Animal, AnimalPart, FindingPart, MeasurePart, Part, Species

NO_TIP_DAYS = 42
"""Nobody is tipped in the last six weeks (common practice; Chappell, University of Kentucky ASC-129, 1991: "late")."""

EARLY_DAYS = 5
"""A birth may come so much before the day expected (University of Missouri Extension, sheep and goat breeding)."""

LATE_DAYS = 14
"""So long after the day expected, an animal without a birth on record is still taken for pregnant."""

MOST_ALIKE = 3
"""Typed words like the names of more animals are hardly a name mistyped."""

LAME_FROM = {Species.SHEEP: 2, Species.GOAT: 3}
"""Scores from which an animal counts as lame (sheep: usual after Kaler et al. 2009; goats: Deeming et al. 2018)."""


def catch(turn: Turn, source: Source, part: AnimalPart, rest: tuple[Part, ...], *, is_next: bool = False) -> bool:
    """Puts the animal meant on the table, or asks which one.

    Returns:
        Whether an animal is on the table now; if not, a question is open that `rest` waits for.
    """
    ids = turn.meant(source, part.animal)
    if len(ids) == 1:
        _put_on_table(turn, source, ids[0], part.animal, is_next=is_next)
        return True
    if not ids:
        text = f"I know no animal {part.animal}. {replies.WHICH_ANIMAL}"
        turn.ask_open(source, QuestionKind.WHO, text, rest, is_of_change=True)
        return False
    _ask_which(turn, source, part.animal, ids, rest)
    return False


def ask_alike(turn: Turn, source: Source, typed: str, rest: tuple[Part, ...]) -> bool:
    """Asks whether an animal was meant whose name or number is like typed words without a meaning.

    Args:
        turn: the turn.
        source: the remark, with the animals that are alike.
        typed: the words.
        rest: what else the remark says; it waits, and may be about the animal on the table.

    Returns:
        Whether it was asked: there are such animals, and so few that they can be told.
    """
    alike, here = source.animals.get(typed, ()), turn.state.animal
    if not 0 < len(alike) <= MOST_ALIKE or any(isinstance(part, AnimalPart) for part in rest):
        return False
    may_be_here = bool(rest) and here is not None and here not in alike
    _ask_which(turn, source, typed, (*alike, here) if here and may_be_here else alike, rest)
    return True


def _ask_which(turn: Turn, source: Source, said: str, ids: tuple[str, ...], rest: tuple[Part, ...]) -> None:
    choices = tuple(
        Choice(label, (AnimalPart(key), *rest)) for key, label in zip(ids, _labels(turn, ids, said), strict=True)
    )
    text = replies.either([choice.label for choice in choices])
    kind = QuestionKind.ANIMAL
    turn.ask(Question(source.remark, kind, text, choices, (), source.animals, source.by, is_of_change=True))


def _labels(turn: Turn, ids: tuple[str, ...], said: str) -> list[str]:
    """What tells the candidates apart, in the shortest way that does."""
    animals = [turn.animal(key) or Animal(key, name=key) for key in ids]
    by_name = [animal.name for animal in animals]
    by_number = [replies.spelled(animal.number or animal.tag) for animal in animals]
    both = [f"{name} {digits}".strip() for name, digits in zip(by_name, by_number, strict=True)]
    ways = [by_number, by_name, both] if any(ch.isdigit() for ch in said) else [by_name, by_number, both]
    born = [
        f"{text} born {animal.born.year}" if animal.born else text for text, animal in zip(both, animals, strict=True)
    ]
    tags = [f"{text} tag {replies.spelled(animal.tag)}" for text, animal in zip(both, animals, strict=True)]
    for labels in (*ways, born, tags):
        if all(labels) and len(set(labels)) == len(labels):
            return labels
    return list(ids)


def _put_on_table(turn: Turn, source: Source, key: str, said: str, *, is_next: bool) -> None:
    before = turn.state.animal
    if before == key:
        if turn.state.doubt:
            turn.emit(TableSure(turn.time, key, source.remark))
        turn.reply(ReplyKind.ANIMAL_CHANGED, f"{turn.called(key)} is on the table.")
        return
    parting = part_from_table(turn, source, is_next=is_next)
    was = turn.state.table.outcomes.get(key)
    turn.emit(AnimalCaught(turn.time, key, source.remark))
    sentences = [parting, _introduction(turn, source, key, said)]
    if was:
        sentences.append(f"Already {was.kind}.")
    sentences.extend(background(turn, key))
    turn.reply(ReplyKind.ANIMAL_CHANGED, " ".join(text for text in sentences if text))


def part_from_table(turn: Turn, source: Source, *, is_next: bool) -> str:
    """Lets the animal on the table go because another comes; it is done if "next" or "done" said so and it has entries.

    One of which it is in doubt whether it is still there is not called done by "next".

    Returns:
        A sentence about it, empty if there is nothing to say.
    """
    key = turn.state.animal
    if key is None:
        return ""
    held = turn.state.entries_of(key)
    if turn.state.table.gaps is not None or (is_next and held and turn.state.doubt is None):
        missing = gaps(entry.part for entry in held) if turn.state.table.gaps is None else ()
        turn.emit(AnimalLeft(turn.time, key, Outcome(OutcomeKind.DONE), source.remark))
        return replies.not_mentioned(turn.called(key), missing) if missing else f"{turn.called(key)} done."
    is_open = key not in turn.state.table.outcomes
    return f"{turn.called(key)} is not done yet." if held and is_open else ""


def _introduction(turn: Turn, source: Source, key: str, said: str) -> str:
    """The name, and the number before it where it was called by number."""
    animal = turn.animal(key)
    if animal is None or not animal.name:
        return f"{turn.called(key)}."
    is_by_number = source.is_pick or (said != animal.name and any(ch.isdigit() for ch in said) and said != key)
    if is_by_number and animal.number:
        return f"{replies.sentence_case(replies.spelled(animal.number))}, {animal.name}."
    return f"{animal.name}."


def background(turn: Turn, key: str) -> list[str]:
    """Cautions first, then the last visit; only cautions if the keeper wants it quick."""
    sentences = cautions(turn, key)
    last = turn.last_visit(key)
    if last is None or turn.state.policy is Policy.QUICK:
        return sentences
    if last.trimmed:
        sentences.append(f"Last trimmed {replies.ago(last.trimmed, turn.today)}.")
    found = [part for part in last.parts if isinstance(part, FindingPart) and part.finding not in ("sound", "lame")]
    for part in found[:3]:
        place = replies.place_words(part.place, part.part)
        sentences.append(replies.sentence_case(f"{place} {replies.finding_clause(part)}.".strip()))
    if len(found) > 3:
        sentences.append(f"And {replies.number(len(found) - 3)} more.")
    return sentences


def cautions(turn: Turn, key: str) -> list[str]:
    """What the keeper must know before laying hands on an animal."""
    animal, last, today = turn.animal(key), turn.last_visit(key), turn.today
    sentences = []
    due = animal.due if animal else None
    if due and -LATE_DAYS <= (due - today).days <= NO_TIP_DAYS + EARLY_DAYS and not _gave_birth(turn, key, due):
        sentences.append(replies.DO_NOT_TIP)
    sentences += [text for text in turn.world.cautions(key, today) if text not in sentences]
    if last is None:
        return sentences
    for what, until in (("milk", last.milk_until), ("meat", last.meat_until)):
        if until and until > today:
            sentences.append(replies.caution_until(what, until, today))
    species = animal.species if animal else Species.GOAT
    if any(_is_lame(part, species) for part in last.parts):
        sentences.append("Lame last time.")
    return [*sentences, *last.cautions]


def _gave_birth(turn: Turn, key: str, due: date) -> bool:
    """Whether a birth is on record that ends what was due on a day."""
    last = turn.last_visit(key)
    now = any(_is_birth(entry.part) for entry in turn.state.entries_of(key))
    before = last is not None and last.born is not None and (due - last.born).days <= NO_TIP_DAYS + EARLY_DAYS
    return now or before


def _is_birth(part: Part) -> bool:
    return isinstance(part, MeasurePart) and part.measure == YOUNG_BORN


def _is_lame(part: Part, species: Species) -> bool:
    if isinstance(part, MeasurePart):
        return part.measure == "lameness" and part.value >= LAME_FROM[species]
    return isinstance(part, FindingPart) and part.finding == "lame"


def leave_done(turn: Turn, source: Source) -> None:
    """The first "done" names what was not mentioned, the second closes; at once if nothing is missing."""
    key = turn.state.animal or ""
    missing = gaps(entry.part for entry in turn.state.entries_of(key))
    was_told = turn.state.table.gaps is not None
    if missing and not was_told:
        turn.emit(GapsTold(turn.time, missing, source.remark))
        turn.told(replies.not_mentioned(turn.called(key), missing))
        return
    _leave(turn, source, Outcome(OutcomeKind.DONE), "" if was_told else f"{turn.called(key)} done.")


def leave_skipped(turn: Turn, source: Source, reason: str) -> None:
    """The animal goes without being done."""
    why = f", {reason}" if reason else ""
    said = f"{turn.called(turn.state.animal)} skipped{why}."
    _leave(turn, source, Outcome(OutcomeKind.SKIPPED, reason), said)


def _leave(turn: Turn, source: Source, outcome: Outcome, said: str) -> None:
    turn.emit(AnimalLeft(turn.time, turn.state.animal or "", outcome, source.remark))
    state = turn.state
    left = replies.left_over(len(state.left), len(state.done), bool(state.planned))
    turn.told(f"{said} {left}".strip())

"""Turning parts of a remark into entries: where they belong, whether they fit, whether they contradict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from assistant.meaning.belonging import fitted, home
from assistant.session import replies
from assistant.session.coverage import BETWEEN_BY_NATURE
from assistant.session.events import ScopeOpened
from assistant.session.replies import ReplyKind
from assistant.session.state import Choice, Policy, Question, QuestionKind
from assistant.session.turn import Source, Turn
from assistant.values import (
    BETWEEN,
    FEET,
    WHOLE_ANIMAL,
    ActionPart,
    FindingPart,
    FollowUpPart,
    MeasurePart,
    Part,
    PlacePart,
    Scope,
)

USUAL_PLACE = {
    **dict.fromkeys(("cough", "scour", "lice", "thin", "fat", "lame", "isolated", "treated"), WHOLE_ANIMAL),
    **dict.fromkeys(("hot udder", "uneven udder"), "udder"),
}
"""Where a finding or action belongs if no place was said and none is open."""

NOT_ON_FEET = frozenset(
    {"extra teat", "split teat", "blind teat", "lump", "scur or ingrown horn", "runny eye", "wound"}
)

Placed = FindingPart | ActionPart


def placed(part: Placed, scope: Scope) -> tuple[Placed, ...]:
    """A finding or action at each place of the open scope where it belongs, or as it is if it has a place of its own.

    What does not belong at the open place goes where it does, or stays without a place, to be asked for.
    """
    if part.place is not None:
        return (part,)
    name = part.finding if isinstance(part, FindingPart) else part.action
    if not scope.places:
        return (replace(part, place=USUAL_PLACE[name]),) if name in USUAL_PLACE else (part,)
    found: list[Placed] = []
    for place in scope.places:
        at = home(name, place)
        there = replace(part, place=at, part=part.part or (scope.part if at == place else None))
        if isinstance(there, FindingPart):
            there = replace(there, finding=fitted(there.finding, there.place, there.part))
        found.append(there)
    return tuple(dict.fromkeys(found))


def scope_after(parts: Sequence[Part], before: Scope) -> Scope:
    """The place that is open after parts were said: those of the last piece said."""
    last: list[Part] = []
    for part in reversed(parts):
        if not isinstance(part, PlacePart | FindingPart | ActionPart) or part.place in (None, WHOLE_ANIMAL):
            continue
        if last and replace(part, place="") != replace(last[-1], place=""):  # type: ignore[type-var]
            break
        last.append(part)
    if not last:
        return before
    places = tuple(dict.fromkeys(str(part.place) for part in reversed(last)))  # type: ignore[attr-defined]
    return Scope(places, last[0].part)  # type: ignore[attr-defined]


@dataclass(frozen=True)
class _Doubt:
    """Why a part cannot be recorded as it is: what must be asked first."""

    part: Part
    kind: QuestionKind
    text: str


def record_all(
    turn: Turn, source: Source, parts: Sequence[Part], after: Sequence[Part], *, aloud: bool = False
) -> bool:
    """Records a run of parts on the animal on the table and says what needs saying.

    Args:
        turn: the step at hand.
        source: where the parts come from.
        parts: findings, actions, measures and so on, and bare places.
        after: what follows in the same remark; it waits too if something must be asked.
        aloud: read back even if the policy would give a tick.

    Returns:
        Whether everything was recorded; if not, a question is open.
    """
    said: list[Part] = []
    done: list[Part] = []
    doubts: list[_Doubt] = []
    remarks: list[str] = []
    for part in parts:
        if isinstance(part, PlacePart):
            said.append(part)
            _open_scope(turn, said)
            continue
        for one in _ready(turn, part):
            if doubt := _doubt(turn, source, one):
                doubts.append(doubt)
                continue
            remarks.extend(_changed(turn, one))
            turn.record(source, one)
            said.append(one)
            done.append(one)
    _open_scope(turn, said)
    if said:
        _tell(turn, done, remarks, aloud=aloud)
    if doubts:
        _ask(turn, source, doubts, tuple(after))
    return not doubts


def is_plain(turn: Turn, source: Source, part: Part) -> bool:
    """Whether a part can be recorded on the animal on the table as it is, with nothing to ask."""
    return _ready(turn, part) == (part,) and _doubt(turn, source, part) is None


def _ask(turn: Turn, source: Source, doubts: Sequence[_Doubt], after: tuple[Part, ...]) -> None:
    """Asks one thing at a time: the place, then the number, then whether it is so; the rest waits for the answer."""
    order = [QuestionKind.WHERE, QuestionKind.VALUE, QuestionKind.SURE]
    first, *others = sorted(doubts, key=lambda doubt: order.index(doubt.kind))
    waiting = (*(doubt.part for doubt in others), *after)
    if first.kind is QuestionKind.SURE:
        choice = Choice("yes", (first.part,))
        turn.ask(Question(source.remark, first.kind, first.text, (choice,), waiting, source.animals, source.by))
    else:
        turn.ask_open(source, first.kind, first.text, (first.part, *waiting))


def _open_scope(turn: Turn, said: Sequence[Part]) -> None:
    scope = scope_after(said, turn.scope)
    if scope != turn.scope:
        turn.emit(ScopeOpened(turn.time, scope))


def _ready(turn: Turn, part: Part) -> tuple[Part, ...]:
    """A part at each place that it belongs to; its place stays None if it must be asked for."""
    if not isinstance(part, FindingPart | ActionPart):
        return (part,)
    gaps = turn.state.table.gaps or ()
    is_sound = isinstance(part, FindingPart) and part.finding == "sound"
    if is_sound and part.place is None and part.part == BETWEEN and BETWEEN in gaps:
        return tuple(replace(part, place=foot) for foot in FEET)
    return placed(part, turn.scope)


def _doubt(turn: Turn, source: Source, part: Part) -> _Doubt | None:
    """What must be asked before a part is recorded; None if nothing."""
    if isinstance(part, FindingPart | ActionPart) and part.place is None:
        is_elsewhere = isinstance(part, FindingPart) and part.finding in NOT_ON_FEET
        return _Doubt(part, QuestionKind.WHERE, replies.WHERE if is_elsewhere else replies.WHICH_FOOT)
    if isinstance(part, MeasurePart):
        problem = turn.misfit(part)
        return _Doubt(part, QuestionKind.VALUE, f"{problem} Say it again?") if problem else None
    text = "" if source.is_sure else _contradiction(turn, part)
    return _Doubt(part, QuestionKind.SURE, text) if text else None


def _contradiction(turn: Turn, part: Part) -> str:
    """A question if a foot is called sound after something was found on it in this session."""
    if not isinstance(part, FindingPart) or part.finding != "sound":
        return ""
    for entry in turn.state.entries_of(turn.state.animal):
        held = entry.part
        if not isinstance(held, FindingPart) or held.finding == "sound" or held.place != part.place:
            continue
        held_part = held.part or (BETWEEN if held.finding in BETWEEN_BY_NATURE else None)
        if part.part is None or part.part == held_part:
            return f"{replies.sentence_case(str(held.place))} {replies.finding_clause(held)}. Sound all the same?"
    return ""


def _changed(turn: Turn, part: Part) -> list[str]:
    """What to say if something is found on a foot that was called sound: both are kept."""
    if not isinstance(part, FindingPart) or part.finding == "sound":
        return []
    sound = FindingPart(part.place, "sound", part.part)
    if any(entry.part == sound for entry in turn.state.entries_of(turn.state.animal)):
        return [f"{replies.sentence_case(replies.place_words(part.place, part.part))} was sound before. Both are kept."]
    return []


def _tell(turn: Turn, done: Sequence[Part], remarks: Sequence[str], *, aloud: bool) -> None:
    """A tick, or what was recorded: all of it if careful or asked for, only follow-ups with a day otherwise."""
    policy = turn.state.policy
    if aloud and len(done) == 1 and isinstance(done[0], MeasurePart):
        text = f"{replies.sentence_case(replies.value(done[0].value))}."
    elif done and (aloud or policy is Policy.CAREFUL):
        text = replies.read_back(done, turn.today)
    elif policy is Policy.NORMAL:
        later = [part for part in done if isinstance(part, FollowUpPart) and part.days is not None]
        text = " ".join(replies.follow_up(part, turn.today) for part in later)
    else:
        text = ""
    turn.reply(ReplyKind.HEARD, " ".join([*([text] if text else []), *remarks]))

"""The meaning of a reading: its tags put together to parts, with the place that is open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assistant.grammar import Tag, TaggedReading
from assistant.meaning.belonging import PARTS_OF_FOOT, fitted, home, is_put_on, places_in
from assistant.meaning.order import places_first
from assistant.values import (
    FEET,
    WHOLE_ANIMAL,
    ActionPart,
    AnimalPart,
    CommandPart,
    FindingPart,
    FollowUpPart,
    Grade,
    MarkPart,
    Meaning,
    MeasurePart,
    Part,
    PlacePart,
    QuestionPart,
    Scope,
    TagPart,
    TraitPart,
)

ASIDE = "aside"
"""Slot of what is said to the animal or a helper: nothing comes of it."""

_SOUND = "sound"

_CLOSING = frozenset(("next", "done", "skip", "finish"))
"""Commands after which no place is open, since the animal goes or another comes."""

_ARGUMENTS = frozenset(("place", "finding", "action", "animal", "either", "medicine"))
"""Slots that belong to a question while it is the last thing said."""


def meaning(reading: TaggedReading, scope: Scope) -> tuple[Meaning, Scope]:
    """What a reading means where `scope` is open, and what is open after it."""
    return meaning_of_tags(reading.tags, scope)


def meaning_of_tags(tags: Sequence[Tag], scope: Scope) -> tuple[Meaning, Scope]:
    """As `meaning`, from tags alone."""
    assembly = Assembly(scope)
    for tag in places_first([tag for tag in tags if tag.slot != ASIDE]):
        assembly.take(tag)
    assembly.settle()
    return Meaning(tuple(assembly.parts)), assembly.scope


class Assembly:
    """Parts in the making: tags in, in the order in which they count; lives for one reading."""

    def __init__(self, scope: Scope) -> None:
        self.parts: list[Part] = []
        lone_part = len(scope.places) == 1 and scope.places[0] in PARTS_OF_FOOT
        self.scope = Scope((), scope.places[0]) if lone_part else scope
        self._is_new = False  # a place or part was said and nothing yet belongs to it
        self._is_said = False  # the open place was said in this reading
        self._is_at_once = False  # the latest action came right after its place
        self._joins = False
        self._grade: Grade | None = None
        self._last: tuple[int, int] | None = None  # the parts that the latest finding or action was shared out to
        self._number: float | None = None

    def take(self, tag: Tag) -> None:
        """The next tag."""
        asked = self.parts[-1] if self.parts else None
        if isinstance(asked, QuestionPart) and tag.slot in _ARGUMENTS:
            self._ask(asked, tag)
            return
        if tag.slot not in ("place", "and", "part", "finding", "action", "either", "grade"):
            self._settle_unless(tag.slot)
        getattr(self, f"_take_{tag.slot}")(tag.value)

    def settle(self) -> None:
        """A place that nothing belonged to is a part of its own, or goes with "correct" before it."""
        if not self._is_new:
            return
        self._is_new = False
        last = self.parts[-1] if self.parts else None
        places = self.scope.places or ((self.scope.part,) if self.scope.part else ())
        part = self.scope.part if self.scope.places else None
        if last == CommandPart("correct"):
            self.parts[-1:] = [CommandPart("correct", place, part) for place in places]
        else:
            self.parts += [PlacePart(place, part) for place in places]

    def _settle_unless(self, slot: str) -> None:
        if slot not in ("in", "graded", "medicine", "add", "unit", "reason"):
            self.settle()

    # ------------------------------------------------------------------------------------------------------- places

    def _take_place(self, value: str) -> None:
        if self._joins:
            self.scope = Scope((*self.scope.places, *places_in(value)))
        else:
            self.settle()
            self.scope = Scope(places_in(value, self.scope.places))
        self._joins, self._is_new, self._is_said = False, True, True

    def _take_and(self, _: str) -> None:
        self._joins = True

    def _take_part(self, value: str) -> None:
        if not self._is_new and not set(self.scope.places) <= set(FEET):
            self.scope = Scope()
        self.scope = replace(self.scope, part=value)
        self._is_new = True

    def _take_in(self, value: str) -> None:
        self._change(part=value)

    # ------------------------------------------------------------------------------------------- findings and actions

    def _take_grade(self, value: str) -> None:
        self._grade = Grade(value)

    def _take_graded(self, value: str) -> None:
        if self._last is None or getattr(self.parts[self._last[0]], "finding", None) != _SOUND:
            self._change(grade=Grade(value))

    def _take_finding(self, value: str) -> None:
        grade, self._grade = self._grade if value != _SOUND else None, None  # "really good" is good
        found = []
        for place, part in self._places(value):
            found.append(FindingPart(place, fitted(value, place, part), part, grade))
        self._share(found)

    def _take_action(self, value: str) -> None:
        self._is_at_once = self._is_new
        self._share([ActionPart(place, value, part) for place, part in self._places(value)])

    def _take_either(self, _: str) -> None:
        """A cut: on a foot what the shears did, elsewhere a wound."""
        is_foot = set(self.scope.places) <= set(FEET)
        self._take_action("trimmed") if is_foot else self._take_finding("wound")

    def _take_medicine(self, value: str) -> None:
        """A medicine is the whole animal's, unless it is put on, or was said of the place at once."""
        self._change(medicine=value)
        if self._last is not None and not (self._is_at_once or is_put_on(value)):
            start, end = self._last
            self.parts[start:end] = dict.fromkeys(
                replace(part, place=WHOLE_ANIMAL, part=None)  # type: ignore[type-var]
                for part in self.parts[start:end]
            )
            self._last = (start, start + 1)

    def _places(self, name: str) -> list[tuple[str | None, str | None]]:
        found: list[tuple[str | None, str | None]] = []
        for place in self.scope.places or (None,):
            own = place if self._is_said else home(name, place)
            found.append((own, self.scope.part if own == place else None))
        return list(dict.fromkeys(found))

    def _share(self, parts: Sequence[Part]) -> None:
        if self.parts and self.parts[-1] == CommandPart("correct"):
            self.settle()
        self._is_new = False
        start = len(self.parts)
        self.parts += parts
        self._last = (start, len(self.parts))

    def _change(self, **values: object) -> None:
        """Changes what was shared out last."""
        if self._last is None:
            return
        for index in range(*self._last):
            part = self.parts[index]
            changed = replace(part, **values)  # type: ignore[type-var]
            if isinstance(changed, FindingPart):
                changed = replace(changed, finding=fitted(changed.finding, changed.place, changed.part))
            self.parts[index] = changed

    # ---------------------------------------------------------------------------------------------- the whole animal

    def _take_measure(self, value: str) -> None:
        self.parts.append(MeasurePart(value, 0))
        self._number = 0.0

    def _take_follow_up(self, value: str) -> None:
        self.parts.append(FollowUpPart(value))
        self._number = None

    def _take_add(self, value: str) -> None:
        self._number = (self._number or 0.0) + float(value)
        whole = int(self._number) if self._number == int(self._number) else self._number
        match self.parts[-1:]:
            case [MeasurePart(measure=name)]:
                self.parts[-1] = MeasurePart(name, whole)
            case [FollowUpPart(follow_up=name)]:
                self.parts[-1] = FollowUpPart(name, int(self._number))

    def _take_unit(self, value: str) -> None:
        match self.parts[-1:]:
            case [FollowUpPart(follow_up=name, days=int(days))]:
                self.parts[-1] = FollowUpPart(name, days * int(value))

    def _take_trait(self, value: str) -> None:
        self.parts.append(TraitPart(value))

    def _take_mark(self, value: str) -> None:
        self.parts.append(MarkPart(value))

    def _take_tag(self, value: str) -> None:
        self.parts.append(TagPart(value))

    # ------------------------------------------------------------------------------------- animals, commands, questions

    def _take_animal(self, value: str) -> None:
        self.parts.append(AnimalPart(value))
        self.scope, self._is_said = Scope(), False

    def _take_command(self, value: str) -> None:
        self.parts.append(CommandPart(value))
        if value in _CLOSING:
            self.scope, self._is_said = Scope(), False

    def _take_reason(self, value: str) -> None:
        for index in range(len(self.parts) - 1, -1, -1):
            part = self.parts[index]
            if isinstance(part, CommandPart):
                self.parts[index] = replace(part, reason=value)
                return

    def _take_question(self, value: str) -> None:
        self.parts.append(QuestionPart(value))
        self._last = None  # what is asked about was not found, so no grade or part belongs to what was before

    def _ask(self, asked: QuestionPart, tag: Tag) -> None:
        """An argument of the question, which is asked once for each of several places."""
        slot, value = ("action", "trimmed") if tag.slot == "either" else (tag.slot, tag.value)
        if slot == "place":
            before = [asked] if asked.place else []
            self.parts[-1:] = [*before, *(replace(asked, place=place) for place in places_in(value))]
        elif slot == "animal" and asked.animal is not None:
            self.parts[-1] = replace(asked, other=value)
        else:
            self.parts[-1] = replace(asked, **{slot: value})

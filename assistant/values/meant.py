"""What is meant: the parts that a remark comes to, and the place that is open for the next one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Any


class Grade(StrEnum):
    """How bad a finding is."""

    SLIGHT = "slight"
    MODERATE = "moderate"
    SEVERE = "severe"


FEET = ("left fore", "right fore", "left hind", "right hind")
BETWEEN = "between the claws"
WHOLE_ANIMAL = "whole animal"


class Part:
    """One piece of a meaning. `flat` gives the plain object of docs/vocabulary.md, without the keys that are None."""

    def flat(self) -> dict[str, Any]:
        """The part as a flat object; a follow-up keeps `days` even when it is None."""
        keep_none = isinstance(self, FollowUpPart)
        values = {f.name: getattr(self, f.name) for f in fields(self)}  # type: ignore[arg-type]
        return {
            name: str(value) if isinstance(value, StrEnum) else value
            for name, value in values.items()
            if value is not None or (keep_none and name == "days")
        }


@dataclass(frozen=True)
class PlacePart(Part):
    """A place said alone: it opens the scope for what follows."""

    place: str
    part: str | None = None


@dataclass(frozen=True)
class FindingPart(Part):
    """Something seen at a place. `place` is None while no scope is open."""

    place: str | None
    finding: str
    part: str | None = None
    grade: Grade | None = None


@dataclass(frozen=True)
class ActionPart(Part):
    """Something done at a place; `medicine` names one of the holding's medicines if one was said."""

    place: str | None
    action: str
    part: str | None = None
    medicine: str | None = None


@dataclass(frozen=True)
class MeasurePart(Part):
    """A number: condition (1–5 in halves), lameness (scale of the holding), weight (kg), temperature (°C)."""

    measure: str
    value: float


@dataclass(frozen=True)
class FollowUpPart(Part):
    """Something to be done later; `days` from today, None if no time was said."""

    follow_up: str
    days: int | None = None


@dataclass(frozen=True)
class TraitPart(Part):
    """A lasting judgement about the animal, such as "keep no daughters"."""

    trait: str


@dataclass(frozen=True)
class MarkPart(Part):
    """A colour mark put on the animal."""

    mark: str


@dataclass(frozen=True)
class TagPart(Part):
    """What became of the ear tag: missing, replaced or new."""

    tag: str


@dataclass(frozen=True)
class AnimalPart(Part):
    """An animal mentioned by name or number, as said; the register decides which one it is."""

    animal: str


@dataclass(frozen=True)
class CommandPart(Part):
    """A command to the session. `place` and `part` go with "correct", `reason` with "skip", `note` with "note"."""

    command: str
    place: str | None = None
    part: str | None = None
    reason: str | None = None
    note: str | None = None


@dataclass(frozen=True)
class QuestionPart(Part):
    """A question to the assistant with its arguments.

    Attributes:
        other: the second animal, where it is about two.
        medicine: one of the holding's list.
    """

    question: str
    place: str | None = None
    finding: str | None = None
    action: str | None = None
    animal: str | None = None
    other: str | None = None
    medicine: str | None = None


@dataclass(frozen=True)
class Meaning:
    """What a remark means.

    Attributes:
        parts: in the order in which they were said, places already shared out.
        unplaced: words that the grammar could not place; kept and asked, never guessed.
        mended: the reading after a typing slip was mended, or None if nothing was changed.
    """

    parts: tuple[Part, ...]
    unplaced: str = ""
    mended: str | None = None

    @property
    def line(self) -> str:
        """On one line, as key and value."""
        parts = ["{" + ", ".join(f"{key} {value}" for key, value in one.flat().items()) + "}" for one in self.parts]
        return " ".join(parts) + (f" unplaced: {self.unplaced}" if self.unplaced else "")


@dataclass(frozen=True)
class Scope:
    """The open place that a later piece may inherit: several places after "both fores"."""

    places: tuple[str, ...] = ()
    part: str | None = None


RECORDABLE = (FindingPart, ActionPart, MeasurePart, FollowUpPart, TraitPart, MarkPart, TagPart)
"""Parts that can stand on record; the others are names, places, commands and questions."""


def recordable(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Those of a remark's parts that can stand on record."""
    return tuple(part for part in parts if isinstance(part, RECORDABLE))


PART_TYPES: tuple[type[Part], ...] = (
    FindingPart,
    ActionPart,
    MeasurePart,
    FollowUpPart,
    TraitPart,
    MarkPart,
    TagPart,
    QuestionPart,
    CommandPart,
    AnimalPart,
    PlacePart,
)
"""In the order in which `part_from` tries them: the first whose own key is there wins."""

_OWN_KEY: Mapping[type[Part], str] = {
    FindingPart: "finding",
    ActionPart: "action",
    MeasurePart: "measure",
    FollowUpPart: "follow_up",
    TraitPart: "trait",
    MarkPart: "mark",
    TagPart: "tag",
    QuestionPart: "question",
    CommandPart: "command",
    AnimalPart: "animal",
    PlacePart: "place",
}


def part_from(flat: Mapping[str, Any]) -> Part:
    """The part that a flat object stands for: the inverse of `Part.flat`.

    Raises:
        ValueError: no part has these keys, or it has no such grade.
    """
    kinds: Sequence[type[Part]] = (QuestionPart, CommandPart) if "question" in flat or "command" in flat else PART_TYPES
    for kind in kinds:
        if _OWN_KEY[kind] not in flat:
            continue
        names = {f.name for f in fields(kind)}  # type: ignore[arg-type]
        if unknown := set(flat) - names:
            raise ValueError(f"a part with {_OWN_KEY[kind]!r} has no key {sorted(unknown)[0]!r}")
        values: dict[str, Any] = dict(flat)
        if kind in (FindingPart, ActionPart):
            values.setdefault("place", None)
        if values.get("grade") is not None and kind is FindingPart:
            values["grade"] = Grade(values["grade"])
        if kind is MeasurePart and "value" not in values:
            raise ValueError("a part with 'measure' has no key 'value'")
        return kind(**values)
    raise ValueError(f"no part has the keys {sorted(flat)}")

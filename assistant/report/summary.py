"""What a handling session came to: who is done, what was found and done, what must follow, what needs a decision."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from assistant.values import (
    FEET,
    WHOLE_ANIMAL,
    ActionPart,
    Animal,
    Entry,
    FindingPart,
    FollowUpPart,
    MarkPart,
    MeasurePart,
    Part,
    Remark,
    SessionInfo,
    TagPart,
    TraitPart,
)

CAUTIONS = (
    "This is a record, not a diagnosis: follow local rules and your vet.",
    "Sharp tools and horns: cut away from hand and body, keep the face clear, stop at pink horn.",
    "Do not tip or turn over an animal that is heavily in kid or in lamb.",
    "Gloves: sores and births can carry disease that people catch; keep away from births if you may be pregnant.",
    "Milk and meat are withheld for as long as the label or your vet says.",
)
"""The usual cautions, in short.

Sources: Chappell, University of Kentucky ASC-129, 1991 (heavily pregnant animals); Isaac, Lameness and foot conditions
in goats, Victoria, 1981 (stop at pink); GOV.UK, Pregnancy: contact with animals giving birth; the rest common practice,
no source.
"""

MEASURE_UNITS = {"weight": " kg", "temperature": " °C"}


@dataclass(frozen=True)
class Outcome:
    """How an animal left the table: done, or skipped with a reason."""

    is_done: bool
    reason: str = ""


@dataclass(frozen=True)
class Card:
    """One animal's part of the session: lines of (place, what was recorded there)."""

    animal: Animal
    outcome: Outcome | None
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class ToDo:
    """Something that follows: `on` is None if no time was said."""

    on: date | None
    animal: Animal
    what: str

    def flat(self) -> dict[str, Any]:
        """As a plain object for `--json`."""
        return {"on": self.on.isoformat() if self.on else None, "animal": self.animal.label, "what": self.what}


@dataclass(frozen=True)
class Summary:
    """One session in figures and lists.

    Attributes:
        cards: animals that were on the table, in that order.
        left: planned animals that were neither done nor skipped.
        to_do: what follows, earliest first, undated last.
        findings: (finding, number of places) most frequent first.
        review: remarks that need a decision.
        still_due: asked for before this session, due by its day, and not done in it.
    """

    session: SessionInfo
    cards: tuple[Card, ...]
    left: tuple[Animal, ...]
    to_do: tuple[ToDo, ...]
    findings: tuple[tuple[str, int], ...]
    review: tuple[Remark, ...]
    still_due: tuple[ToDo, ...] = ()

    def flat(self) -> dict[str, Any]:
        """The summary as a plain object for `--json`."""
        return {
            "session": self.session.id,
            "started": self.session.started.isoformat(),
            "ended": self.session.ended.isoformat() if self.session.ended else None,
            "animals": [
                {
                    "animal": card.animal.label,
                    "id": card.animal.id,
                    "outcome": outcome_text(card.outcome),
                    "entries": [{"place": place, "entry": what} for place, what in card.lines],
                }
                for card in self.cards
            ],
            "left": [animal.label for animal in self.left],
            "to_do": [item.flat() for item in self.to_do],
            "still_due": [item.flat() for item in self.still_due],
            "findings": dict(self.findings),
            "review": [{"remark": remark.id, "words": remark.words, "audio": remark.audio} for remark in self.review],
        }


def summary(
    session: SessionInfo,
    animals: Mapping[str, Animal],
    entries: Sequence[Entry],
    outcomes: Mapping[str, Outcome],
    review: Sequence[Remark] = (),
) -> Summary:
    """Gathers a session.

    Args:
        session: its plan and times.
        animals: the register, by id.
        entries: the live entries of the session (superseded and withdrawn ones left out), in order of time.
        outcomes: animal id → how it left the table, in that order.
        review: remarks that need a decision.
    """
    on_table: dict[str, list[Part]] = {}
    for entry in entries:
        on_table.setdefault(entry.animal, []).append(entry.part)
    for key in outcomes:
        on_table.setdefault(key, [])
    cards = tuple(
        Card(animals[key], outcomes.get(key), tuple(place_lines(parts)))
        for key, parts in on_table.items()
        if key in animals
    )
    left = tuple(animals[key] for key in session.planned if key in animals and key not in outcomes)
    found = Counter(e.part.finding for e in entries if isinstance(e.part, FindingPart) and e.part.finding != "sound")
    return Summary(session, cards, left, _to_do(animals, entries), tuple(found.most_common()), tuple(review))


def _to_do(animals: Mapping[str, Animal], entries: Iterable[Entry]) -> tuple[ToDo, ...]:
    items = [
        ToDo(
            entry.time.date() + timedelta(days=entry.part.days) if entry.part.days is not None else None,
            animals[entry.animal],
            entry.part.follow_up,
        )
        for entry in entries
        if isinstance(entry.part, FollowUpPart) and entry.animal in animals
    ]
    return tuple(sorted(items, key=lambda item: (item.on is None, item.on or date.max)))


def place_lines(parts: Iterable[Part]) -> Iterator[tuple[str, str]]:
    """What was recorded as (place, words), one line a place, the feet first and in their usual order."""
    places: dict[str, list[str]] = {}
    for part in parts:
        place = getattr(part, "place", None) or ""
        places.setdefault(place, []).append(part_text(part))
    order = [*FEET, *(place for place in places if place not in FEET)]
    return ((place, ", ".join(places[place])) for place in order if place in places)


def part_text(part: Part) -> str:
    """One part in a few words, without its place."""
    match part:
        case FindingPart():
            where = f" ({part.part})" if part.part else ""
            return f"{part.grade} {part.finding}{where}" if part.grade else f"{part.finding}{where}"
        case ActionPart():
            return f"{part.action} with {part.medicine}" if part.medicine else part.action
        case MeasurePart():
            return f"{part.measure} {part.value:g}{MEASURE_UNITS.get(part.measure, '')}"
        case FollowUpPart():
            return part.follow_up if part.days is None else f"{part.follow_up} in {part.days} days"
        case TraitPart():
            return part.trait
        case MarkPart():
            return f"{part.mark} mark"
        case TagPart():
            return f"tag {part.tag}"
    return ", ".join(f"{key} {value}" for key, value in part.flat().items())


def words_of(part: Part) -> str:
    """One part in a few words, its place first; the whole animal is no place to name."""
    place = getattr(part, "place", None)
    return f"{place}: {part_text(part)}" if place and place != WHOLE_ANIMAL else part_text(part)


def outcome_text(outcome: Outcome | None) -> str:
    """How an animal left the table, in words."""
    if outcome is None:
        return "not closed"
    if outcome.is_done:
        return "done"
    return f"skipped: {outcome.reason}" if outcome.reason else "skipped"


def text(result: Summary) -> str:
    """The summary as plain lines, readable on paper, by a screen reader and in a pipe."""
    done = sum(card.outcome is not None and card.outcome.is_done for card in result.cards)
    skipped = sum(card.outcome is not None and not card.outcome.is_done for card in result.cards)
    lines = [
        f"Session of {result.session.started:%Y-%m-%d %H:%M}: {done} done, {skipped} skipped, {len(result.left)} left."
    ]
    for card in result.cards:
        lines += ["", f"{card.animal.label} — {outcome_text(card.outcome)}"]
        lines += [f"  {place + ': ' if place else ''}{what}" for place, what in card.lines]
    lines += _section("To do", map(_to_do_text, result.to_do))
    lines += _section("Still due from before", map(_to_do_text, result.still_due))
    lines += _section("Found", (f"{finding}: {count}" for finding, count in result.findings))
    lines += _section("Left", (animal.label for animal in result.left))
    lines += _section("To decide", map(_open_text, result.review))
    lines += _section("Cautions", CAUTIONS)
    return "\n".join(lines)


def _open_text(remark: Remark) -> str:
    return remark.words or f"not understood: {remark.end_s - remark.start_s:.0f} s at {remark.time:%H:%M:%S}"


def _to_do_text(item: ToDo) -> str:
    return f"{item.on or 'no date'}: {item.animal.label}, {item.what}"


def _section(title: str, lines: Iterable[str]) -> list[str]:
    body = [f"  {line}" for line in lines]
    return ["", title, *body] if body else []

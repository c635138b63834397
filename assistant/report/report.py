"""A session as a page to print: the summary, how long, by whom, each animal's feet and earlier visits, corrections."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from assistant.report.plot import Series
from assistant.report.summary import MEASURE_UNITS, Card, Summary, place_lines, words_of
from assistant.values import Animal, Entry, FindingPart, MeasurePart, Part, Remark, State

SHOWN_VISITS = 3
"""So many earlier visits are told in words on an animal's card."""


@dataclass(frozen=True)
class Visit:
    """What an earlier session recorded of an animal, one line a place."""

    day: date
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Correction:
    """Something that was put right: what it said before, and what it says now; None where it was withdrawn."""

    animal: Animal
    time: datetime
    by: str
    before: str
    now: str | None


@dataclass(frozen=True)
class Heard:
    """A remark with its sound as a FLAC file; `words` is empty if it was not understood."""

    time: datetime
    words: str
    by: str
    flac: bytes


@dataclass(frozen=True)
class AnimalPage:
    """One animal's part of the report.

    Attributes:
        parts: what holds of it from this session.
        minutes: how long it was on the table; None if that is not known.
        by: who spoke of it.
        visits: earlier sessions, the latest first.
        series: findings and measures over all visits.
        corrections: what was put right about it.
        heard: its remarks, where they are to be embedded.
    """

    card: Card
    parts: tuple[Part, ...]
    minutes: float | None
    by: tuple[str, ...]
    visits: tuple[Visit, ...]
    series: tuple[Series, ...]
    corrections: tuple[Correction, ...] = ()
    heard: tuple[Heard, ...] = ()


@dataclass(frozen=True)
class Report:
    """One session, ready to be laid out.

    Attributes:
        holding: name for the heading, may be empty.
        people: (who, how many entries), most first; an empty name for entries without one.
        minutes: from the beginning to the end; None while it is open.
        missing: remarks whose sound was asked for but cannot be read, one sentence each.
    """

    holding: str
    summary: Summary
    animals: tuple[AnimalPage, ...]
    corrections: tuple[Correction, ...]
    people: tuple[tuple[str, int], ...]
    minutes: float | None
    heard_for_review: Mapping[str, Heard] = field(default_factory=dict)
    missing: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What the page is."""
        name = f"{self.holding}: handling" if self.holding else "Handling"
        return f"{name} session of {self.summary.session.started:%Y-%m-%d}"

    @property
    def done(self) -> tuple[AnimalPage, ...]:
        """Animals that left the table as done."""
        return tuple(page for page in self.animals if page.card.outcome and page.card.outcome.is_done)

    @property
    def not_done(self) -> tuple[tuple[Animal, str], ...]:
        """Animals that are not done, with the reason: skipped, still open, or not handled at all."""
        open_ones = [
            (page.card.animal, _why(page.card))
            for page in self.animals
            if not (page.card.outcome and page.card.outcome.is_done)
        ]
        known = {animal.id for animal, _ in open_ones}
        return (*open_ones, *((a, "planned, did not come") for a in self.summary.left if a.id not in known))


def _why(card: Card) -> str:
    if card.outcome is None:
        return "came to the table, was not closed as done"
    return f"skipped: {card.outcome.reason}" if card.outcome.reason else "skipped, no reason said"


@dataclass(frozen=True)
class Record:
    """What a report is made from.

    Attributes:
        live: entries that hold, of every session, in the order of recording.
        all_of_session: entries of this session with those superseded and withdrawn.
        stays: animal → spans on the table.
        said: animal → remarks about it, in order.
        sounds: remark → FLAC file; only those to be embedded.
    """

    live: Sequence[Entry]
    all_of_session: Sequence[Entry]
    session_days: Mapping[str, date]
    stays: Mapping[str, Sequence[timedelta]]
    said: Mapping[str, Sequence[str]] = field(default_factory=dict)
    remarks: Mapping[str, Remark] = field(default_factory=dict)
    sounds: Mapping[str, bytes] = field(default_factory=dict)
    missing: tuple[str, ...] = ()


def report(holding: str, summary: Summary, record: Record, animals: Mapping[str, Animal]) -> Report:
    """Gathers what the page of a session shows.

    Args:
        holding: its name.
        summary: of the session.
        record: entries, spans and sounds.
        animals: the register, by id.
    """
    session = summary.session
    live = _by_animal(record.live)
    corrected = corrections(record.all_of_session, animals)
    corrected_of: dict[str, list[Correction]] = defaultdict(list)
    for one in corrected:
        corrected_of[one.animal.id].append(one)
    pages = tuple(
        _page(card, live.get(card.animal.id, []), record, session.id, corrected_of.get(card.animal.id, []))
        for card in summary.cards
    )
    people = Counter(entry.by for entry in record.live if entry.session == session.id)
    minutes = (session.ended - session.started).total_seconds() / 60 if session.ended else None
    review = {one.id: heard for one in summary.review if (heard := _heard(one, record))}
    return Report(holding, summary, pages, corrected, tuple(people.most_common()), minutes, review, record.missing)


def _by_animal(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    found: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        found[entry.animal].append(entry)
    return found


def _page(
    card: Card, live: Sequence[Entry], record: Record, session: str, corrected: Sequence[Correction]
) -> AnimalPage:
    ours = [entry for entry in live if entry.session == session]
    stays = record.stays.get(card.animal.id, ())
    minutes = sum(stays, timedelta()).total_seconds() / 60 if stays else None
    said = record.said.get(card.animal.id, ())
    heard = [_heard(record.remarks[key], record) for key in said if key in record.remarks]
    days = record.session_days
    upto = [entry for entry in live if days.get(entry.session, date.max) <= days[session]]
    return AnimalPage(
        card,
        tuple(entry.part for entry in ours),
        minutes,
        tuple(dict.fromkeys(entry.by for entry in ours if entry.by)),
        _visits([entry for entry in upto if entry.session != session], days),
        series(upto, days),
        tuple(corrected),
        tuple(one for one in heard if one),
    )


def _heard(remark: Remark, record: Record) -> Heard | None:
    flac = record.sounds.get(remark.id)
    return Heard(remark.time, remark.words, remark.by, flac) if flac else None


def _visits(entries: Iterable[Entry], days: Mapping[str, date]) -> tuple[Visit, ...]:
    by_session: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        by_session[entry.session].append(entry)
    latest = sorted(by_session, key=lambda key: days[key], reverse=True)[:SHOWN_VISITS]
    return tuple(Visit(days[key], _told(by_session[key])) for key in latest)


def _told(entries: Iterable[Entry]) -> tuple[str, ...]:
    lines = place_lines(entry.part for entry in entries)
    return tuple(f"{place}: {words}" if place else words for place, words in lines)


def series(entries: Iterable[Entry], days: Mapping[str, date]) -> tuple[Series, ...]:
    """Findings a visit, and each measure, of one animal; only what has two points or more.

    Args:
        entries: those that hold, of all sessions that count.
        days: session → its day.
    """
    counts: dict[str, int] = {}
    measures: dict[str, dict[date, float]] = defaultdict(dict)
    for entry in entries:
        counts.setdefault(entry.session, 0)
        if isinstance(entry.part, FindingPart):
            counts[entry.session] += entry.part.finding != "sound"
        elif isinstance(entry.part, MeasurePart):
            measures[entry.part.measure][days[entry.session]] = entry.part.value
    found = tuple(sorted((days[key], float(n)) for key, n in counts.items()))
    made = [Series("Findings a visit", found, is_count=True)]
    made += [
        Series(name.capitalize(), tuple(sorted(values.items())), MEASURE_UNITS.get(name, ""))
        for name, values in measures.items()
    ]
    return tuple(one for one in made if len(one.points) > 1)


def corrections(entries: Sequence[Entry], animals: Mapping[str, Animal]) -> tuple[Correction, ...]:
    """What was put right among the entries of a session, superseded ones included, in the order of recording."""
    by_id = {entry.id: entry for entry in entries}
    found = []
    for entry in entries:
        before = by_id.get(entry.supersedes or "")
        if before is None or before.animal not in animals:
            continue
        was, now = words_of(before.part), words_of(entry.part)
        if entry.state is State.WITHDRAWN:
            found.append(Correction(animals[before.animal], entry.time, entry.by, was, None))
        elif was != now or before.animal != entry.animal:
            if entry.animal != before.animal and entry.animal in animals:
                now = f"{animals[entry.animal].label}, {now}"
            found.append(Correction(animals[before.animal], entry.time, entry.by, was, now))
    return tuple(found)

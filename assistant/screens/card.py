"""Cards, charts and summaries as text with tones: what the look-back screen shows beside its list."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from textual.content import Content

from assistant.records.looking_back import Bars, LookingBack, ToDo, Visit, measured
from assistant.report.summary import Card, Summary, part_text, words_of
from assistant.screens.page import JOINT
from assistant.screens.palette import DONE, FOUND, SOUND, STYLE_OF
from assistant.values import FEET, Animal, Entry, FindingPart, Species

_STEPS = "▁▂▃▄▅▆▇█"
MEASURES = ("condition", "lameness", "weight", "temperature")


def sparkline(values: Sequence[float]) -> str:
    """Values as small columns, the lowest and the highest at the ends of the scale."""
    low, high = min(values), max(values)
    if low == high:
        return _STEPS[3] * len(values)
    return "".join(_STEPS[round((value - low) / (high - low) * (len(_STEPS) - 1))] for value in values)


def animal_card(past: LookingBack, key: str) -> Content:
    """One animal: who it is, each foot over time, the rest, measures, and what is due."""
    animal = past.animals.get(key)
    visits = past.visits(key)
    rows = [Content.assemble((f"{past.label(key)}  ", "bold"), (_about(animal) if animal else "", "$muted"))]
    due = [item for item in past.due if item.animal == key]
    rows += [due_row(item, past.today) for item in due]
    for foot in FEET:
        rows.append(Content(foot.upper()).stylize("bold"))
        told = [(visit.day, visit.at(foot)) for visit in visits if visit.at(foot)]
        rows += [_visit_row(day, entries) for day, entries in told] or [Content("  nothing yet").stylize("$muted")]
    rest = [(visit.day, visit.rest) for visit in visits if visit.rest]
    if rest:
        rows.append(Content("THE REST").stylize("bold"))
        rows += [_visit_row(day, entries, with_place=True) for day, entries in rest]
    rows += _measures(visits)
    return Content("\n").join(rows)


def _about(animal: Animal) -> str:
    kind = "sheep" if animal.species is Species.SHEEP else "goat"
    born = f"born {animal.born:%Y-%m-%d}" if animal.born else ""
    number = animal.number if animal.name else ""
    return " · ".join(filter(None, (number, kind, animal.group, born, animal.status)))


def mark_of(entry: Entry) -> str:
    """The mark of a recorded fact."""
    if isinstance(entry.part, FindingPart):
        return SOUND if entry.part.finding == "sound" else FOUND
    return DONE


def _visit_row(day: date, entries: Sequence[Entry], *, with_place: bool = False) -> Content:
    runs: list[tuple[str, str]] = [(f"  {day:%Y-%m-%d} ", "$muted")]
    for entry in entries:
        mark = mark_of(entry)
        words = words_of(entry.part) if with_place else part_text(entry.part)
        runs += [(f"{mark}{JOINT}", STYLE_OF[mark]), (f"{words}  ", "")]
    return Content.assemble(*runs)


def _measures(visits: Sequence[Visit]) -> list[Content]:
    rows = []
    for measure in MEASURES:
        values = [value for _, value in measured(visits, measure)]
        if len(values) > 1:
            numbers = ", ".join(f"{value:g}" for value in values[-8:])
            rows.append(Content.assemble((f"{measure} ", "bold"), (f"{sparkline(values[-8:])} ", "$primary"), numbers))
    return rows


def due_row(item: ToDo, today: date) -> Content:
    """Something to be done, with its day and whether that is past."""
    if item.due is None:
        return Content.assemble((f"{DONE} ", STYLE_OF[DONE]), f"{item.what}, no date")
    late = f"  {(today - item.due).days} days late" if item.due < today else "  today" if item.due == today else ""
    return Content.assemble((f"{DONE} ", STYLE_OF[DONE]), f"{item.what} {item.due:%Y-%m-%d}", (late, "bold $warning"))


def session_text(result: Summary) -> Content:
    """A whole session in figures and lists."""
    done = sum(card.outcome is not None and card.outcome.is_done for card in result.cards)
    ended = f" to {result.session.ended:%H:%M}" if result.session.ended else ", not ended"
    rows = [
        Content(f"{result.session.started:%Y-%m-%d %H:%M}{ended}").stylize("bold"),
        Content(f"{done} done, {len(result.cards) - done} not closed or skipped, {len(result.left)} left"),
    ]
    if result.findings:
        most = max(n for _, n in result.findings)
        rows += [Content(""), Content("Found").stylize("bold")]
        rows += [_bar(name, n, most) for name, n in result.findings[:12]]
    if result.to_do:
        rows += [Content(""), Content("To do").stylize("bold")]
        rows += [Content(f"  {item.on or 'no date'}  {item.animal.label}, {item.what}") for item in result.to_do[:12]]
    if result.left:
        rows += [Content(""), Content("Left").stylize("bold")]
        rows.append(Content("  " + ", ".join(animal.label for animal in result.left[:40])))
    if result.review:
        rows += [Content(""), Content(f"{len(result.review)} to decide: assistant review").stylize("bold $warning")]
    return Content("\n").join(rows)


def _bar(name: str, n: int, most: int, width: int = 14) -> Content:
    full = max(1, round(width * n / most)) if n else 0
    return Content.assemble(f"  {name:<18} ", ("█" * full, "$primary"), f" {n}")


def session_card(card: Card) -> Content:
    """One animal's part of a session."""
    state = "not closed"
    if card.outcome is not None:
        state = "done" if card.outcome.is_done else ", ".join(filter(None, ("skipped", card.outcome.reason)))
    rows = [Content.assemble((f"{card.animal.label}  ", "bold"), (state, "$muted"))]
    rows += [Content(f"  {place + ': ' if place else ''}{what}") for place, what in card.lines]
    return Content("\n").join(rows)


def _animals(n: int) -> str:
    return "1 animal" if n == 1 else f"{n} animals"


def chart(bars: Bars) -> Content:
    """How often something was found, session by session, in bars and in numbers."""
    most = max((n for _, n, _ in bars.bars), default=0) or 1
    rows = [Content(f"{bars.finding}, by session").stylize("bold")]
    for day, n, handled in bars.bars:
        full = max(1, round(12 * n / most)) if n else 0
        rows.append(
            Content.assemble((f"  {day:%Y-%m-%d} ", "$muted"), ("█" * full, "$primary"), f" {n} on {_animals(handled)}")
        )
    return Content("\n").join(rows)

"""The animal seen from above: four feet and the rest, filled as remarks arrive."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

from textual.content import Content

from assistant.report.summary import part_text
from assistant.screens.palette import DONE, FOUND, SOUND, STYLE_OF, UNSEEN
from assistant.session.coverage import is_between
from assistant.values import BETWEEN, FEET, WHOLE_ANIMAL, FindingPart, Part, Scope

Marked = tuple[str, str]
"""A mark of `palette` and a few words."""


@dataclass(frozen=True)
class Foot:
    """One foot: what was found and done, and between its claws.

    Attributes:
        lines: marks with words; none if the foot was not mentioned.
        between: mark of the skin between the claws.
        is_open: the next remark without a place is about it.
    """

    lines: tuple[Marked, ...] = ()
    between: str = UNSEEN
    is_open: bool = False

    @property
    def mark(self) -> str:
        """What counts most: something found, else something done, else sound, else not mentioned."""
        marks = [mark for mark, _ in self.lines]
        return next((mark for mark in (FOUND, DONE, SOUND) if mark in marks), UNSEEN)


@dataclass(frozen=True)
class Plan:
    """An animal as a plan: `feet` in the order of `FEET`; `rest` for udder, horns, measures, traits, what follows."""

    feet: tuple[Foot, ...] = (Foot(),) * len(FEET)
    rest: tuple[Marked, ...] = ()


def plan(parts: Iterable[Part], scope: Scope = Scope()) -> Plan:  # noqa: B008 (a frozen value)
    """The plan of what holds for an animal.

    Args:
        parts: facts, in the order in which they were said.
        scope: the open place.
    """
    facts = tuple(parts)
    betweens = [fact for fact in facts if is_between(fact)]
    feet = tuple(
        Foot(
            tuple(_marked(fact) for fact in facts if getattr(fact, "place", None) == foot),
            _between([fact for fact in betweens if getattr(fact, "place", None) in (foot, None)]),
            foot in scope.places,
        )
        for foot in FEET
    )
    rest = tuple(_rest(fact) for fact in facts if getattr(fact, "place", None) not in FEET)
    return Plan(feet, rest)


def _between(facts: list[Part]) -> str:
    marks = [_marked(fact)[0] for fact in facts]
    return next((mark for mark in (FOUND, DONE, SOUND) if mark in marks), UNSEEN)


def _marked(part: Part) -> Marked:
    if isinstance(part, FindingPart):
        return (SOUND if part.finding == "sound" else FOUND), part_text(part)
    return DONE, part_text(part)


def _rest(part: Part) -> Marked:
    mark, words = _marked(part)
    place = getattr(part, "place", None)
    return mark, f"{place}: {words}" if place and place != WHOLE_ANIMAL else words


def in_words(shown: Plan) -> tuple[str, ...]:
    """The plan as sentences, for those who listen to the screen."""
    lines = []
    for name, foot in zip(FEET, shown.feet, strict=True):
        said = ", ".join(words for _, words in foot.lines) or "not mentioned"
        lines.append(f"{name}{' (open)' if foot.is_open else ''}: {said}.")
    lines += [f"{words}." for _, words in shown.rest]
    seen = any(foot.between != UNSEEN for foot in shown.feet)
    return (*lines, *(() if seen else (f"{BETWEEN}: not mentioned.",)))


# --------------------------------------------------------------------------------------------------------- drawing

BODY_WIDTH = 22
LOWEST = 10


def drawn(shown: Plan, width: int, height: int) -> Content:
    """The plan as a drawing: the animal looks up the screen, so that its left is the reader's left.

    Args:
        shown: the plan.
        width: columns, at least 60.
        height: rows, at least `LOWEST`.
    """
    sheet = _Sheet(width, height)
    body = BODY_WIDTH if width < 100 else BODY_WIDTH + (width - 100) // 4
    across = min((width - body - 4) // 2, 53)
    across -= 1 - across % 2
    middle = width // 2
    upper = height // 2
    left, right = middle - body // 2 - 2 - across, middle + (body + 1) // 2 + 2
    for n, (foot, name) in enumerate(zip(shown.feet, FEET, strict=True)):
        x, y = (left, right)[n % 2], (0, upper)[n // 2]
        _draw_foot(sheet, foot, name, (x, y, across, (upper, height - upper)[n // 2]))
    _draw_body(sheet, shown.rest, (middle - body // 2, 0, body, height))
    for y in (upper // 2 + 1, upper + (height - upper) // 2):
        sheet.put(left + across, y, "──", "$muted")
        sheet.put(right - 2, y, "──", "$muted")
    return sheet.content()


class _Sheet:
    """A sheet of cells to draw on; what would stand outside is left out."""

    def __init__(self, width: int, height: int) -> None:
        self.width = width
        self._cells = [[(" ", "")] * width for _ in range(height)]

    def put(self, x: int, y: int, text: str, style: str = "") -> None:
        """Draws a text from a cell to the right."""
        if 0 <= y < len(self._cells):
            for n, ch in enumerate(text):
                if 0 <= x + n < self.width:
                    self._cells[y][x + n] = (ch, style)

    def content(self) -> Content:
        """The sheet as lines."""
        lines = []
        for row in self._cells:
            runs: list[tuple[str, str]] = []
            for ch, style in row:
                if runs and runs[-1][1] == style:
                    runs[-1] = (runs[-1][0] + ch, style)
                else:
                    runs.append((ch, style))
            lines.append(Content.assemble(*runs))
        return Content("\n").join(lines)


Box = tuple[int, int, int, int]
"""Left, top, width and height."""


def _draw_foot(sheet: _Sheet, foot: Foot, name: str, box: Box) -> None:
    """A foot: two claws in front, with the mark of the skin between them in the gap; heavy lines where it is open."""
    x, y, width, height = box
    claw = (width - 3) // 2
    line, side, corners, notch, edge = ("─", "│", "╭╮╰╯", "╰─╯", "$muted")
    if foot.is_open:
        line, side, corners, notch, edge = ("━", "┃", "┏┓┗┛", "┗━┛", "bold $accent")
    roof = line * (claw - 1)
    sheet.put(x, y, f"{corners[0]}{roof}{corners[1]} {corners[0]}{roof}{corners[1]}", edge)
    sheet.put(x + 1 + claw, y, foot.between, STYLE_OF[foot.between])
    for row in range(y + 1, y + height - 1):
        sheet.put(x, row, side + " " * (width - 2) + side, edge)
    sheet.put(x + claw, y + 1, notch, edge)
    sheet.put(x, y + height - 1, f"{corners[2]}{line * (width - 2)}{corners[3]}", edge)
    sheet.put(x + 2, y + 1, name.upper(), "bold")
    _write(sheet, foot.lines or ((UNSEEN, "not mentioned"),), (x + 2, y + 2, width - 4, height - 3))


def _draw_body(sheet: _Sheet, rest: tuple[Marked, ...], box: Box) -> None:
    """Head with horns, trunk with what is recorded of the whole animal, and the tail."""
    x, y, width, height = box
    middle = x + width // 2
    sheet.put(middle - 4, y, "╲╲╭──╮╱╱", "$muted")
    sheet.put(middle - 2, y + 1, "╰┬┬╯", "$muted")
    sheet.put(x + 1, y + 2, f"╭{'─' * (width - 4)}╮", "$muted")
    sheet.put(middle - 1, y + 2, "┴┴", "$muted")
    for row in range(y + 3, y + height - 1):
        sheet.put(x + 1, row, "│" + " " * (width - 4) + "│", "$muted")
    sheet.put(x + 1, y + height - 1, f"╰{'─' * (width - 4)}╯", "$muted")
    sheet.put(middle - 1, y + height - 1, "╥", "$muted")
    _write(sheet, rest, (x + 3, y + 3, width - 6, height - 4))


def _write(sheet: _Sheet, lines: tuple[Marked, ...], box: Box) -> None:
    """Writes marks and words into a box: wrapped where there is room, else cut, with a count of what is left out."""
    x, y, width, height = box
    wrapped = [(mark if not n else " ", row) for mark, words in lines for n, row in enumerate(_rows(words, width - 2))]
    if len(wrapped) > height:
        wrapped = [(mark, _cut(words, width - 2)) for mark, words in lines]
    if len(wrapped) > height:
        left_out = len(wrapped) - height + 1
        wrapped = [*wrapped[: height - 1], ("…", f"and {left_out} more")]
    for n, (mark, words) in enumerate(wrapped):
        sheet.put(x, y + n, mark, STYLE_OF.get(mark, "$muted"))
        sheet.put(x + 2, y + n, words, "$muted" if mark in (UNSEEN, "…") else "")


def _rows(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width) or [""]


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else f"{text[: max(0, width - 1)]}…"

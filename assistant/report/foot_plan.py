"""The plan of an animal's feet as inline SVG: four feet of two claws each, seen from above with the head at the top.

Three shapes say what a line is, and the words beside them say it again: a triangle for something found, a square for
something done, a tick for sound; a foot that nobody mentioned is dashed. A numbered mark stands on a claw only if the
remark said which claw, and in the gap only if it said so; all others stand under their foot, so that the drawing
claims no more than was said.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from markupsafe import Markup, escape

from assistant.report.summary import part_text
from assistant.session.coverage import is_between
from assistant.values import FEET, ActionPart, FindingPart, Part

WIDTH, ROW, LETTERS = 380, 106, 17
"""Width of the drawing, height of a row of feet, letters in a line of words."""

FOUND, DONE, SOUND = "found", "done", "sound"

_CLAW = "M15 1C6 6 2 19 3 32c0 8 4 12 8 12 6 0 8-5 8-12 0-11-1-22-4-31z"
"""A claw seen from above, toe upwards, 22 wide and 46 high: straight towards the gap, rounded outwards."""

_INK, _PALE = "#1d2421", "#66706b"
_FOOT_X, _FOOT_Y, _SCALE = (124.0, 202.0), 8.0, 1.25
_MARK_STEP, _MARKS_UNDER_FOOT = 16.0, 3


@dataclass(frozen=True)
class Line:
    """One line beside a foot: what kind, its words, and where its mark stands (outer, inner, between, or under it)."""

    kind: str
    words: str
    where: str


def foot_lines(parts: Iterable[Part], foot: str) -> tuple[Line, ...]:
    """What is recorded of one foot, in the order of recording."""
    return tuple(
        Line(_kind(part), part_text(part), _where(part)) for part in parts if getattr(part, "place", None) == foot
    )


def _kind(part: Part) -> str:
    if isinstance(part, FindingPart):
        return SOUND if part.finding == "sound" else FOUND
    return DONE


def _where(part: Part) -> str:
    if is_between(part):
        return "between"
    said = part.part if isinstance(part, FindingPart | ActionPart) else None
    return {"outer claw": "outer", "inner claw": "inner"}.get(said or "", "under")


def in_words(parts: Iterable[Part]) -> str:
    """The plan as one sentence a foot, for those who do not see it."""
    held = tuple(parts)
    told = ((foot, ", ".join(line.words for line in foot_lines(held, foot))) for foot in FEET)
    return " ".join(f"{foot.capitalize()}: {words or 'not mentioned'}." for foot, words in told)


def foot_plan(parts: Iterable[Part], title: str) -> Markup:
    """The plan as an `svg` element that needs nothing from outside itself.

    Colours are attributes, so that a style sheet may change them and none is needed.

    Args:
        parts: what holds for the animal, in the order of recording.
        title: what the plan is of.
    """
    held = tuple(parts)
    feet = [foot_lines(held, foot) for foot in FEET]
    rows = [max(_height(feet[n]), _height(feet[n + 1])) for n in (0, 2)]
    drawn = "".join(_foot(lines, n, (0, rows[0])[n // 2]) for n, lines in enumerate(feet))
    return Markup(
        f'<svg class="plan" role="img" viewBox="0 0 {WIDTH} {sum(rows)}" width="{WIDTH}" height="{sum(rows)}" '
        f'font-family="sans-serif" font-size="13" fill="{_INK}"><title>{escape(title)}</title>'
        f"<desc>{escape(in_words(held))}</desc>{drawn}</svg>"
    )


def _height(lines: tuple[Line, ...]) -> int:
    return max(ROW, 24 + 15 * sum(len(_wrapped(line, n)) for n, line in enumerate(lines, 1)))


def _wrapped(line: Line, number: int) -> list[str]:
    head = f"{number} " if line.kind != SOUND else ""
    return textwrap.wrap(head + line.words, LETTERS) or [head]


def _foot(lines: tuple[Line, ...], n: int, y: float) -> str:
    """One foot: its claws in the middle of the drawing, its marks on them, its words on its own side."""
    is_left = n % 2 == 0
    x = _FOOT_X[n % 2]
    style = (
        f'class="claws" stroke="{_INK}"' if lines else f'class="claws unseen" stroke="{_PALE}" stroke-dasharray="3 3"'
    )
    claws = (
        f'<g {style} fill="none" stroke-width="1.3" transform="translate({x:g} {y + _FOOT_Y:g}) scale({_SCALE})">'
        f'<path d="{_CLAW}"/><path d="{_CLAW}" transform="matrix(-1 0 0 1 44 0)"/></g>'
    )
    return claws + "".join(_marks(lines, x, y + _FOOT_Y, is_left)) + _words(lines, FEET[n], y, is_left)


def _marks(lines: tuple[Line, ...], x: float, y: float, is_left: bool) -> Iterator[str]:
    """The numbered marks of a foot; those with one place stand one below the other."""
    spots = {"between": (x + 27.5, y + 10), "under": (x + 9, y + 70)}
    spots["outer" if is_left else "inner"] = (x + 13, y + 20)
    spots["inner" if is_left else "outer"] = (x + 42, y + 20)
    used: dict[str, int] = {}
    for number, line in enumerate(lines, 1):
        nth = used[line.where] = used.get(line.where, -1) + 1
        at_x, at_y = spots[line.where]
        if line.where == "under":
            at_x, at_y = at_x + _MARK_STEP * (nth % _MARKS_UNDER_FOOT), at_y + _MARK_STEP * (nth // _MARKS_UNDER_FOOT)
        else:
            at_y += _MARK_STEP * nth
        yield _mark(line.kind, number, at_x, at_y)


def _mark(kind: str, number: int, x: float, y: float) -> str:
    if kind == SOUND:
        return f'<path class="tick" d="M{x - 5:g} {y:g}l4 4 7-9" fill="none" stroke="{_INK}" stroke-width="2"/>'
    if kind == FOUND:
        shape, ink = f'<path class="found" d="M{x:g} {y - 8:g}l8 14h-16z" fill="{_INK}"/>', "#ffffff"
    else:
        box = f"M{x - 6:g} {y - 6:g}h12v12h-12z"
        shape = f'<path class="made" d="{box}" fill="#ffffff" stroke="{_INK}" stroke-width="1.2"/>'
        ink = _INK
    name = "on" if kind == FOUND else "in"
    at = f'x="{x:g}" y="{y + 4:g}" font-size="9" text-anchor="middle"'
    return f'{shape}<text class="{name}" {at} fill="{ink}">{number}</text>'


def _words(lines: tuple[Line, ...], foot: str, y: float, is_left: bool) -> str:
    """The name of the foot and its numbered lines, set towards the claws."""
    x, anchor = (116, ' text-anchor="end"') if is_left else (264, "")
    rows = [row for number, line in enumerate(lines, 1) for row in _wrapped(line, number)]
    rows = rows or ["not mentioned"]
    lower = "".join(_row(row, x, y + 18 + 15 * n, anchor) for n, row in enumerate(rows, 1))
    return _row(foot.capitalize(), x, y + 18, f'{anchor} font-weight="bold"') + lower


def _row(words: str, x: float, y: float, more: str) -> str:
    """Each row is an element of its own: not every program that draws SVG sets several rows of one well."""
    return f'<text x="{x:g}" y="{y:g}"{more}>{escape(words)}</text>'

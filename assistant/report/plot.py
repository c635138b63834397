"""Small plots over the visits of an animal as inline SVG: one point or bar a visit, its value written beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup, escape

WIDTH, HEIGHT = 190, 84
LAST = 6
"""At most so many visits are drawn, the latest."""

_LEFT, _RIGHT, _TOP, _BOTTOM = 18, 172, 34, 64
_INK = "#1d2421"


@dataclass(frozen=True)
class Series:
    """Values over days, oldest first; `is_count` draws bars from zero, otherwise points joined by a line."""

    title: str
    points: tuple[tuple[date, float], ...]
    unit: str = ""
    is_count: bool = False


def plot(series: Series) -> Markup:
    """The last values of a series as an `svg` element; every value stands in words in it too."""
    points = series.points[-LAST:]
    told = "; ".join(f"{day:%Y-%m-%d}: {value:g}{series.unit}" for day, value in points)
    at = _places([value for _, value in points], series.is_count)
    body = _bars(at) if series.is_count else _line(at)
    values = "".join(
        f'<text x="{x:g}" y="{y - 6:g}" text-anchor="middle">{value:g}</text>'
        for (x, y), (_, value) in zip(at, points, strict=True)
    )
    ends = f'<text x="2" y="{HEIGHT - 3}">{points[0][0]:%Y-%m-%d}</text>' if points else ""
    if len(points) > 1:
        ends += f'<text x="{WIDTH - 2}" y="{HEIGHT - 3}" text-anchor="end">{points[-1][0]:%Y-%m-%d}</text>'
    return Markup(
        f'<svg class="plot" role="img" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        f'font-family="sans-serif" font-size="11" fill="{_INK}"><title>{escape(series.title)}</title>'
        f'<desc>{escape(told)}</desc><text x="2" y="12" font-weight="bold">{escape(series.title)}{escape(series.unit)}'
        f"</text>{body}{values}{ends}</svg>"
    )


def _places(values: Sequence[float], from_zero: bool) -> list[tuple[float, float]]:
    """Where each value stands; visits at equal distances, as it is their order that is read."""
    low = 0.0 if from_zero else min(values, default=0.0)
    span = max(values, default=0.0) - low or 1.0
    step = (_RIGHT - _LEFT) / max(1, len(values) - 1)
    return [(_LEFT + n * step, _BOTTOM - (_BOTTOM - _TOP) * (value - low) / span) for n, value in enumerate(values)]


def _bars(at: Sequence[tuple[float, float]]) -> str:
    d = "".join(f"M{x:.4g} {_BOTTOM + 2}V{y:.4g}" for x, y in at)
    return f'<path class="bar" d="{d}" stroke="{_INK}" stroke-width="8" fill="none"/>'


def _line(at: Sequence[tuple[float, float]]) -> str:
    d = "M" + "L".join(f"{x:.4g} {y:.4g}" for x, y in at)
    dots = "".join(f"M{x:.4g} {y:.4g}h0" for x, y in at)
    return (
        f'<path class="line" d="{d}" stroke="{_INK}" fill="none"/>'
        f'<path class="line" d="{dots}" stroke="{_INK}" stroke-width="6" stroke-linecap="round" fill="none"/>'
    )

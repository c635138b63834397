"""The colours: enough contrast to be read, and told apart by eyes that lack one kind of cone."""

from __future__ import annotations

import itertools

import pytest
from textual.theme import Theme

from assistant.screens.palette import DARK, LIGHT, PLAIN, STYLE_OF

READABLE = 4.5
"""Least contrast of text (W3C, Web Content Accessibility Guidelines 2.2, criterion 1.4.3)."""

LEAST_APART = 8.0
"""Distance in CIELAB beyond which two colours side by side are plainly two (common practice, no source)."""

# Viénot, Brettel & Mollon, Color Research & Application 24, 1999: linear RGB as dichromats see it.
PROTAN = ((0.11238, 0.88762, 0.0), (0.11238, 0.88762, 0.0), (0.00401, -0.00401, 1.0))
DEUTAN = ((0.29275, 0.70725, 0.0), (0.29275, 0.70725, 0.0), (-0.02234, 0.02234, 1.0))
NORMAL = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))

ROLES = ("primary", "secondary", "warning", "error", "success", "accent", "foreground")


def linear(colour: str) -> tuple[float, ...]:
    """Linear RGB, 0 to 1, of a colour such as "#56B4E9"."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    return tuple(part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)


def contrast(one: str, other: str) -> float:
    light = [0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in (linear(one), linear(other))]
    return (max(light) + 0.05) / (min(light) + 0.05)


def lab(rgb: tuple[float, ...]) -> tuple[float, float, float]:
    r, g, b = rgb
    x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505
    y = 0.2126 * r + 0.7152 * g + 0.0722 * b
    z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089
    fx, fy, fz = (v ** (1 / 3) if v > 0.008856 else 7.787 * v + 16 / 116 for v in (max(x, 0), max(y, 0), max(z, 0)))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def seen(colour: str, by: tuple[tuple[float, ...], ...]) -> tuple[float, float, float]:
    rgb = linear(colour)
    return lab(tuple(max(0.0, min(1.0, sum(w * v for w, v in zip(row, rgb, strict=True)))) for row in by))


@pytest.mark.parametrize("theme", [DARK, LIGHT, PLAIN], ids=lambda theme: theme.name)
def test_all_text_can_be_read(theme: Theme) -> None:
    for ground in ("background", "surface", "panel"):
        for role in ROLES:
            assert contrast(getattr(theme, role), getattr(theme, ground)) >= READABLE, (ground, role)
        assert contrast(theme.variables["muted"], getattr(theme, ground)) >= READABLE, ground
    assert contrast(theme.background, theme.warning) >= READABLE, "the question that is being asked"


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=lambda theme: theme.name)
@pytest.mark.parametrize("eyes", [NORMAL, PROTAN, DEUTAN], ids=["all cones", "without red", "without green"])
def test_what_means_something_else_looks_different(theme: Theme, eyes) -> None:
    for one, other in itertools.combinations(("success", "error", "primary"), 2):
        first, second = seen(getattr(theme, one), eyes), seen(getattr(theme, other), eyes)
        apart = sum((a - b) ** 2 for a, b in zip(first, second, strict=True)) ** 0.5
        assert apart >= LEAST_APART, (one, other)


def test_every_meaning_has_a_mark_of_its_own() -> None:
    """Colour only supports: without it the marks still differ."""
    assert len(set(STYLE_OF)) == len(STYLE_OF)
    assert all(len(mark) == 1 for mark in STYLE_OF)

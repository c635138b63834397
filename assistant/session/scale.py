"""The scales that numbers must fit, by species. A number that does not fit is asked for again, never recorded."""

from __future__ import annotations

import math

from assistant.session.replies import value as in_words
from assistant.values import MeasurePart, Species

LAMENESS = {Species.SHEEP: (0, 6), Species.GOAT: (1, 5)}
"""The usual scales, lowest and highest score.

Locomotion of sheep 0–6 (Kaler, Wassink & Green, Vet J, 2009); goats 1–5 (Deeming et al., J Dairy Sci 101, 2018).
"""

CONDITION = {Species.SHEEP: (0, 5), Species.GOAT: (1, 5)}
"""In halves, 1 to 5 (goats: Villaquiran et al., Langston University; sheep: AHDB in Farmers Weekly, 2014).

0 is accepted for sheep as an emergency: Russel, Doney & Gunn, 1969, scale 0–5.
"""

YOUNG_BORN = "young born"
"""How many young an animal gave birth to, dead or alive, at the time of the entry."""

MOST_YOUNG = 8
"""More at one birth are a slip of the tongue or hand (common practice, no source)."""

BOUNDS = {"weight": (0.5, 250.0, "kilos"), "temperature": (30.0, 45.0, "degrees")}
"""Numbers outside cannot be a living goat or sheep on a scale or thermometer (common practice, no source)."""


def misfit(part: MeasurePart, species: Species, lameness: tuple[int, int] | None = None) -> str | None:
    """Why a number does not fit its scale, as a sentence to be spoken; None if it fits or the measure has no scale.

    Args:
        part: the measure.
        species: of the animal.
        lameness: lowest and highest score of the holding's lameness scale; the usual one if left out.
    """
    value = part.value
    if part.measure == "condition":
        if not _fits(value, CONDITION[species], halves=True):
            return "Condition goes from one to five in halves."
    elif part.measure == "lameness":
        low, high = lameness or LAMENESS[species]
        if not _fits(value, (low, high)):
            animals = "sheep" if species is Species.SHEEP else "goats"
            return f"Lameness of {animals} goes from {in_words(low)} to {in_words(high)}."
    elif part.measure == YOUNG_BORN:
        if not _fits(value, (1, MOST_YOUNG)):
            return f"Young born are counted from one to {in_words(MOST_YOUNG)}."
    elif part.measure in BOUNDS:
        least, most, unit = BOUNDS[part.measure]
        if not (math.isfinite(value) and least <= value <= most):
            return f"{part.measure.capitalize()} must be {least:g} to {most:g} {unit}."
    return None


def _fits(value: float, bounds: tuple[int, int], *, halves: bool = False) -> bool:
    low, high = bounds
    if not (math.isfinite(value) and low <= value <= high):
        return False
    steps = value * 2 if halves else value
    return steps == int(steps) and not (halves and 0 < value < 1)

"""The grammars of the project, filled with the invented herd of the farm remarks."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from farm_sentences import NAMES, NUMBERS

from assistant.grammar import Grammar
from assistant.meaning.fills import animal_fills
from assistant.values import Animal

GRAMMARS = Path(__file__).parent.parent / "grammars"
ANIMALS = tuple(
    Animal(f"a{n}", number=number, name=name) for n, (name, number) in enumerate(zip(NAMES, NUMBERS, strict=True))
)
EXTRA = (Animal("x1", number="417", name="Old Nell", nicknames=("Nellie",)), Animal("x2", number="041"))


def sources() -> list[tuple[str, str]]:
    return [(path.name, path.read_text(encoding="utf-8")) for path in sorted(GRAMMARS.glob("*.jsgf"))]


@cache
def grammar() -> Grammar:
    return Grammar.load(sources(), animal_fills((*ANIMALS, *EXTRA), ("Alamycin", "terramycin spray")))

"""The register of a holding: read from files, found in its store, and matched with what animals are called."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from assistant.errors import BadRegister
from assistant.listening.spoken import lexicon, read_bytes
from assistant.register.confusable import Confusable, confusables
from assistant.register.heading import fitness
from assistant.register.mention import Context, Match, Matched, Matcher
from assistant.register.reading import ImportReport, Rules, animals_from_table
from assistant.register.register import Register, called
from assistant.register.wand import WandLine, wand_lines
from assistant.settings import Places
from assistant.sheets.reading import herd_table
from assistant.store.store import Store
from assistant.values import Animal


def read_register(
    file: Path, known: Register | None = None, rules: Rules | None = None, encoding: str = ""
) -> ImportReport:
    """A register file (CSV or XLSX) with the report of its rows.

    Args:
        file: the file.
        known: the register that its animals are joined with.
        rules: how the table is to be taken.
        encoding: of a text, if it is known.

    Raises:
        BadRegister: the file cannot be read or is no table.
        LibraryMissing: it is a workbook and the library for them is not installed.
    """
    asked = rules or Rules()
    read = herd_table(read_bytes(file, BadRegister), str(file), fitness(asked.headings), encoding)
    return animals_from_table(read, str(file), known, asked)


def stored_animals(places: Places) -> tuple[Animal, ...]:
    """The register in the store; none if there is no store yet."""
    if not places.store.exists():
        return ()
    with Store.open(places.store, read_only=True) as held:
        return held.animals()


def confusable_pairs(animals: Iterable[Animal], keepers: Path | None = None) -> tuple[Confusable, ...]:
    """Animals of a session that are easily heard for each other."""
    return confusables(animals, lexicon(keepers).of)


def animals_meant(places: Places, mention: str, group: str | None = None) -> Match:
    """Who may be meant by a mention, in a session of a group if one is named."""
    animals = stored_animals(places)
    planned = frozenset(one.id for one in animals if group is not None and one.group.casefold() == group.casefold())
    return Matcher(Register(animals), lexicon(places.grammars).of).match(mention, Context(planned=planned))


def read_by_wand(file: Path, register: Register) -> tuple[WandLine, ...]:
    """The lines of a wand reader's file, with the animals of the register.

    Raises:
        BadRegister: the file cannot be read.
    """
    return tuple(wand_lines(read_bytes(file, BadRegister).decode("utf-8-sig", "replace"), register))


def the_animal(register: Register, mention: str, keepers: Path | None = None) -> Animal:
    """The one animal that a mention means beyond doubt.

    Raises:
        BadRegister: none, or it may be several.
    """
    match = Matcher(register, lexicon(keepers).of).match(mention)
    if match.decision is Matched.ONE:
        return match.candidates[0].animal
    shown = ", ".join(called(item.animal) for item in match.candidates)
    raise BadRegister(f"{mention!r} may be {shown}. Give its tag." if shown else f"No animal is like {mention!r}.")

"""Headings of a table of animals, as people write them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from rapidfuzz import fuzz, process

from assistant.errors import BadRegister

COLUMNS = (
    "id tag number name sex born dam sire group status notes species breed electronic markings nicknames due in_milk "
    "past_tags"
)
"""Columns in the order in which they are written; named as the attributes of `assistant.values.Animal`."""

_ALSO = {
    "id": ("animal id", "key", "uid"),
    "tag": ("ear tag", "official tag", "tag number", "tag no", "identity", "eartag", "official id"),
    "number": ("no", "nr", "num", "management number", "management tag", "herd number", "collar", "short number"),
    "name": ("animal", "animal name", "called"),
    "sex": ("gender", "m/f"),
    "born": ("date of birth", "dob", "birth date", "birthdate", "birthday", "birth", "born on"),
    "dam": ("mother", "dam tag", "dam name"),
    "sire": ("father", "sire tag", "sire name"),
    "group": ("pen", "lot", "mob", "paddock", "location"),
    "status": ("state", "alive"),
    "notes": ("note", "remarks", "remark", "comment", "comments"),
    "species": ("kind", "goat or sheep"),
    "electronic": ("eid", "rfid", "chip", "transponder", "electronic id", "electronic code", "microchip", "bolus"),
    "markings": ("marking", "colour", "color", "description", "coat"),
    "nicknames": ("nickname", "also called", "alias", "aliases"),
    "due": ("due date", "due on", "expected", "kidding due", "lambing due"),
    "in_milk": ("milking", "lactating", "milk"),
    "past_tags": ("old tags", "previous tags", "former tags", "old tag"),
}

IDENTIFYING = ("tag", "number", "name")
CODES = ("tag", "number", "electronic")

_CLOSE = 70
"""Percent of likeness from which a heading is offered for one that is not known."""


def plain(text: str) -> str:
    """Words of a heading in small letters, without signs and with single spaces."""
    return " ".join(re.sub(r"[^\w/]+|_", " ", text.casefold()).split())


_KNOWN = {plain(name): name for name in COLUMNS.split()}
_KNOWN |= {plain(other): name for name, others in _ALSO.items() for other in others}


def column(heading: str) -> str | None:
    """The column that a heading stands for."""
    return _KNOWN.get(plain(heading))


def suggestion(heading: str) -> str | None:
    """The column whose heading is most like one that is not known, if any is."""
    found = process.extractOne(plain(heading), _KNOWN.keys(), scorer=fuzz.ratio, score_cutoff=_CLOSE)
    return _KNOWN[found[0]] if found else None


def is_blank(name: str, text: str) -> bool:
    """Whether a cell of a column says nothing: it is empty, or has a dash or question mark for a tag or number."""
    return not text or (name in CODES and not any(map(str.isalnum, text)))


def spoken(name: str) -> str:
    """A column as a heading: "in milk" for in_milk."""
    return name.replace("_", " ")


def fitness(own: Mapping[str, str]) -> Callable[[Sequence[str]], int]:
    """Counts how many of some cells are headings that are known, here or by the keeper's `own`."""
    meant = {plain(heading) for heading in own}
    return lambda cells: sum(column(text) is not None or plain(text) in meant for text in cells)


def is_left_out(heading: str, own: Mapping[str, str]) -> bool:
    """Whether the keeper wants a column to be left out."""
    return any(plain(text) == plain(heading) and not name for text, name in own.items())


def column_named(text: str) -> str:
    """The column that a keeper names, as one of `COLUMNS`; empty text stands for none.

    Raises:
        BadRegister: there is no such column.
    """
    if not text.strip():
        return ""
    found = column(text)
    if found is None:
        shown = ", ".join(spoken(name) for name in COLUMNS.split())
        raise BadRegister(f"There is no column {text!r}. The columns are: {shown}.")
    return found


def columns_of(
    headings: Sequence[str], file: str, line: int, own: Mapping[str, str] = MappingProxyType({})
) -> tuple[str | None, ...]:
    """The column that each heading stands for, None where it is not known or is to be left out.

    Args:
        headings: the first row of the table.
        file: its name, for messages.
        line: where the headings are, for messages.
        own: the keeper's meaning of headings, before what is known of them anyway; see `Rules.headings`.

    Raises:
        BadRegister: two headings stand for one column, or none says which animal a row is about.
    """
    meant = {plain(heading): name or None for heading, name in own.items()}
    found = tuple(meant.get(plain(heading), column(heading)) for heading in headings)
    for at, name in enumerate(found):
        if name and name in found[:at]:
            first = headings[found.index(name)]
            raise BadRegister(
                f"{file}, line {line}: the headings {first.strip()!r} and {headings[at].strip()!r} both mean "
                f"{spoken(name)!r}. Rename or remove one of them."
            )
    if not set(IDENTIFYING) & set(found):
        shown = ", ".join(repr(heading.strip()[:30]) for heading in headings[:8])
        guess = next((name for name in map(suggestion, headings) if name in IDENTIFYING), None)
        hint = f" Was {guess!r} meant?" if guess else ""
        raise BadRegister(
            f"{file}, line {line}: no heading is tag, number or name; found {shown}.{hint} "
            "The first line must be headings, one of them for each column."
        )
    return found

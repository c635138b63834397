"""The register as it is kept by hand: an animal added, one of its particulars changed, a file previewed and taken."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from assistant.errors import BadRegister
from assistant.register import cell
from assistant.register.heading import is_blank
from assistant.register.identity import electronic_code
from assistant.register.import_report import ImportReport
from assistant.register.import_table import Step, steps
from assistant.register.joining import new_id
from assistant.register.register import Register
from assistant.register.standards import standard_problems
from assistant.values import Animal, Sex, Species

FIELDS = (
    "name",
    "number",
    "tag",
    "electronic",
    "species",
    "sex",
    "breed",
    "born",
    "due",
    "in_milk",
    "dam",
    "sire",
    "group",
    "status",
    "markings",
    "nicknames",
    "notes",
)
"""What of an animal can be changed, in the order in which it is shown; its id and former tags cannot."""

IN_HERD, SOLD, DEAD = "in herd", "sold", "dead"


class Book(Protocol):
    """Where animals are kept: see `assistant.store.store.Store`."""

    def animals(self) -> Sequence[Animal]: ...  # noqa: D102
    def newest_animal(self) -> int: ...  # noqa: D102
    def save_animals(self, animals: Iterable[Animal], time: datetime | None = None) -> None: ...  # noqa: D102


@dataclass(frozen=True)
class Preview:
    """What a file would change.

    Attributes:
        report: of the file.
        steps: new and changed animals and problems, in the order of the file.
    """

    report: ImportReport
    steps: tuple[Step, ...]


class Registering:
    """The register of a holding. Every change is kept before it shows, as one more version of the animal.

    What another program has changed meanwhile is read before anything is changed here.

    Args:
        book: the store.
        read: reads a file of animals, joined with those that are known.
        now: the clock.
    """

    def __init__(self, book: Book, read: Callable[[Path, Register], ImportReport], now: Callable[[], datetime]) -> None:
        self._book = book
        self._read = read
        self._now = now
        self._newest = book.newest_animal()
        self.register = Register(book.animals())

    def change(self, animal: Animal, field: str, text: str) -> str:
        """Changes one particular; gives what is odd about it, or nothing.

        Raises:
            BadRegister: the text does not fit, or another animal has that tag or code.
            BadStore: it cannot be kept.
        """
        value = value_of(field, text)
        return self._keep(replace(self._current().animal(animal.id) or animal, **{field: value}))

    def add(self, text: str) -> Animal:
        """Adds an animal by its name, or its number if it is digits.

        Raises:
            BadRegister: nothing was given, or an animal has that name or number and is in the herd.
            BadStore: it cannot be kept.
        """
        said = text.strip()
        if not said:
            raise BadRegister("Give the animal a name or a number.")
        is_number = said.isascii() and said.replace(" ", "").isdigit()
        field = "number" if is_number else "name"
        known = self._current()
        same = known.numbered(said) if is_number else known.named(said)
        if same and any(one.status == IN_HERD for one in same):
            raise BadRegister(f"There is {same[0].label} in the herd already. Give the new one another {field}.")
        values: dict[str, Any] = {field: value_of(field, said)}
        key = new_id(values, known.__contains__)
        animal = replace(Animal(key, species=self._usual_species()), **values)
        self._keep(animal)
        return animal

    def preview(self, file: Path) -> Preview:
        """What a file would change; nothing is changed yet.

        Raises:
            BadRegister: the file cannot be read or is no table.
        """
        report = self._read(file, self._current())
        return Preview(report, steps(report, self.register))

    def take(self, preview: Preview) -> int:
        """Brings the animals of a preview in; gives how many are new or changed.

        Raises:
            BadRegister: another program has changed the register since.
            BadStore: they cannot be kept.
        """
        before = self._newest
        self._current()
        if self._newest != before:
            raise BadRegister("Another program has changed the register meanwhile. Look at the file once more.")
        self._book.save_animals(preview.report.animals, self._now())
        self._current()
        return len(preview.report.new) + len(preview.report.changed)

    def _keep(self, animal: Animal) -> str:
        after = self.register.with_animal(animal)
        self._book.save_animals([animal], self._now())
        self.register, self._newest = after, self._book.newest_animal()
        odd = [problem.message for problem in standard_problems([animal])]
        if animal.born and animal.born > self._now().date():
            odd.append(f"{animal.label}: the birth, {animal.born.isoformat()}, is yet to come.")
        return " ".join(odd)

    def _current(self) -> Register:
        """The register; read again if it was changed elsewhere."""
        newest = self._book.newest_animal()
        if newest != self._newest:
            self.register, self._newest = Register(self._book.animals()), newest
        return self.register

    def _usual_species(self) -> Species:
        kinds = [animal.species for animal in self.register]
        return max(set(kinds), key=kinds.count) if kinds else Species.GOAT


_READERS: dict[str, Callable[[str], Any]] = {
    "sex": cell.sex,
    "species": cell.species,
    "in_milk": cell.truth,
    "status": lambda text: cell.status(text)[0],
    "nicknames": cell.parted,
    "electronic": lambda text: electronic_code(text).digits,
    "born": lambda text: cell.day(text)[0],
    "due": lambda text: cell.day(text)[0],
}
_EMPTY: dict[str, Any] = {"sex": Sex.UNKNOWN, "in_milk": False, "nicknames": (), "born": None, "due": None}


def value_of(field: str, text: str) -> Any:
    """A particular of an animal as it is typed; an empty text takes it away, and a dash for a tag or number too.

    Raises:
        BadRegister: the text does not fit.
    """
    said = text.strip()
    if is_blank(field, said):
        if field == "species":
            raise BadRegister("An animal is a goat or a sheep.")
        return _EMPTY.get(field, "")
    try:
        cell.refuse_unfit(said, may_have_lines=field == "notes")
        return _READERS[field](said) if field in _READERS else said
    except ValueError as error:
        raise BadRegister(str(error)) from error


def shown(animal: Animal, field: str) -> str:
    """A particular of an animal as it would be typed."""
    value = getattr(animal, field)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "; ".join(cell.joined([one]) for one in value) if isinstance(value, tuple) else str(value or "")

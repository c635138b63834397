"""The animals of a holding and their families."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property

from assistant.errors import BadRegister
from assistant.values import Animal, Sex


def compact(code: str) -> str:
    """A tag or code without spaces, dots, dashes and strokes, in capitals: the form in which two are compared."""
    # Most have nothing to take away; a register has them by the hundred thousand.
    if code.isalnum():
        return code.upper()
    return "".join(code.split()).replace(".", "").replace("/", "").replace("_", "").replace("-", "").upper()


def called(animal: Animal) -> str:
    """The animal as a message names it: label, and number or tag where the label is a name."""
    also = animal.number or animal.tag
    return f"{animal.label} ({also})" if animal.name and also else animal.label


class Register:
    """An immutable set of animals with lookups. Iteration is in the order given.

    Two animals may share a name or a number (the session then asks); a tag or an electronic code belongs to one.

    Raises:
        BadRegister: an id, tag or electronic code is there twice, or an animal has neither tag, number nor name.
    """

    def __init__(self, animals: Iterable[Animal] = ()) -> None:
        self._by_id: dict[str, Animal] = {}
        for animal in animals:
            if not animal.label:
                raise BadRegister(
                    f"The animal with the id {animal.id!r} has no tag, number or name. Give it one of them."
                )
            if animal.id in self._by_id:
                other = called(self._by_id[animal.id])
                raise BadRegister(f"{other} and {called(animal)} have the same id {animal.id!r}. Give one another id.")
            self._by_id[animal.id] = animal
        self._by_tag = self._unique("tag", lambda animal: animal.tag)
        self._by_electronic = self._unique("electronic code", lambda animal: animal.electronic)

    def _unique(self, what: str, code: Callable[[Animal], str]) -> dict[str, Animal]:
        found: dict[str, Animal] = {}
        for animal in self:
            key = compact(code(animal))
            if not key:
                continue
            if key in found:
                raise BadRegister(
                    f"{called(found[key])} and {called(animal)} have the same {what} {code(animal)}. "
                    "Correct one of them: it can belong to one animal only."
                )
            found[key] = animal
        return found

    def __iter__(self) -> Iterator[Animal]:
        return iter(self._by_id.values())

    def __len__(self) -> int:
        return len(self._by_id)

    def __contains__(self, key: object) -> bool:
        return key in self._by_id

    def animal(self, key: str) -> Animal | None:
        """The animal with this id."""
        return self._by_id.get(key)

    def named(self, name: str) -> tuple[Animal, ...]:
        """Animals with this name or nickname, whatever the case of the letters."""
        return self._by_name.get(_folded(name), ())

    def numbered(self, number: str) -> tuple[Animal, ...]:
        """Animals with exactly this management number; leading zeros count."""
        return self._by_number.get(compact(number), ())

    def tagged(self, code: str) -> tuple[Animal, ...]:
        """The animal that carries this tag now; else those that once carried it."""
        holder = self._by_tag.get(compact(code))
        return (holder,) if holder else self._by_past_tag.get(compact(code), ())

    def electronic(self, code: str) -> Animal | None:
        """The animal with this electronic code."""
        return self._by_electronic.get(compact(code))

    def with_animal(self, animal: Animal) -> Register:
        """A register in which this animal is added, or takes the place of the one with its id.

        Raises:
            BadRegister: as the class.
        """
        return Register({**self._by_id, animal.id: animal}.values())

    # ------------------------------------------------------------------------------------------------- families

    def resolved(self, text: str) -> tuple[Animal, ...]:
        """All that `text` may stand for as an id, else a tag or code, else a number, else a name."""
        if not text:
            return ()
        by_id = self._by_id.get(text)
        by_code = self.electronic(text)
        return ((by_id,) if by_id else ()) or self.tagged(text) or ((by_code,) if by_code else ()) or self._called(text)

    def _called(self, text: str) -> tuple[Animal, ...]:
        return self.numbered(text) or self.named(text)

    def dam(self, animal: Animal) -> Animal | None:
        """Its mother, if the register knows exactly one that can be meant."""
        return self._parent(animal, animal.dam, (Sex.MALE, Sex.CASTRATED))

    def sire(self, animal: Animal) -> Animal | None:
        """Its father, if the register knows exactly one that can be meant."""
        return self._parent(animal, animal.sire, (Sex.FEMALE,))

    def _parent(self, animal: Animal, text: str, unfit: tuple[Sex, ...]) -> Animal | None:
        """Of several with one name only those of a fitting sex count; a single one is taken as written."""
        found = self.resolved(text)
        if len(found) > 1:
            found = tuple(one for one in found if one.sex not in unfit and one.id != animal.id)
        return found[0] if len(found) == 1 else None

    def offspring(self, key: str) -> tuple[Animal, ...]:
        """Children of the animal with this id, in the order of the register."""
        return self._children.get(key, ())

    @cached_property
    def _children(self) -> Mapping[str, tuple[Animal, ...]]:
        pairs = ((parent.id, child) for child in self for parent in (self.dam(child), self.sire(child)) if parent)
        return _grouped(pairs)

    @cached_property
    def _by_name(self) -> Mapping[str, tuple[Animal, ...]]:
        return _grouped((_folded(name), one) for one in self for name in (one.name, *one.nicknames))

    @cached_property
    def _by_number(self) -> Mapping[str, tuple[Animal, ...]]:
        return _grouped((compact(one.number), one) for one in self)

    @cached_property
    def _by_past_tag(self) -> Mapping[str, tuple[Animal, ...]]:
        return _grouped((compact(tag.code), one) for one in self for tag in one.past_tags)


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def _grouped(pairs: Iterable[tuple[str, Animal]]) -> Mapping[str, tuple[Animal, ...]]:
    """Animals by key, each once under a key (an animal may have its name as nickname too); none under an empty one."""
    groups: dict[str, dict[str, Animal]] = {}
    for key, animal in pairs:
        if key:
            groups.setdefault(key, {})[animal.id] = animal
    return {key: tuple(group.values()) for key, group in groups.items()}

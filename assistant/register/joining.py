"""Which animal of the register a row is about, and what contradicts it."""

from __future__ import annotations

import uuid
from bisect import bisect_left
from collections.abc import Callable, Mapping
from datetime import date
from functools import partial
from typing import Any

from assistant.register.heading import spoken
from assistant.register.import_report import Trouble, Unusable
from assistant.register.register import Register, called, compact
from assistant.values import Animal, Sex, Tag

_NAMESPACE = uuid.UUID("6f2c1d0e-7b1a-4c55-9a53-3d0d5c1f8e21")
"""Ids of new animals are made from what identifies them, so that the same file gives the same ids on every machine."""

_LASTING = ("born", "dam", "sire", "species")
"""What an animal keeps for life, so that another value is a mistake in the file or in the register."""

_conflict = partial(Unusable, kind=Trouble.CONFLICT)


def known_animal(values: Mapping[str, Any], known: Register) -> Animal | None:
    """The animal of the known register that a row is about.

    By id, tag or electronic code; else by number and name as far as the row has them, if that fits exactly one animal
    that carries no other tag.

    Raises:
        Unusable: it may be several animals, or the tag is a former one.
    """
    if "id" in values:
        return known.animal(values["id"])
    tag = values.get("tag", "")
    by_code = known.electronic(values.get("electronic", "")) or _holder("tag", compact(tag), known)
    if by_code:
        return by_code
    if former := known.tagged(tag):
        raise _conflict("tag", tag, f"This is a former tag of {called(former[0])}. Give the one that is worn now.")
    number, name = values.get("number", ""), values.get("name", "")
    fitting = [
        one
        for one in (known.numbered(number) if number else known.named(name))
        if (not name or not one.name or one.name.casefold() == name.casefold())
        and all(not values.get(code) or not getattr(one, code) for code in ("tag", "electronic"))
    ]
    if len(fitting) > 1 and not tag:
        shown = " and ".join(called(one) for one in fitting[:3])
        raise _conflict("", name or number, f"This may be {shown}. Give the tag.")
    return fitting[0] if len(fitting) == 1 else None


def new_id(values: Mapping[str, Any], is_taken: Callable[[str], bool]) -> str:
    """An id made from tag, electronic code, or number, name and birth; the next of them that is free if it is taken.

    Args:
        values: of the row.
        is_taken: whether an id is in use.
    """
    own = compact(values.get("tag", "")) or values.get("electronic", "")
    text = own or "|".join(str(values.get(name, "")).casefold() for name in ("number", "name", "born"))

    def key(nth: int) -> str:
        return str(uuid.uuid5(_NAMESPACE, f"{text}#{nth}" if nth else text))

    # They are taken in turn, so the first that is free is searched for: a flock may have a thousand called "Ewe".
    free = 0
    while is_taken(key(free)):
        free = 2 * free + 1
    return key(bisect_left(range(free), True, key=lambda nth: not is_taken(key(nth))))


def past_tags(before: Animal, values: Mapping[str, Any], day: date | None) -> tuple[Tag, ...]:
    """The past tags of an animal, with the tag and the code that a row replaces.

    Args:
        before: as the register has it.
        values: of the row.
        day: until which they were worn, if that is known.
    """
    found = list(before.past_tags)
    for name, kind in (("tag", "official"), ("electronic", "electronic")):
        held, told = getattr(before, name), values.get(name, "")
        if held and told and compact(held) != compact(told):
            found.append(Tag(kind, held, None, day))
    return tuple(found)


def refuse_contradiction(before: Animal, values: Mapping[str, Any]) -> None:
    """Refuses a row that says something else than the register about what an animal keeps for life.

    Raises:
        Unusable: it does.
    """
    for name in _LASTING:
        held, told = getattr(before, name), values.get(name)
        if told and held and _differ(told, held):
            raise _conflict(spoken(name), str(told), _against(before, name, held, told))
    told, held = values.get("sex", Sex.UNKNOWN), before.sex
    is_castration = (held, told) == (Sex.MALE, Sex.CASTRATED)
    if Sex.UNKNOWN not in (told, held) and told is not held and not is_castration:
        raise _conflict("sex", str(told), _against(before, "sex", held, told))


def _differ(one: object, other: object) -> bool:
    """Whether two values say different things; a name or tag says the same in other letters or spaces."""
    if isinstance(one, str) and isinstance(other, str):
        return compact(one) != compact(other)
    return one != other


def _against(before: Animal, name: str, held: object, told: object) -> str:
    return (
        f"{called(before)} has {spoken(name)} {held} in the register, {told} here. If the file is right, "
        "import it as one that corrects the register."
    )


def refuse_taken(
    animal: Animal, line: int, seen: dict[tuple[str, str], int], known: Register, is_read: Callable[[str], bool]
) -> None:
    """Refuses an id, tag or code that an earlier row of the file or another animal of the register has.

    A tag of the known register is free again if its animal gets another one in an earlier row of the file.

    Args:
        animal: of the row.
        line: of the row.
        seen: what the rows before have, (what, code) → line; those of this one are added.
        known: the register.
        is_read: whether an animal was in an earlier row.

    Raises:
        Unusable: it is taken.
    """
    codes = {"id": animal.id, "tag": compact(animal.tag), "electronic": animal.electronic}
    for name, code in codes.items():
        if not code:
            continue
        first = seen.get((name, code))
        if first is not None:
            raise _conflict(name, code, f"The row of line {first} has the same {name}. Correct one of them.")
        holder = _holder(name, code, known)
        if holder and holder.id != animal.id and not is_read(holder.id):
            raise _conflict(name, code, f"{called(holder)} of the register has this {name}. Correct one of them.")
    seen.update({(name, code): line for name, code in codes.items() if code})


def _holder(name: str, code: str, known: Register) -> Animal | None:
    if name == "electronic":
        return known.electronic(code)
    if name == "tag":
        return next((one for one in known.tagged(code) if compact(one.tag) == code), None)
    return None

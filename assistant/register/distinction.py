"""What tells one animal from another, in words for the pen."""

from __future__ import annotations

from assistant.values import Animal, Sex

_KIND = {Sex.FEMALE: "female", Sex.MALE: "male", Sex.CASTRATED: "castrated male"}


def distinction(one: Animal, other: Animal) -> str:
    """How `one` is told from `other`: what is seen first, such as "the brown one in group Ewes 2".

    Returns:
        Words that are true of `one` only: markings, sex, and group; where these are the same or not known, name,
        number, birth, breed, dam, or tag. Empty if nothing known tells them apart.
    """
    seen = [
        f"the {one.markings} one" if _differs(one.markings, other.markings) else "",
        f"the {_KIND[one.sex]}" if one.sex is not other.sex and one.sex in _KIND else "",
    ]
    look = next(filter(None, seen), "")
    group = f"in group {one.group}" if _differs(one.group, other.group) else ""
    if look or group:
        return f"{look or 'the one'} {group}".strip()
    return next(filter(None, _on_paper(one, other)), "")


def _on_paper(one: Animal, other: Animal) -> tuple[str, ...]:
    return (
        one.name if _differs(one.name, other.name) else "",
        f"number {one.number}" if _differs(one.number, other.number) else "",
        _birth(one, other),
        f"the {one.breed}" if _differs(one.breed, other.breed) else "",
        f"the child of {one.dam}" if _differs(one.dam, other.dam) else "",
        f"tag {one.tag}" if _differs(one.tag, other.tag) else "",
        f"electronic code {one.electronic}" if _differs(one.electronic, other.electronic) else "",
    )


def _birth(one: Animal, other: Animal) -> str:
    if one.born is None or one.born == other.born:
        return ""
    is_year_enough = other.born is None or one.born.year != other.born.year
    return f"born {one.born.year}" if is_year_enough else f"born {one.born.isoformat()}"


def _differs(text: str, other: str) -> bool:
    return bool(text) and text.casefold() != other.casefold()

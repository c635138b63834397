"""Who is to be handled on a day, why, what to mind, and in which order."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from assistant.husbandry.gestation import Pregnancy
from assistant.values.outlook import Head


class Handled(NamedTuple):
    """One animal of a plan.

    Attributes:
        pen: its group.
        reasons: why it is to be handled.
        caution: what to mind, as that it must not be tipped; empty if nothing is known.
    """

    animal: str
    pen: str
    reasons: tuple[str, ...]
    caution: str


def handling(
    heads: Iterable[Head],
    reasons: Mapping[str, Sequence[str]],
    pregnancies: Mapping[str, Pregnancy],
    day: date,
    name: Callable[[str], str],
    pens: Sequence[str] = (),
) -> tuple[Handled, ...]:
    """The animals with a reason, pen by pen.

    Args:
        heads: the register; who is not in the herd is left out.
        reasons: animal → why it is to be handled; who has none is left out.
        pregnancies: animal → when it may give birth.
        day: on which they are handled.
        name: gives the number of an animal, else its name, by its id.
        pens: the order in which the pens are gone through; others follow by their names, animals without one last.

    Returns:
        In the order of pens, within one by number, else name.
    """
    found = [one for one in heads if one.is_here and reasons.get(one.id)]
    place = {pen.casefold(): at for at, pen in enumerate(pens)}
    found.sort(
        key=lambda one: (
            place.get(one.group.casefold(), len(place)),
            not one.group,
            _natural(one.group),
            _natural(name(one.id)),
        )
    )
    return tuple(
        Handled(
            one.id,
            one.group,
            tuple(dict.fromkeys(reasons[one.id])),
            pregnancies[one.id].caution(day) if one.id in pregnancies else "",
        )
        for one in found
    )


def _natural(text: str) -> list[tuple[int, str]]:
    """A key by which "Pen 2" goes before "Pen 10": of two numbers the longer one is larger."""
    parts = (part.lstrip("0") if part.isdecimal() else part for part in re.split(r"(\d+)", text.casefold()) if part)
    return [(len(part), part) if part.isdecimal() or not part else (-1, part) for part in parts]

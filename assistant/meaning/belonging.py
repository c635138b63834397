"""Where findings and actions belong on an animal, and what a place said for several stands for."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.values import BETWEEN, FEET, WHOLE_ANIMAL

SETS = {
    "both fores": ("left fore", "right fore"),
    "both hinds": ("left hind", "right hind"),
    "all four": FEET,
    "near side": ("left fore", "left hind"),
    "off side": ("right fore", "right hind"),
    "both halves": ("left udder", "right udder"),
    "both teats": ("left teat", "right teat"),
    "both horns": ("left horn", "right horn"),
    "both eyes": ("left eye", "right eye"),
}
"""Places said in one word, one part for each."""

UDDER = ("udder", "left udder", "right udder")
TEATS = ("left teat", "right teat")
PARTS_OF_FOOT = (BETWEEN, "inner claw", "outer claw", "toe", "heel", "sole", "wall", "white line")

_HOMES = {
    **dict.fromkeys(("extra teat", "split teat", "blind teat"), ((*TEATS, *UDDER), "udder")),
    **dict.fromkeys(("hot udder", "uneven udder"), (UDDER, "udder")),
    "runny eye": (("left eye", "right eye"), WHOLE_ANIMAL),
    "scur or ingrown horn": (("left horn", "right horn"), WHOLE_ANIMAL),
    **dict.fromkeys(("cough", "scour", "thin", "fat"), ((WHOLE_ANIMAL,), WHOLE_ANIMAL)),
    "lice": ((WHOLE_ANIMAL, "coat"), WHOLE_ANIMAL),
}
_AT_PLACE = {
    **{("heat", place): "hot udder" for place in UDDER},
    **{("uneven", place): "uneven udder" for place in UDDER},
    **{("hard horn", place): "swelling" for place in (*UDDER, *TEATS)},
    **{("soft horn", place): "sound" for place in (*UDDER, *TEATS)},
    **{("soft", place): "soft horn" for place in FEET},  # elsewhere as it should be
}
_ONLY_FEET = frozenset(
    (
        "overgrown",
        "hollow wall",
        "crack",
        "packed dirt",
        "scald",
        "foot rot",
        "loose horn",
        "hard horn",
        "soft horn",
        "damp skin",
        "pared back",
        "cut out",
        "foot bathed",
    )
)
_PUT_ON = frozenset(("spray", "aerosol", "ointment", "cream", "salve", "balm", "gel", "foam", "bath", "footbath"))
"""Words in the name of a medicine that is put on the place itself (common usage, no source)."""


_SIDES = ("near side", "off side")
_ENDS = ("both fores", "both hinds")
_OF_TWO = {"left one": SETS["near side"], "right one": SETS["off side"], "other one": FEET}
_SOFT = "soft"

STANDING_FOR_OTHERS = frozenset((*SETS, *_OF_TWO, _SOFT))
"""What a grammar may call a place or a finding that is never recorded as such, see `places_in` and `fitted`."""


def places_in(place: str, before: Sequence[str] = ()) -> tuple[str, ...]:
    """The places that one said place stands for.

    Args:
        place: "left one", "right one" and "other one" are said of the two feet in front, or the two behind.
        before: the places that were said before it.

    Returns:
        Feet or other places; none for "left one" and such if it is not known which two feet it is said of.
    """
    if place not in _OF_TWO:
        return SETS.get(place, (place,))
    side = _OF_TWO[place]
    if place == "other one":
        side = next((SETS[one] for one in _SIDES if not set(before) & set(SETS[one])), ())
    end = next((SETS[end] for end in _ENDS if before and set(before) <= set(SETS[end])), ())
    return tuple(foot for foot in FEET if foot in side and foot in end)


def home(finding: str, place: str | None) -> str | None:
    """Where a finding or action belongs if `place` is only open, not said with it.

    An open left hind is no place for a split teat or a cough: these go to the nearest place that is true of them. What
    is seen on feet alone has no place while something else is open.
    """
    if place is None:
        return None
    fitting, general = _HOMES.get(finding, (None, ""))
    if fitting is not None:
        return place if place in fitting else general
    return None if finding in _ONLY_FEET and place not in FEET else place


def fitted(finding: str, place: str | None, part: str | None) -> str:
    """The finding that a word stands for at a place: heat at the udder is a hot udder, a lump in the cleft a growth.

    A soft foot has soft horn; what is soft elsewhere is as it should be.
    """
    if finding == "lump" and part == BETWEEN:
        return "growth"
    return _AT_PLACE.get((finding, place or ""), "sound" if finding == _SOFT else finding)


def is_put_on(medicine: str) -> bool:
    """Whether a medicine's name says that it is put on a place; any other is the animal's, whatever foot is open."""
    return not _PUT_ON.isdisjoint(medicine.casefold().split())

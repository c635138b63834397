"""The order in which tags count: a place that was said after what belongs to it goes before it."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.grammar import Tag

_ITEMS = frozenset(("finding", "action", "either"))
_PLACES = frozenset(("place", "and", "part"))
_OF_FEET = _ITEMS | _PLACES | {"grade", "graded", "in", "medicine"}
_KEPT_APART = frozenset(("question", "command", "animal"))


def places_first(tags: Sequence[Tag]) -> list[Tag]:
    """The tags with every place before what belongs to it.

    "Hollow wall left hind" is the same as "left hind hollow wall". A grammar marks what is said the other way round
    by {order=after}; for feet the order of the whole remark decides.
    """
    turned = _marked_first(tags)
    if any(tag.slot == "question" for tag in turned):
        return turned
    start = max((i + 1 for i, tag in enumerate(turned) if tag.slot in _KEPT_APART and _follows(turned, i)), default=0)
    end = next((i for i in range(start, len(turned)) if turned[i].slot not in _OF_FEET), len(turned))
    return [*turned[:start], *_turned(turned[start:end]), *turned[end:]]


def _follows(tags: Sequence[Tag], index: int) -> bool:
    return index + 1 < len(tags) and tags[index + 1].slot in _OF_FEET


def _marked_first(tags: Sequence[Tag]) -> list[Tag]:
    """Takes the places and measures inside each bracket with {order=after} to its front, and the mark away."""
    found: list[Tag] = []
    for tag in tags:
        if tag.slot != "order":
            found.append(tag)
            continue
        begin = next((i for i, one in enumerate(found) if one.start >= tag.start), len(found))
        inside = found[begin:]
        first = [one for one in inside if one.slot in ("place", "measure")]
        found[begin:] = [*first, *(one for one in inside if one not in first)]
    return found


def _turned(tags: Sequence[Tag]) -> list[Tag]:
    """Findings and places of feet, each group after its place.

    A run that begins with a finding or action belongs to the place after it, if every place has something before it
    and nothing comes after the last; or if findings come first and only actions after the one place. Otherwise what
    comes first belongs to the place that is open.
    """
    groups = _groups(tags)
    if len(groups) < 2 or groups[0][0].slot in _PLACES or not _has_item(groups[0]):
        return list(tags)
    work, places = groups[0::2], groups[1::2]
    if not any(tag.slot == "place" for group in places for tag in group):
        return list(tags)
    if len(work) == len(places):
        return [tag for pair in zip(places, work, strict=True) for group in pair for tag in group]
    is_seen = not any(tag.slot in ("action", "either") for tag in work[0])
    is_done = len(work) == 2 and not any(tag.slot == "finding" for tag in work[1])
    return [*places[0], *work[0], *work[1]] if is_seen and is_done else list(tags)


def _groups(tags: Sequence[Tag]) -> list[list[Tag]]:
    """Runs of places and runs of findings and actions, by turns."""
    groups: list[list[Tag]] = []
    for tag in tags:
        if groups and (groups[-1][0].slot in _PLACES) == (tag.slot in _PLACES):
            groups[-1].append(tag)
        else:
            groups.append([tag])
    return groups


def _has_item(tags: Sequence[Tag]) -> bool:
    return any(tag.slot in _ITEMS for tag in tags)

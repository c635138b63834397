"""Pieces of a typed remark that may mean something else than by themselves, since words beside them have no meaning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from assistant.grammar import Piece
from assistant.meaning.typed_words import NUMBER_WORDS

_ADJECTIVES = frozenset(
    (
        *("good", "fine", "clean", "okay", "normal", "sound", "long", "hollow", "raw", "red", "sore", "wet", "damp"),
        *("rotten", "hot", "hard", "soft", "uneven", "thin", "fat", "poor", "split", "cracked", "blind", "double"),
    )
)
"""Before a word without a meaning they say something of that: "a good chunk", "a long dry spell"."""

_MOST_WORDS = 2
"""Of a piece that is only an adjective, perhaps with a small word before it: "is good"."""

_ANSWERS = frozenset(("yes", "no"))
_TAKING_BACK = frozenset(("correct", "scratch"))
"""Orders after which something else is said."""


def clear_pieces(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces; those that are not clear beside words without a meaning count as unplaced.

    Such are orders that do not come last ("done breeding from her", "the next time"), answers, animals that are only
    "one" or "three", what an adjective says of a strange word, and births without a number.
    """
    if all(piece.placed for piece in pieces):
        return list(pieces)
    afters = [after for _, after in pairwise([*pieces, None])]
    return [
        replace(piece, tags=(), placed=False) if _is_doubtful(piece, after) else piece
        for piece, after in zip(pieces, afters, strict=True)
    ]


def _is_doubtful(piece: Piece, after: Piece | None) -> bool:
    slots = {tag.slot: tag.value for tag in piece.tags}
    if "command" in slots:
        return slots["command"] in _ANSWERS or (after is not None and slots["command"] not in _TAKING_BACK)
    if "animal" in slots and len(piece.words) == 1:
        return piece.words[0] in NUMBER_WORDS
    if "measure" in slots:
        return "add" not in slots
    if "finding" not in slots or len(piece.words) > _MOST_WORDS:
        return False
    is_of_stranger = after is not None and (not after.placed or any(tag.slot == "finding" for tag in after.tags))
    return piece.words == ("all", "right") or (piece.words[-1] in _ADJECTIVES and is_of_stranger)

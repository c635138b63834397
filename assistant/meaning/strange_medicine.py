"""A medicine that is on no list, in a typed remark: the strange words after "treated with"."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from assistant.grammar import Piece
from assistant.meaning.belonging import is_put_on
from assistant.meaning.typed_words import NUMBER_WORDS

_NONE = frozenset(["no", "not", "nothing", "never", "neither"])


def strange_medicine(pieces: Sequence[Piece], words: Sequence[str]) -> tuple[int, int]:
    """Where strange words stand that name a medicine: the first of them, and the one after the last; else the same."""
    treated = next((n for n, one in enumerate(pieces) if _is_treated(one)), None)
    after = [] if treated is None else list(pieces[treated + 1 :])
    if not after or after[0].words[0] != "with":
        return 0, 0
    start = after[0].start
    while after and after[0].placed and not after[0].tags:
        start = after.pop(0).end
    put_on = next((at for at in range(start + 1, min(start + 3, len(words))) if is_put_on(words[at])), None)
    if put_on is not None and not any(_is_elsewhere(one) for one in after if start <= one.start < put_on):
        return start, put_on + 1
    strange = itertools.takewhile(lambda one: not one.placed and one.words[0] not in NUMBER_WORDS | _NONE, after)
    return start, max((one.end for one in strange), default=start)


def _is_treated(piece: Piece) -> bool:
    """Whether the last that it says is that something was treated, with nothing named."""
    last = piece.tags[-1] if piece.tags else None
    return last is not None and (last.slot, last.value, last.end) == ("action", "treated", piece.end)


def _is_elsewhere(piece: Piece) -> bool:
    return any(tag.slot in ("place", "animal") for tag in piece.tags)


def is_strange_medicine(piece: Piece) -> bool:
    """Whether a piece is such a name; one of the list stands in a piece together with what was done."""
    return [tag.slot for tag in piece.tags] == ["medicine"]

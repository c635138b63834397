"""Text that a listener wrote down freely, to the words of a remark: its slips are of sound, not of the keyboard."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from assistant.grammar import Grammar
from assistant.meaning.typed import whole_words
from assistant.meaning.typed_words import words_of
from assistant.values import RECORDABLE, ActionPart, AnimalPart, FindingPart, Part, recordable

_SOUND = "sound"
_SIDES = frozenset(["left", "right", "near", "off", "both"])
_FEET = {
    "fore": ("for", "four", "floor", "ford", "far", "fog"),
    "fores": ("fours", "falls", "force", "floors"),
    "hind": ("hand", "hine", "hein", "kind", "high", "hide", "behind", "line", "pine"),
    "hinds": ("hands", "hines", "kinds", "heinz", "hides", "lines"),
}
_FOOT_OF = {written: foot for foot, others in _FEET.items() for written in others}
"""Words that such text has for a foot. It knows little of feet, and "right for" is no English."""

_PLACE = rf"(?:(?:the|her|his) )?(?:{'|'.join(sorted(_SIDES))})"
_THREE_JOINED = re.compile(rf"\band {_PLACE} \w+ and {_PLACE}\b")
"""What is said belongs to some of them: "I trimmed the near hind and the off hind and both fores are fine"."""


def is_clear(parts: Sequence[Part]) -> bool:
    """Whether the meaning of such a text is all for the record and at one with itself.

    Typed words are looked at before they are sent off, and an order of the grammar is heard as such. Here a place that
    is only named, a fact without a place beside one that has it, and a place that is sound and is not, are mostly words
    that mean something else: "pared them right back", "took the edges off the right fore and left it at that".
    """
    facts = [part for part in parts if isinstance(part, FindingPart | ActionPart)]
    if not recordable(parts) or not all(isinstance(part, (*RECORDABLE, AnimalPart)) for part in parts):
        return False
    if len({part.place is None for part in facts}) > 1:
        return False
    found = [(part.place, part.finding == _SOUND) for part in facts if isinstance(part, FindingPart)]
    return len(set(found)) == len({place for place, _ in found})


def remark_words(text: str, grammar: Grammar) -> str | None:
    """The words of a remark that was written down as it sounds.

    Args:
        text: any case and punctuation.
        grammar: with the rules `remark`, `written` and `phrase`.

    Returns:
        Words that `understand_words` can read, without what carries no meaning; None if some have no meaning.
    """
    words = words_of(text)
    after_side = [_FOOT_OF.get(word, word) if before in _SIDES else word for before, word in pairwise(("", *words))]
    said = " ".join(after_side)
    return None if _THREE_JOINED.search(said) else whole_words(said, grammar)

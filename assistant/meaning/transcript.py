"""Text that a listener wrote down freely, to the words of a remark: its slips are of sound, not of the keyboard."""

from __future__ import annotations

from itertools import pairwise

from assistant.grammar import Grammar
from assistant.meaning.typed import whole_words
from assistant.meaning.typed_words import words_of

_SIDES = frozenset(["left", "right", "near", "off", "both"])
_FEET = {
    "fore": ("for", "four", "floor", "ford", "far", "fog"),
    "fores": ("fours", "falls", "force", "floors"),
    "hind": ("hand", "hine", "hein", "kind", "high", "hide", "behind", "line", "pine"),
    "hinds": ("hands", "hines", "kinds", "heinz", "hides", "lines"),
}
_FOOT_OF = {written: foot for foot, others in _FEET.items() for written in others}
"""Words that such text has for a foot. It knows little of feet, and "right for" is no English."""


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
    return whole_words(" ".join(after_side), grammar)

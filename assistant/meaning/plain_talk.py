"""Typed talk to plain words: hesitations, false starts, repeats, joined words and what is taken back at once."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.grammar import Grammar, Tag
from assistant.meaning.typed_words import ASKING, DENYING, NUMBER_WORDS
from assistant.values import CommandPart, Part

_HESITATIONS = frozenset(["er", "erm", "um", "umm", "uh", "uhm", "eh", "hm", "hmm", "mm", "och", "ach", "ah"])
_AGREEING = frozenset(["yeah", "yep", "yes", "aye"])
_REFUSING = frozenset(["no", "nope", "not"])

_TAKING_BACK = tuple(
    tuple(phrase.split())
    for phrase in (
        "no sorry i mean",
        "no wait i mean",
        "sorry i mean",
        "no i mean",
        "no wait",
        "no sorry",
        "no hang on",
        "wait no",
        "sorry no",
        "or rather",
        "i mean",
        "no it's",
        "no make that",
        "no actually",
        "sorry",
        "no",
    )
)
"""Words between what was said first and what is meant instead; longer ones first.

"No" alone puts one place for another, but "hollow, no crack" says that there is no crack.
"""

_REPLACED = ("place", "part", "finding")
"""Slots of which another value may be said instead, at once."""

_SMALL_WORDS = 2
"""Small words that may stand before what is meant instead: "no wait, on the left hind"."""

_HALF_A_PLACE = frozenset(["left", "right", "near", "off", "front", "fore", "hind", "back", "both", "inner", "outer"])
_MOST_REPEATED = 4
"""Words of a phrase that may be said twice."""

_NOT_SPLIT = DENYING | {"vet's"}
"""Words with 's that are more than the word without it: what the vet has done is no call for the vet."""

_OPENING = frozenset(["so", "well", "but", "and", "now", "okay", "then"])
_ASKED_ABOUT = frozenset(
    [
        "she",
        "he",
        "it",
        "they",
        "you",
        "we",
        "i",
        "the",
        "her",
        "his",
        "this",
        "that",
        "these",
        "those",
        "there",
        "any",
        "anyone",
        "anybody",
        "anything",
    ]
)

_KIN = frozenset(
    [
        "kid",
        "kids",
        "lamb",
        "lambs",
        "daughter",
        "daughters",
        "son",
        "sons",
        "mother",
        "mum",
        "dam",
        "sire",
        "twin",
        "twins",
        "sister",
        "brother",
        "young",
    ]
)
"""After an animal's name with 's these are someone else."""


def plain_words(words: Sequence[str], grammar: Grammar) -> tuple[str, ...]:
    """The words without what carries no meaning; but for repeats as they are if they are a sentence already.

    Args:
        words: lower case, as the grammar has them.
        grammar: with the rules `remark`, `written`, `phrase` and `animal_name`.
    """
    words = _once(words, grammar)
    if grammar.readings(words, "written") or grammar.readings(words, "remark"):
        return tuple(words)
    said = _asked(_unhesitating(words))
    known = grammar.words("phrase")
    return tuple(_without_taken_back(_once(_started(_split(said, known, grammar), known), grammar), grammar))


def without_idle_orders(parts: Sequence[Part], words: Sequence[str]) -> tuple[Part, ...]:
    """The parts without "hang on" before what is seen or done, and without "right" that only begins something else.

    Who goes on does not want to be left alone, and has not answered a question with "right, next one".
    """
    if len(parts) > 1 and parts[0] == CommandPart("yes") and words[0] == "right":
        parts = parts[1:]
    last = max((at for at, part in enumerate(parts) if not isinstance(part, CommandPart)), default=0)
    return tuple(part for at, part in enumerate(parts) if at >= last or part != CommandPart("pause"))


def _unhesitating(words: Sequence[str]) -> list[str]:
    """The words without hesitations, and without a "yeah" that answers nothing since it comes after something else."""
    is_answer = bool(_REFUSING.intersection(words))
    idle = _HESITATIONS if is_answer else _HESITATIONS | _AGREEING
    said = [word for at, word in enumerate(words) if word not in (idle if at else _HESITATIONS)]
    around = zip(["", *said], said, [*said[1:], ""], strict=False)
    # Beside a number "oh" is a nought.
    return [word for before, word, after in around if word != "oh" or {before, after} & NUMBER_WORDS]


def _asked(words: Sequence[str]) -> list[str]:
    """The words of "so is she lame" without what opens the question, so that it is known as one.

    "Okay" before "so" is none of what is seen.
    """
    while len(words) > 1 and words[0] in _OPENING and words[1] in _OPENING:
        words = words[1:]
    start = next((at for at, word in enumerate(words) if word not in _OPENING), 0)
    is_question = words[start : start + 1] and words[start] in ASKING and {*words[start + 1 : start + 2]} & _ASKED_ABOUT
    return list(words[start:] if is_question else words)


def _split(words: Sequence[str], known: frozenset[str], grammar: Grammar) -> list[str]:
    """The words with "hind's" as "hind is", and with "Bramble's" at the beginning as "Bramble".

    An animal's name further on is somebody to compare with, and what is Bramble's daughter's is not Bramble's: there
    the word stays as it is.
    """
    names = grammar.words("animal_name")
    said: list[str] = []
    for word, after in zip(words, [*words[1:], ""], strict=False):
        base = word.removesuffix("'s")
        if base == word or word in known or base not in known or word in _NOT_SPLIT:
            said.append(word)
        elif base not in names:
            said += [base, "has" if after in ("got", "been", "had") else "is"]
        elif not said and after in known and after not in _KIN:
            said.append(base)
        else:
            said.append(word)
    return said


def _started(words: Sequence[str], known: frozenset[str]) -> list[str]:
    """The words without a false start: "abs abscess"."""
    return [
        word
        for word, after in zip(words, [*words[1:], ""], strict=False)
        if word in known or len(word) < 2 or word == after or after not in known or not after.startswith(word)
    ]


def _once(words: Sequence[str], grammar: Grammar) -> list[str]:
    """The words with what is said twice in a row said once. Numbers and orders count each time."""
    said: list[str] = []
    for word in words:
        said.append(word)
        for length in range(min(_MOST_REPEATED, len(said) // 2), 0, -1):
            last = said[-length:]
            if last == said[-2 * length : -length] and not NUMBER_WORDS.issuperset(last) and not _orders(last, grammar):
                del said[-length:]
                break
    return said


def _orders(words: Sequence[str], grammar: Grammar) -> bool:
    return any(tag.slot == "command" for reading in grammar.readings(words, "written") for tag in reading.tags)


# --------------------------------------------------------------------------------------------------------- taken back


def _without_taken_back(words: Sequence[str], grammar: Grammar) -> list[str]:
    """The words without what is taken back at once: of "left fore, no wait, left hind" only the left hind.

    Only where the same kind of thing is said in its stead. Anything else stays, and is asked about.
    """
    said = list(words)
    at = 1
    while at < len(said):
        length = next((len(one) for one in _TAKING_BACK if tuple(said[at : at + len(one)]) == one), 0)
        is_plain_no = said[at : at + length] == ["no"]
        begin = _replaced_from(said[:at], said[at + length :], grammar, is_plain_no=is_plain_no) if length else None
        if begin is None:
            at += length or 1
        else:
            del said[begin : at + length]
            at = max(begin, 1)
    return said


def _replaced_from(before: Sequence[str], after: Sequence[str], grammar: Grammar, *, is_plain_no: bool) -> int | None:
    """Where what is taken back begins, which reaches to the end of `before`; None if it is not clear what that is."""
    if after and _is_number(before[-2:]) and after[0] in NUMBER_WORDS:
        return len(before) - 1
    instead = next(iter(_told(after, grammar)), None)
    if instead is None or instead.slot not in _REPLACED or instead.start > _SMALL_WORDS:
        return None
    told = _told(before, grammar)
    last = told[-1] if told else None
    if instead.slot == "place" and before[-1] in _HALF_A_PLACE and (last is None or last.end < len(before)):
        return len(before) - 1
    if last is None or last.end < len(before) or last.slot != instead.slot or (is_plain_no and last.slot == "finding"):
        return None
    # What else may be taken back with it is not known: the grade, or the other one of two places.
    is_more = len(told) > 1 and told[-2].slot in ("grade", "and") and told[-2].end >= last.start - _SMALL_WORDS
    return None if is_more else last.start


def _is_number(words: Sequence[str]) -> bool:
    """Whether the last of the words is a number, of one word: what of a longer one is taken back is not known."""
    return words[-1] in NUMBER_WORDS and not NUMBER_WORDS.issuperset(words)


def _told(words: Sequence[str], grammar: Grammar) -> list[Tag]:
    """The tags of the words as they stand, but for orders that were read into a half place ("right")."""
    tags = (tag for piece in grammar.cover(words) for tag in piece.tags)
    kept = [tag for tag in tags if tag.slot not in ("order", "command")]
    return sorted(kept, key=lambda tag: (tag.start, tag.end))

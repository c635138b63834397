"""Spoken numbers as digits, and digits that sound alike."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import islice, product

ANY = "?"
"""Stands for one digit that was not caught: "four one something" is 41?."""

MOST_READINGS = 8
"""More ways to take one number are not followed."""

MOST_WORDS = 40
"""A longer row of words is no number: the longest, an electronic code, has 15 digits."""

_DIGITS = {
    word: str(value)
    for value, word in enumerate(["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"])
}
_DIGITS |= dict.fromkeys(("oh", "o", "nought", "naught", "nil"), "0")
_TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
_TEEN = {word: str(value) for value, word in enumerate(_TEENS.split(), start=10)}
_TENS = {
    word: str(value * 10)
    for value, word in enumerate(
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], start=2
    )
}
_REPEATS = {"double": 2, "treble": 3, "triple": 3}
_UNCAUGHT = frozenset(("something", "somewhat", "blank"))
_SCALES = {"hundred": 2, "thousand": 3}


def digits_from_words(words: Sequence[str]) -> tuple[str, ...]:
    """The digit strings that spoken words may stand for, the likeliest first.

    Digits one by one, pairs, hundreds, "double four", "oh", and digits already written are taken in any mixture; words
    that belong together in ordinary counting are joined first, so "four twenty one" is 421 before it is 4201.

    Args:
        words: lower or upper case; hyphens and commas inside a word are allowed.

    Returns:
        Each string once, made of 0–9 and `ANY`; empty if some word is not part of a number, or there are more than
        `MOST_WORDS`.
    """
    parts = [part for word in words for part in re.split(r"[-,\s]+", word.lower()) if part]
    if not 0 < len(parts) <= MOST_WORDS:
        return ()
    # From the last word back, so that many ways to take the first words are not each followed to the same dead end.
    rests: list[list[str]] = [*([] for _ in parts), [""]]
    for start in reversed(range(len(parts))):
        found = (digits + rest for digits, end in _pieces(parts, start) for rest in rests[end])
        rests[start] = list(islice(found, 4 * MOST_READINGS))
    return tuple(dict.fromkeys(rests[0]))[:MOST_READINGS]


def _pieces(parts: Sequence[str], start: int) -> Iterator[tuple[str, int]]:
    """What the words from `start` on can begin with, and where it ends: the longest first."""
    word = parts[start]
    if re.fullmatch(r"[0-9?]+", word):
        yield word, start + 1
    elif word in _UNCAUGHT:
        yield ANY, start + 1
    elif word in _REPEATS and parts[start + 1 : start + 2] and parts[start + 1] in _DIGITS:
        yield _DIGITS[parts[start + 1]] * _REPEATS[word], start + 2
    else:
        counted = [*_scaled(parts, start), *_below_hundred(parts, start)]
        yield from sorted(counted, key=lambda piece: -piece[1])


def _below_hundred(parts: Sequence[str], start: int) -> Iterator[tuple[str, int]]:
    word = parts[start] if start < len(parts) else ""
    if word in _TENS:
        unit = _DIGITS.get(parts[start + 1]) if start + 1 < len(parts) else None
        if unit and unit != "0":
            yield _TENS[word][0] + unit, start + 2
        yield _TENS[word], start + 1
    elif word in _TEEN:
        yield _TEEN[word], start + 1
    elif word in _DIGITS:
        yield _DIGITS[word], start + 1


def _scaled(parts: Sequence[str], start: int) -> Iterator[tuple[str, int]]:
    """Numbers with "thousand" or "hundred", such as "twelve hundred" and "four thousand and seventeen"."""
    heads = [("1", start + 1)] if parts[start] == "a" else list(_below_hundred(parts, start))
    for count, end in heads:
        scale = _SCALES.get(parts[end]) if end < len(parts) else None
        if scale is None or count.startswith("0"):
            continue
        if scale == 2:  # "four hundred and seventeen thousand"
            for hundreds, after in _with_rest(parts, count, 2, end + 1):
                if after < len(parts) and parts[after] == "thousand":
                    yield from _with_rest(parts, hundreds, 3, after + 1)
        yield from _with_rest(parts, count, scale, end + 1)


def _with_rest(parts: Sequence[str], count: str, zeros: int, end: int) -> Iterator[tuple[str, int]]:
    """`count` times its power of ten, with the smaller number after it if one follows."""
    after = end + 1 if end < len(parts) and parts[end] == "and" else end
    rests = list(_below_hundred(parts, after))
    if zeros == 3 and after < len(parts):
        rests = [rest for rest in _scaled(parts, after) if len(rest[0]) <= 3] + rests
    for rest, stop in rests:
        if not rest.startswith("0"):
            yield count + rest.zfill(zeros), stop
    yield count + "0" * zeros, end


def filled(pattern: str) -> tuple[str, ...]:
    """All digit strings that a pattern with at most two uncaught digits stands for; more stand for nothing."""
    gaps = pattern.count(ANY)
    if gaps > 2:
        return ()
    pieces = pattern.split(ANY)
    tails = (zip(choice, pieces[1:], strict=True) for choice in product("0123456789", repeat=gaps))
    return tuple(pieces[0] + "".join(digit + piece for digit, piece in tail) for tail in tails)


def alike_digits(digits: str) -> tuple[str, ...]:
    """Digit strings that are easily heard for `digits`: fifteen for fifty and the like, five for nine.

    Source:
        Five and nine are the digits that radio procedure says in another way to keep them apart (ICAO Annex 10,
        volume II, radiotelephony); -teen and -ty differ by one final nasal.
    """
    found = []
    for at in range(len(digits)):
        pair, rest = digits[at : at + 2], digits[at + 2 :]
        if len(pair) == 2 and pair[0] == "1" and pair[1] in "3456789":
            found.append(f"{digits[:at]}{pair[1]}0{rest}")
        if len(pair) == 2 and pair[1] == "0" and pair[0] in "3456789":
            found.append(f"{digits[:at]}1{pair[0]}{rest}")
        if digits[at] in "59":
            found.append(f"{digits[:at]}{'9' if digits[at] == '5' else '5'}{digits[at + 1 :]}")
    return tuple(dict.fromkeys(found))

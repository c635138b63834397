"""How animals are called aloud: their names and numbers as alternatives of the grammar."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import product

from assistant.grammar import Fill
from assistant.values import Animal

_UNITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_NOUGHTS = ("oh", "zero", "nought")
_TIMES = {2: "double", 3: "treble"}
_SHORTENED = 0.2
"""How likely the last digits of a number are beside the whole of it: short, and so easily heard in other talk."""


def spoken_numbers(number: str) -> tuple[str, ...]:
    """Every way to say a management number, each once: digits, pairs, hundreds.

    Leading zeros count: "041" is never said "forty one" alone. No two numbers have a way to say them in common.

    Args:
        number: digits; anything else in it (spaces, dashes) is left out.
    """
    digits = "".join(ch for ch in number if ch in "0123456789")
    if not digits:
        return ()
    ways = [*_digit_ways(digits), *_split_ways(digits), *_cardinals(digits)]
    return tuple(dict.fromkeys(ways))


def _digit_ways(digits: str) -> Iterator[str]:
    """One by one, with one word for all noughts, and with "double" or "treble" where a digit is repeated."""
    for nought in _NOUGHTS if "0" in digits else _NOUGHTS[:1]:
        names = [nought, *_UNITS[1:]]
        yield " ".join(names[int(digit)] for digit in digits)
        runs = [(run[0][0], len(run[0])) for run in re.finditer(r"(\d)\1*", digits)]
        if any(length in _TIMES for _, length in runs):
            yield " ".join(_run(names[int(digit)], length) for digit, length in runs)


def _run(name: str, length: int) -> str:
    return f"{_TIMES[length]} {name}" if length in _TIMES else " ".join([name] * length)


def _split_ways(digits: str) -> Iterator[str]:
    """In groups of one and two digits, as "four seventeen" and "forty one seven"."""
    for size in {3: (1, 2), 4: (2,)}.get(len(digits), ()):
        first, second = digits[:size], digits[size:]
        # "Twenty" before one digit would sound like a number of two digits.
        if not (first[-1] == "0" and len(second) == 1):
            yield from (f"{head} {tail}" for head, tail in product(_group_ways(first), _group_ways(second)))


def _group_ways(digits: str) -> list[str]:
    """One or two digits of a longer number."""
    if digits[0] != "0":
        return [_pair(digits)]
    return [" ".join(nought if digit == "0" else _UNITS[int(digit)] for digit in digits) for nought in _NOUGHTS]


def _pair(digits: str) -> str:
    """One or two digits without a leading zero, as one number."""
    value = int(digits)
    if value < 10:
        return _UNITS[value]
    if value < 20:
        return _TEENS[value - 10]
    tens, unit = _TENS[value // 10 - 2], value % 10
    return f"{tens} {_UNITS[unit]}" if unit else tens


def _cardinals(digits: str) -> Iterator[str]:
    """As one number, with and without "and"; only without leading zeros and below ten thousand."""
    if digits[0] == "0" or len(digits) > 4:
        return
    thousands, hundreds, rest = int(digits) // 1000, int(digits) // 100 % 10, int(digits) % 100
    head = [f"{_UNITS[thousands]} thousand"] if thousands else []
    head += [f"{_UNITS[hundreds]} hundred"] if hundreds else []
    tail = _pair(str(rest)) if rest else ""
    for joint in (" and ", " ") if head and tail else ("",):
        yield " ".join(head) + joint + tail


def plain_letters(text: str) -> str:
    """The text in small letters, an accent and its letter as one character, the digits of any script as 0 to 9."""
    composed = unicodedata.normalize("NFC", text.casefold())
    return composed if composed.isascii() else "".join(str(unicodedata.decimal(one, one)) for one in composed)


def spoken_name(name: str) -> str:
    """A name as words of the grammar: lower case, digits spelled, no punctuation but apostrophes inside words."""
    words = re.findall(r"\d+|[^\W\d_]+(?:['’][^\W\d_]+)*", plain_letters(name))
    return " ".join(spoken_numbers(word)[0] if word[0].isdecimal() else word.replace("’", "'") for word in words)


def animal_fills(
    animals: Sequence[Animal],
    medicines: Sequence[str] = (),
    in_session: Collection[str] = (),
    session_weight: float = 4.0,
) -> Mapping[str, Sequence[Fill]]:
    """The alternatives of `<animal_name>`, `<animal_number>` and `<medicine>`.

    A name or number gives the tag "animal" with the name or number as the register has it; the last digits of a number,
    two or more, give the digits. Which animal is meant is for the register to say, so each way to say something comes
    once, however many animals it may stand for.

    Args:
        animals: the register.
        medicines: names of the holding's medicines.
        in_session: ids of the animals that are planned or were seen; they are likelier.
        session_weight: how much likelier, above 0.
    """
    names: dict[str, Fill] = {}
    numbers: dict[str, Fill] = {}
    for animal in animals:
        weight = session_weight if animal.id in in_session else 1.0
        for name in filter(None, (animal.name, *animal.nicknames)):
            _add(names, spoken_name(name), ("animal", name), weight)
        for rank, said in enumerate(_said_of(animal.number)):
            for words in spoken_numbers(said):
                _add(numbers, words, ("animal", said), weight if rank == 0 else _SHORTENED * weight)
    for name in _shared_names(animals):
        for age in ("old", "young"):
            for article in ("", "the "):
                _add(names, f"{article}{age} {spoken_name(name)}", ("animal", f"{age} {name}"), 1.0)
    known: dict[str, Fill] = {}
    for medicine in medicines:
        _add(known, spoken_name(medicine), ("medicine", medicine), 1.0)
    return {
        "animal_name": tuple(names.values()),
        "animal_number": tuple(numbers.values()),
        "medicine": tuple(known.values()),
    }


def _shared_names(animals: Sequence[Animal]) -> list[str]:
    """Names that several animals have, as the first of them spells it: then "the old Tansy" says which one."""
    counts = Counter(spoken_name(animal.name) for animal in animals if animal.name)
    first = {spoken_name(animal.name): animal.name for animal in reversed(animals)}
    return [name for said, name in first.items() if counts[said] > 1]


def _said_of(number: str) -> list[str]:
    """The number and its last digits, two or more."""
    digits = "".join(ch for ch in number if ch in "0123456789")
    return (
        [number if digits == number else digits, *(digits[-n:] for n in range(2, min(len(digits), 5)))]
        if digits
        else []
    )


def _add(fills: dict[str, Fill], words: str, tag: tuple[str, str], weight: float) -> None:
    if not words:
        return
    old = fills.get(words)
    fills[words] = Fill(words, old.tags if old else (tag,), max(weight, old.weight if old else 0.0))

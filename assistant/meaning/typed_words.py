"""Typed text to words of the grammar: case, punctuation, abbreviations, digits."""

from __future__ import annotations

import re

from assistant.meaning.fills import plain_letters, spoken_numbers

ABBREVIATIONS = {
    "lf": "left fore",
    "rf": "right fore",
    "lh": "left hind",
    "rh": "right hind",
    "bcs": "condition",
    "kg": "kilos",
    "kgs": "kilos",
    "wks": "weeks",
    "wk": "week",
    "ok": "okay",
    "nr": "number",
    "&": "and",
    "underrun": "under run",
    "footrot": "foot rot",
    "footbath": "foot bath",
    "footbathed": "foot bathed",
    "nearside": "near side",
    "offside": "off side",
    "hindfoot": "hind foot",
    "forefoot": "fore foot",
    "recheck": "check again",
    "alright": "all right",
    "d'you": "do you",
}
_TOKEN = re.compile(r"\d+(?:[.,]\d+)?|[^\W\d_]+(?:'[^\W\d_]+)*|&|½")
_COUNTED = frozenset(
    ("day", "days", "d", "week", "weeks", "wk", "wks", "month", "months", "kg", "kgs", "kilos", "kilo", "degrees")
)
_MEASURED = frozenset(
    ("condition", "score", "bcs", "lame", "lameness", "gait", "locomotion", "weight", "weighs", "weighed")
)
_MEASURED |= {"temperature", "temp", "is", "at", "of"}

DIGITS = {
    word: str(digit)
    for digit, word in enumerate(["oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"])
}
NUMBER_WORDS = frozenset(DIGITS) | frozenset(
    [
        "zero",
        "nought",
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
        "twenty",
        "thirty",
        "forty",
        "fifty",
        "sixty",
        "seventy",
        "eighty",
        "ninety",
        "hundred",
        "thousand",
        "double",
        "treble",
        "half",
        "point",
    ]
)

ASKING = frozenset(
    [
        "what",
        "when",
        "who",
        "whose",
        "how",
        "did",
        "does",
        "do",
        "which",
        "where",
        "has",
        "have",
        "is",
        "was",
        "are",
        "were",
        "can",
        "should",
        "why",
        "until",
    ]
)
"""Words that a question begins with."""

DENYING = frozenset(
    [
        "no",
        "not",
        "never",
        "neither",
        "none",
        "nothing",
        "nothing's",
        "without",
        "isn't",
        "wasn't",
        "aren't",
        "don't",
        "didn't",
        "doesn't",
        "hasn't",
        "haven't",
        "needs",
        "needed",
        "need",
        "should",
        "will",
        "must",
        "if",
        "maybe",
        "perhaps",
        "almost",
        "nearly",
        "might",
        "may",
        "could",
        "cannot",
        "can't",
        "won't",
        "hardly",
        "wants",
        "want",
        "to",
        "i'll",
        "let's",
        "i'd",
        "we'll",
        "we'd",
        "would",
        "wouldn't",
        "shouldn't",
        "couldn't",
        "weren't",
        "better",
    ]
)
"""Words that turn what follows into something that was not seen or done."""

EXCEPTING = frozenset(["except", "excepting", "apart", "bar", "besides"])


def words_of(text: str) -> tuple[str, ...]:
    """The words of a typed remark, as the grammar has them.

    A number that is counted or measured becomes its words; any other is taken for an animal's and spelled digit by
    digit, so that leading zeros count.
    """
    tokens = _TOKEN.findall(_plain(text))
    words: list[str] = []
    for index, token in enumerate(tokens):
        if token[0].isdecimal():
            before = tokens[index - 1] if index else ""
            after = tokens[index + 1] if index + 1 < len(tokens) else ""
            is_amount = before in _MEASURED or after in _COUNTED or "." in token or after == "½"
            words += (_amount(token) if is_amount else spoken_numbers(token)[0]).split()
        elif token == "½":
            words += ["and", "a", "half"] if index and tokens[index - 1][0].isdecimal() else ["a", "half"]
        else:
            words += ABBREVIATIONS.get(token, token).split()
    return tuple(words)


def _plain(text: str) -> str:
    text = plain_letters(text).replace("’", "'").replace("`", "'")
    text = re.sub(r"(\d),(\d)", r"\1.\2", text)
    text = re.sub(r"(\d)\s*/\s*5\b", r"\1", text)
    # Dashes join words that the grammar has apart: "re-check" is one word, "under-run" two.
    text = re.sub(r"\bre-(?=\w)", "re", text)
    text = re.sub(r"[-–—/]", " ", text)
    return re.sub(r"\b(?:in )?between (?:(?:the|her|his|two) )*(claws|toes)\b", r"between the \1", text)


def _amount(token: str) -> str:
    """A number in words; one of more digits than are ever counted stays as it is, so that it is nobody's number."""
    whole, _, tenths = token.partition(".")
    if len(whole.lstrip("0")) > 4:
        return token
    said = spoken_numbers(whole.lstrip("0") or "0")[-1] if whole.strip("0") else "zero"
    tenths = tenths.rstrip("0")
    return f"{said} point {' '.join(spoken_numbers(digit)[0] for digit in tenths)}" if tenths else said

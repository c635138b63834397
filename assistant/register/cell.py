"""Cells of a table of animals: text kept safe from spreadsheets, dates, sexes, lists.

Every reader raises ValueError with a sentence if a cell cannot be read.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from datetime import date

from assistant.values import Sex, Species, Tag

UNFIT = re.compile("[\x00-\x08\x0e-\x1f\ud800-\udfff]")
"""Control characters have no place in a table; halves of a surrogate pair are in no encoding."""

_BREAKING = re.compile("[\x09-\x0d\x7f-\x9f\u2028\u2029]")
"""Tabulator, line breaks (Unicode Standard Annex 14: classes BK, CR, LF, NL), and the second set of control signs."""

_BEGINS_FORMULA = tuple("=+-@\t\r")
_FORMULA = re.compile(r"=|[+@-][A-Za-z_.]+\(")


def guarded(text: str) -> str:
    """A cell that a spreadsheet takes for text: with an apostrophe before it where it might be taken for a formula.

    Text with blanks at an end, or an apostrophe at its start, is marked in the same way, so that `plain_text` gives
    back every character.

    Source:
        The signs are those of the OWASP page on CSV injection.
    """
    is_risky = text.startswith((*_BEGINS_FORMULA, "'")) or text != text.strip()
    return f"'{text}" if is_risky else text


def plain_text(cell: str) -> str:
    """The text of a cell: the inverse of `guarded`; other cells lose blanks at both ends.

    Raises:
        ValueError: the cell is a formula, of which the value is not known.
    """
    kept = cell[1:]
    if cell.startswith("'") and kept and (guarded(kept) != kept):
        return kept
    text = cell.strip()
    if _FORMULA.match(text):
        raise ValueError(f"{text[:30]!r} is a formula. Save the table with values in place of formulas.")
    return text


def refuse_unfit(text: str, *, may_have_lines: bool = False) -> None:
    """Refuses a text that cannot be shown on one line; or, if it may have several, on those.

    Raises:
        ValueError: it has a line break, or another control character.
    """
    wrong = UNFIT.search(text) or (None if may_have_lines else _BREAKING.search(text))
    if wrong and wrong.group() in "\n\r\v\f\x85\u2028\u2029":
        raise ValueError(f"{text[:30]!r} has a line break in it. Write it on one line.")
    if wrong:
        raise ValueError(f"{text[:30]!r} has a character with the code {ord(wrong.group())} in it. Remove it.")


# ------------------------------------------------------------------------------------------------------------ dates

_MONTHS = "jan feb mar apr may jun jul aug sep oct nov dec"
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_DAY_FIRST = re.compile(r"(\d{1,2})[-/. ](\d{1,2}|[A-Za-z]{3,9})\.?[-/. ](\d{4}|\d{2})")
_MIDNIGHT = re.compile(r"[T ]0?0:00(:00(\.0+)?)?Z?$")


def day(text: str) -> tuple[date, bool]:
    """A date, and whether it was written day first.

    Years of two digits are 2000 to 2068 and 1969 to 1999, as POSIX has them.

    Raises:
        ValueError: no such day, or another way to write a date.
    """
    bare = _MIDNIGHT.sub("", text.strip())
    if form := _ISO.fullmatch(bare):
        year, month, number = form.groups()
        return _existing(int(year), int(month), int(number), text), False
    if form := _DAY_FIRST.fullmatch(bare):
        number, month, year = form.groups()
        full_year = int(year) if len(year) == 4 else int(year) + (2000 if int(year) < 69 else 1900)
        return _existing(full_year, _month(month, text), int(number), text), True
    raise ValueError(f"{text!r} is not a date. Write it as 2024-03-31 or 31/03/2024.")


def _month(text: str, whole: str) -> int:
    if text.isdigit():
        return int(text)
    months = _MONTHS.split()
    if text[:3].lower() not in months:
        raise ValueError(f"{whole!r} is not a date: there is no month {text!r}.")
    return months.index(text[:3].lower()) + 1


def _existing(year: int, month: int, number: int, text: str) -> date:
    try:
        return date(year, month, number)
    except ValueError as error:
        is_month_first = month > 12 and not _ISO.match(text.strip())
        hint = " Dates are read day first." if is_month_first else ""
        raise ValueError(f"{text!r}: there is no such day.{hint}") from error


# ------------------------------------------------------------------------------------------------------ closed sets

_SEXES: Mapping[Sex, str] = {
    Sex.FEMALE: "female f doe ewe nanny goatling gimmer hogg-ewe doeling she girl",
    Sex.MALE: "male m buck billy ram tup buckling he boy entire",
    Sex.CASTRATED: "castrated c w wether wedder castrate neutered",
    Sex.UNKNOWN: "unknown u ? -",
}
_SEX = {word: sex for sex, words in _SEXES.items() for word in words.split()}
_SPECIES_WORDS: Mapping[Species, str] = {
    Species.GOAT: "goat goats caprine doe nanny goatling doeling buck billy buckling",
    Species.SHEEP: "sheep ovine ewe gimmer hogg-ewe ram tup",
}
_SPECIES = {word: species for species, words in _SPECIES_WORDS.items() for word in words.split()}
_TRUTH = {
    "yes": True,
    "y": True,
    "true": True,
    "1": True,
    "x": True,
    "no": False,
    "n": False,
    "false": False,
    "0": False,
}


def sex(text: str) -> Sex:
    """The sex that a word stands for.

    Raises:
        ValueError: the word is not known.
    """
    found = _SEX.get(text.casefold())
    if found is None:
        raise ValueError(f"{text!r} is no sex that is known. Write female, male, castrated or unknown.")
    return found


def species_of_sex(text: str) -> Species | None:
    """The species that a word for a sex tells by the way: sheep for "ewe"."""
    return _SPECIES.get(text.casefold())


def species(text: str) -> Species:
    """The species that a word stands for.

    Raises:
        ValueError: the word is not known.
    """
    found = _SPECIES.get(text.casefold())
    if found is None:
        raise ValueError(f"{text!r} is no species that is known. Write goat or sheep.")
    return found


def truth(text: str) -> bool:
    """Yes or no.

    Raises:
        ValueError: neither.
    """
    found = _TRUTH.get(text.casefold())
    if found is None:
        raise ValueError(f"{text!r} is neither yes nor no.")
    return found


_IN_HERD = frozenset(
    ["in herd", "in flock", "alive", "active", "present", "here", "in kid", "in lamb", "pregnant", "dry"]
)
_IN_MILK = frozenset(["in milk", "milking", "lactating"])


def status(text: str) -> tuple[str, bool]:
    """The status that a word stands for, and whether it says by the way that the animal is in milk.

    Words that are not known are the keeper's own and stay as they are. "Yes" stands under a heading such as "alive".

    Raises:
        ValueError: it is "no", which does not say what became of the animal.
    """
    word = " ".join(text.casefold().split())
    if word in _TRUTH:
        if not _TRUTH[word]:
            raise ValueError(f"{text!r} does not say what became of the animal. Write sold, dead, or a word of yours.")
        return "in herd", False
    if word in _IN_HERD or word in _IN_MILK:
        return "in herd", word in _IN_MILK
    return word if word in ("sold", "dead") else text, False


# ------------------------------------------------------------------------------------------------------------ lists


def joined(items: Sequence[str], separator: str = ";") -> str:
    """Items as one cell; those that need it are in quotation marks, as in a table."""
    if not items:
        return ""
    out = io.StringIO()
    is_padded = any(item != item.strip() for item in items)
    csv.writer(out, delimiter=separator, quoting=csv.QUOTE_ALL if is_padded else csv.QUOTE_MINIMAL).writerow(items)
    return out.getvalue().removesuffix("\r\n")


def parted(text: str, separator: str = ";") -> tuple[str, ...]:
    """The items of a cell: the inverse of `joined`.

    Raises:
        ValueError: quotation marks do not fit.
    """
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True, strict=True)
    try:
        rows = list(reader)
    except csv.Error as error:
        raise ValueError(f"{text[:30]!r}: the quotation marks of this list do not fit.") from error
    return tuple(item for row in rows for item in row)


def tags_cell(tags: Sequence[Tag]) -> str:
    """Past tags as one cell: kind, code, first and last day of each."""
    return joined([joined([tag.kind, tag.code, _iso(tag.since), _iso(tag.until)], "|") for tag in tags])


def past_tags(text: str) -> tuple[Tag, ...]:
    """The inverse of `tags_cell`; an item without strokes is the code of an official tag.

    Raises:
        ValueError: a list or date cannot be read.
    """
    return tuple(_tag(parted(item, "|")) for item in parted(text))


def _tag(parts: Sequence[str]) -> Tag:
    if len(parts) == 1:
        return Tag("official", parts[0])
    if len(parts) != 4:
        raise ValueError(f"{'|'.join(parts)[:40]!r}: a past tag is its code, or kind|code|first day|last day.")
    kind, code, since, until = parts
    return Tag(kind, code, day(since)[0] if since else None, day(until)[0] if until else None)


def _iso(value: date | None) -> str:
    return value.isoformat() if value else ""

"""Every sentence that a session says, in one place and plain words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from assistant.values import (
    FEET,
    WHOLE_ANIMAL,
    ActionPart,
    Animal,
    FindingPart,
    FollowUpPart,
    Grade,
    MarkPart,
    MeasurePart,
    Part,
    TagPart,
    TraitPart,
)


class ReplyKind(StrEnum):
    """What a reply is: the voice and the screen give each kind its own tone."""

    HEARD = "heard"
    ASKING = "asking"
    NOT_UNDERSTOOD = "not understood"
    ANIMAL_CHANGED = "animal changed"
    TOLD = "told"


@dataclass(frozen=True)
class Reply:
    """What the keeper is told. An empty text with kind `heard` is the soft tick; `lines` are for the screen alone."""

    kind: ReplyKind
    text: str = ""
    lines: tuple[str, ...] = ()


NOT_UNDERSTOOD = "Not understood. Kept for later."
NOT_FOR_RECORD = "Nothing in that is for the record."
KEPT_FOR_LATER = "Kept for later."
NO_QUESTION = "There is no question open."
NOBODY = "Nobody is on the table."
WHICH_ANIMAL = "Which animal?"
WHICH_FOOT = "Which foot?"
WHERE = "Where?"
CORRECT_TO_WHAT = "Correct it to what?"
NOTHING_TO_SCRATCH = "There is nothing to scratch."
NOTHING_TO_CORRECT = "There is nothing to correct."
NOTHING_SAID_YET = "Nothing was said yet."
PAUSED = "Paused. Say resume to carry on."
RESUMED = "Listening again."
NOTED = "Noted."
IS_OVER = "The session is over. Kept for later."
SCRATCHED = "Scratched."
CANNOT_ANSWER = "I cannot answer that. Kept for later."
NOTHING_DUE = "Nothing is due."
ALL_DONE = "That was the last one."
STOPPED = "Listening has stopped. Look at the screen."
CANNOT_HEAR = "I cannot hear you. Look at the microphone."
LISTENERS_AGAIN = "The listeners were stopped and start again. What you said is heard again."
DO_NOT_TIP = "Heavily pregnant: do not tip."
NO_ADVICE = "I keep records. What to give, and how much, is for your vet or the label."

# ----------------------------------------------------------------------------------------------------------- words

_COUNTS = """
none one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen
nineteen
"""
_RANKS = """
first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth
sixteenth seventeenth eighteenth nineteenth twentieth twenty-first twenty-second twenty-third twenty-fourth twenty-fifth
twenty-sixth twenty-seventh twenty-eighth twenty-ninth thirtieth thirty-first
"""
_YEAR = "January February March April May June July August September October November December"
_SMALL, _ORDINALS, _MONTHS = _COUNTS.split(), _RANKS.split(), _YEAR.split()
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_DIGITS = ["nought", *_SMALL[1:10]]


def number(n: int) -> str:
    """A count in words up to ninety-nine, in digits beyond; 0 is "none"."""
    if not 0 <= n < 100:
        return str(n)
    if n < 20:
        return _SMALL[n]
    tens = _TENS[n // 10 - 2]
    return f"{tens}-{_SMALL[n % 10]}" if n % 10 else tens


def value(amount: float) -> str:
    """A measured number: "two and a half", "nought", "41.5"."""
    whole = int(amount)
    if amount == whole:
        return number(whole) if whole else _DIGITS[0]
    return f"{number(whole)} and a half" if amount - whole == 0.5 and 0 < whole < 20 else f"{amount:g}"


def spelled(text: str) -> str:
    """A number of an animal digit by digit, as keepers say it: "four one seven"."""
    return " ".join(_DIGITS[int(ch)] if ch.isascii() and ch.isdigit() else ch for ch in text.replace(" ", ""))


def called(animal: Animal) -> str:
    """How an animal is called aloud."""
    return animal.name or sentence_case(spelled(animal.number or animal.tag))


def sentence_case(text: str) -> str:
    """The text with a capital first letter, the rest left alone."""
    return text[:1].upper() + text[1:]


def listed(items: Sequence[str], last: str = "and") -> str:
    """Items with commas, and a word before the last."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} {last} {items[-1]}" if items else ""


def some_of(items: Sequence[str], shown: int = 3) -> str:
    """The first few and how many more."""
    if len(items) <= shown:
        return listed(items)
    return f"{', '.join(items[:shown])} and {number(len(items) - shown)} more"


def times(n: int) -> str:
    """How often."""
    return {1: "once", 2: "twice"}.get(n, f"{number(n)} times")


def on_day(day: date, today: date) -> str:
    """A day to come: "today", "tomorrow", "on the ninth" within four weeks, with its month and year where needed."""
    ahead = (day - today).days
    if ahead in (0, 1):
        return ("today", "tomorrow")[ahead]
    text = f"on the {_ORDINALS[day.day - 1]}"
    if 0 < ahead < 28:
        return text
    text = f"{text} of {_MONTHS[day.month - 1]}"
    return text if 0 < ahead < 330 else f"{text} {day.year}"


def dated(day: date) -> str:
    """A day with its month, whenever it is: "the ninth of June"."""
    return f"the {_ORDINALS[day.day - 1]} of {_MONTHS[day.month - 1]}"


def ago(day: date, today: date) -> str:
    """How long ago a day was, in days up to two weeks, in whole weeks beyond."""
    days = (today - day).days
    if days < 1:
        return "today"
    if days == 1:
        return "yesterday"
    return f"{number(days)} days ago" if days < 14 else f"{number(days // 7)} weeks ago"


# ----------------------------------------------------------------------------------------------------------- parts

_WAS = frozenset({"overgrown", "sound", "uneven", "thin", "fat", "lame"})
_HOW = {Grade.SLIGHT: "slightly", Grade.MODERATE: "moderately", Grade.SEVERE: "badly"}
_HAD_A = frozenset(
    {
        "hollow wall",
        "crack",
        "loose horn",
        "foreign body",
        "growth",
        "lump",
        "wound",
        "swelling",
        "split teat",
        "blind teat",
        "cough",
    }
)
_HAD_AN = frozenset({"abscess", "extra teat"})


def finding_clause(part: FindingPart) -> str:
    """A finding as the rest of a sentence: "had a hollow wall", "was overgrown"."""
    grade = f"{part.grade} " if part.grade else ""
    if part.finding in _HAD_A | _HAD_AN:
        article = "an" if part.finding in _HAD_AN and not grade else "a"
        return f"had {article} {grade}{part.finding}"
    if part.finding in _WAS:
        return f"was {_HOW[part.grade]} {part.finding}" if part.grade else f"was {part.finding}"
    return f"had {grade}{part.finding}"


def place_words(place: str | None, part: str | None = None) -> str:
    """A place in words; empty for the whole animal."""
    return ", ".join(text for text in (place, part) if text and text != WHOLE_ANIMAL)


def part_words(part: Part, today: date) -> str:
    """A part in a few words, for reading back."""
    match part:
        case FindingPart():
            grade = f"{part.grade} " if part.grade else ""
            return f"{place_words(part.place, part.part)} {grade}{part.finding}".strip()
        case ActionPart():
            with_what = f" with {part.medicine}" if part.medicine else ""
            return f"{place_words(part.place, part.part)} {part.action}{with_what}".strip()
        case MeasurePart():
            return f"{part.measure} {value(part.value)}"
        case FollowUpPart():
            return f"{part.follow_up} {_in_days(part, today)}".strip()
        case TraitPart():
            return part.trait
        case MarkPart():
            return f"{part.mark} mark"
        case TagPart():
            return f"tag {part.tag}"
        case _:
            return " ".join(str(item) for item in part.flat().values())


def said_again(parts: Iterable[Part], today: date) -> str:
    """Parts read back, each once, for the end of a sentence."""
    return ", ".join(dict.fromkeys(part_words(part, today) for part in parts)) + "."


def read_back(parts: Iterable[Part], today: date) -> str:
    """Parts read back as one sentence."""
    return sentence_case(said_again(parts, today))


def follow_up(part: FollowUpPart, today: date) -> str:
    """What is to be done later, and on which day if one was said."""
    return read_back([part], today)


def _in_days(part: FollowUpPart, today: date) -> str:
    return "" if part.days is None else on_day(today + timedelta(days=part.days), today)


# ------------------------------------------------------------------------------------------------------- sentences


def either(labels: Sequence[str]) -> str:
    """A question between a few answers, the likeliest first; of many, two and how many more there are."""
    if len(labels) > 3:
        return f"{sentence_case(', '.join(labels[:2]))} or {number(len(labels) - 2)} more?"
    return f"{sentence_case(listed(labels, 'or'))}?"


def not_mentioned(who: str, gaps: Sequence[str]) -> str:
    """What is still missing when an animal is said to be done."""
    feet = [gap for gap in gaps if gap in FEET]
    rest = [gap for gap in gaps if gap not in FEET]
    names = ["no foot", *rest] if len(feet) == len(FEET) else [*feet, *rest]
    if names[0] == "no foot":
        return f"{who} done. No foot was mentioned."
    return f"{who} done. {sentence_case(listed(names))} not mentioned."


def left_over(n_left: int, n_done: int, has_plan: bool) -> str:
    """How many are left, or how many are done if nobody was planned."""
    if not has_plan:
        return f"{sentence_case(number(n_done))} done so far."
    return f"{sentence_case(number(n_left))} left." if n_left else ALL_DONE


def caution_until(what: str, day: date, today: date) -> str:
    """Milk or meat that must be withheld."""
    return f"Withhold {what} until {on_day(day, today).removeprefix('on ')}."


def kept_words(words: str) -> str:
    """Words that could not be placed."""
    return f"Not understood: {words}. Kept for later."


def unlisted(medicine: str) -> str:
    """A medicine that is not on the holding's list."""
    return (
        f"{sentence_case(medicine)} is not on the list of medicines. It is on record as you typed it; until when to "
        "withhold milk and meat is not known."
    )

"""Typed and heard words to meaning: exact sentences first, then piece by piece, with typing slips mended."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import replace

from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA

from assistant.grammar import Grammar, Piece, Tag
from assistant.meaning.clear_pieces import clear_pieces
from assistant.meaning.meaning import meaning, meaning_of_tags
from assistant.meaning.plain_talk import plain_words, without_idle_orders
from assistant.meaning.strange_medicine import is_strange_medicine, strange_medicine
from assistant.meaning.typed_words import ASKING, DENYING, DIGITS, EXCEPTING, NUMBER_WORDS, words_of
from assistant.values import AnimalPart, CommandPart, Meaning, PlacePart, QuestionPart, Scope

CLEAR = 80.0
"""Least likeness, in percent of rapidfuzz's ratio, at which a word is taken for a slip of another."""

_SHORTEST = 5
"""Shorter words are too like one another to be mended by themselves."""

_SHORT = range(3, _SHORTEST)
"""Lengths of words that are mended where the whole remark leaves only one way."""

_MOST_TRIED = 64
"""Ways to mend the short words of a remark that are tried."""

MOST_WORDS = 100
"""A line of more words is no remark but something that was pasted, and would take minutes to read."""

_OTHER_WEIGHTS = frozenset(["stone", "stones", "pound", "pounds", "lb", "lbs", "ounce", "ounces", "oz"])

_NOTE = re.compile(
    r"^\s*(?:(?:take|make)\s+a\s+)?(?:note|remember)\b(?:\s+that\b)?[\s:,.-]*(?P<note>.*)$", re.IGNORECASE | re.DOTALL
)


def understand(text: str, grammar: Grammar, scope: Scope) -> tuple[Meaning, Scope]:
    """The meaning of a typed remark.

    Args:
        text: as typed, any case and punctuation.
        grammar: with the rules `remark`, `written` and `phrase`.
        scope: the place that is open before.

    Returns:
        The meaning, with the words that could not be placed and the mended text if a slip was mended; and the place
        that is open after.
    """
    if found := _NOTE.match(text):
        return Meaning((CommandPart("note", note=found["note"].strip() or None),)), scope
    words = _named(words_of(text), grammar)
    if len(words) > MOST_WORDS or _is_other_weight(words) or _is_some(words):
        return Meaning((), " ".join(words)), scope
    words = plain_words(words, grammar)
    is_question = text.rstrip().endswith("?")
    said, after = _understood(words, grammar, scope, is_question=is_question)
    return replace(said, parts=without_idle_orders(said.parts, words)), after


def whole_words(text: str, grammar: Grammar) -> str | None:
    """The words of a typed remark without what carries no meaning, slips mended; None if some have no meaning.

    Args:
        text: as typed.
        grammar: as for `understand`.
    """
    words = words_of(text)
    if not words or len(words) > MOST_WORDS or _is_other_weight(words) or _is_some(words) or _NOTE.match(text):
        return None
    words = plain_words(_named(words, grammar), grammar)
    said, _ = _understood(words, grammar, Scope(), is_question=text.rstrip().endswith("?"))
    return None if said.unplaced else said.mended or " ".join(words)


def _understood(words: tuple[str, ...], grammar: Grammar, scope: Scope, *, is_question: bool) -> tuple[Meaning, Scope]:
    """The meaning of the words, or of the mended ones if a slip was mended."""
    as_typed = understand_words(words, grammar, scope, is_question=is_question)
    mended = _short_mended(_mended(words, grammar), grammar) if as_typed[0].unplaced else words
    if mended == words:
        return as_typed
    guess, after = understand_words(mended, grammar, scope, is_question=is_question)
    # A slip is clear only if nothing else in the remark is strange: other talk has words that are like ours too.
    return as_typed if guess.unplaced else (replace(guess, mended=" ".join(mended)), after)


def _is_other_weight(words: Sequence[str]) -> bool:
    """Whether a weight is told in another unit: nine stone are not nine kilos and a stone."""
    weighed = next((at for at, word in enumerate(words) if word.startswith("weigh")), len(words))
    pairs = itertools.pairwise(words[weighed:])
    return any(number in NUMBER_WORDS and unit in _OTHER_WEIGHTS for number, unit in pairs)


def _is_some(words: Sequence[str]) -> bool:
    """Whether it begins with "three of her feet": which ones is not said, and there may be an animal three."""
    return len(words) > 1 and words[0] in NUMBER_WORDS and words[1] == "of"


def _named(words: tuple[str, ...], grammar: Grammar) -> tuple[str, ...]:
    """The words of a question, with an animal's "Sorrel's" as "Sorrel": the milk of Sorrel is Sorrel's milk."""
    if not words or words[0] not in ASKING:
        return words
    names = grammar.words("animal_name")
    return tuple(word.removesuffix("'s") if word.removesuffix("'s") in names else word for word in words)


def understand_words(
    words: Sequence[str], grammar: Grammar, scope: Scope, *, is_question: bool = False
) -> tuple[Meaning, Scope]:
    """The meaning of words as a listener has them: the likeliest reading, else piece by piece.

    Args:
        words: lower case, as the grammar has them.
        grammar: with the rules `remark`, `written` and `phrase`.
        scope: the place that is open before.
        is_question: whether they were asked; then nothing is taken for a finding or an action.
    """
    # The weights of <remark> say what is likely to be heard; which reading is meant, those of <written> tell.
    readings = grammar.readings(words, "written") or grammar.readings(words, "remark")
    found, after = meaning(readings[0], scope) if readings else _by_pieces(words, grammar, scope)
    is_question = is_question or bool(words and not readings and words[0] in ASKING)
    if is_question and not all(isinstance(part, QuestionPart | AnimalPart | PlacePart) for part in found.parts):
        return Meaning((), " ".join(words)), scope
    if is_question and found.unplaced and not any(isinstance(part, QuestionPart) for part in found.parts):
        return Meaning((), " ".join(words)), scope  # who is named in a question is not caught by it
    return found, after


def _by_pieces(words: Sequence[str], grammar: Grammar, scope: Scope) -> tuple[Meaning, Scope]:
    """Phrases in the order in which they stand; what nothing can place is kept."""
    words = _one_by_one(words)
    pieces = _with_medicine(_pieces(words, grammar), words, grammar)
    found, after = meaning_of_tags([tag for piece in pieces if piece.placed for tag in piece.tags], scope)
    left = [" ".join(piece.words) for piece in pieces if not piece.placed or is_strange_medicine(piece)]
    return Meaning(found.parts, " ".join(left)), after


def _one_by_one(words: Sequence[str]) -> list[str]:
    """The words with "double four" as "four four": a number that no animal has is still a number."""
    said: list[str] = []
    for word, after in zip(words, (*words[1:], ""), strict=False):
        times = {"double": 1, "treble": 2, "triple": 2}.get(word, 0) if after in DIGITS else 0
        said += [after] * times or [word]
    return said


def _believed(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces; those after a word of doubt or denial count as unplaced, so that they are asked, not guessed.

    So does the one before "except": what is said of all feet is not true of all.
    """
    believed: list[Piece] = []
    is_unsure, denying = False, ""
    for piece in pieces:
        is_doubt = (not piece.placed or piece.words in (("no",), ("neither",))) and piece.words[0] in DENYING
        is_doubt = is_doubt or (is_unsure and piece.words[0] in ("or", "nor"))  # no crack or scald
        if believed and not piece.placed and piece.words[0] in EXCEPTING:
            believed[-1] = replace(believed[-1], tags=(), placed=False)
        # Whom the rest is about is heard even so: "over to Tansy" would else leave it on the animal before.
        is_mention = denying == "to" and any(tag.slot == "animal" for tag in piece.tags)
        is_unsure = is_doubt or (denying != "" and bool(piece.tags) and not is_mention)
        believed.append(replace(piece, tags=(), placed=False) if is_unsure else piece)
        if is_doubt or piece.tags:
            denying = piece.words[0] if is_doubt else ""
    return believed


def _whole_numbers(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces, with digits that stand together as one number, and the word "tag" before it dropped.

    Else "4177" would be taken for the end of it that some animal has. A number that no animal has is still a mention:
    the register says that there is none.
    """
    whole: list[Piece] = []
    for piece in pieces:
        last = whole[-1] if whole else None
        if not all(word in DIGITS for word in piece.words):
            whole.append(piece)
        elif last and last.words[-1] in DIGITS and last.tags and last.tags[-1].slot == "animal":
            whole[-1] = _numbered(last.words + piece.words, last.start, last.tags[:-1])
        elif last and not last.placed and last.words[0] in ("tag", "number"):
            whole[-1] = _numbered(last.words + piece.words, last.start)
        else:
            whole.append(_numbered(piece.words, piece.start))
    return whole


_COUNTED = frozenset(["measure", "follow_up"])
"""Slots whose values are numbers."""


_DOSES = frozenset(["ml", "mls", "cc", "mg", "g", "drops", "tablets", "doses", "squirts"])
"""What is counted of a medicine: the number before it is no animal's."""


_TIMES = frozenset(["day", "days", "week", "weeks", "month", "months", "year", "years", "times"])
"""What is counted of time; so is this one no animal's."""


def _unbroken(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces; those with a number that goes on in the next, or that follows words without a meaning, are unplaced.

    Else "five hundred kilos", which is no weight that the grammar has, would be a weight of five, and "score twelve" a
    mention of animal twelve.
    """
    weighty = [index for index, piece in enumerate(pieces) if piece.tags or not piece.placed]
    broken: set[int] = set()
    for at, after in itertools.pairwise(weighty):
        one, other = pieces[at], pieces[after]
        if other.words[0] in _DOSES | _TIMES and one.words[-1] in NUMBER_WORDS:
            broken |= {at, after}
        if other.words[0] not in NUMBER_WORDS:
            continue
        if pieces[after - 1].words[-1] in ("a", "this", "that") or (other.words == ("one",) and one.tags):
            broken.add(after)  # "a two" is a score or a count, and "that one" and "the long one" anything
        is_counted = not other.placed and any(tag.slot in _COUNTED for tag in one.tags)
        is_some = after + 1 < len(pieces) and pieces[after + 1].words[0] == "of"  # three of her feet
        if one.words[-1] in NUMBER_WORDS or is_counted or is_some or not one.placed:
            broken |= {at, after}
    return [replace(one, tags=(), placed=False) if index in broken else one for index, one in enumerate(pieces)]


def _numbered(words: tuple[str, ...], start: int, before: tuple[Tag, ...] = ()) -> Piece:
    """A mention of the animal whose number the last words are."""
    first = len(words)
    while first and words[first - 1] in DIGITS:
        first -= 1
    number = "".join(DIGITS[word] for word in words[first:])
    end = start + len(words)
    return Piece(words, (*before, Tag("animal", number, start + first, end)), start, end)


def _pieces(words: Sequence[str], grammar: Grammar) -> list[Piece]:
    return clear_pieces(_unbroken(_whole_numbers(_believed(grammar.cover(words)))))


def _with_medicine(pieces: list[Piece], words: Sequence[str], grammar: Grammar) -> list[Piece]:
    """The pieces, with strange words after "treated with" as the medicine that they name, though it is on no list.

    They count as unplaced all the same, so that the keeper is told and looks at them again. Else only the treatment
    would be on record, and nobody would ask until when to withhold the milk.
    """
    start, stop = strange_medicine(pieces, words)
    if start == stop:
        return pieces
    # The rest is read anew without it: of "blue wonder spray" the last word is not something that was done.
    hidden = [*words[:start], *[""] * (stop - start), *words[stop:]]
    others = [piece for piece in _pieces(hidden, grammar) if piece.words != ("",)]
    named = Piece(tuple(words[start:stop]), (Tag("medicine", " ".join(words[start:stop]), start, stop),), start, stop)
    return sorted([*others, named], key=lambda piece: piece.start)


# ------------------------------------------------------------------------------------------------------------- slips


def _mended(words: Sequence[str], grammar: Grammar) -> tuple[str, ...]:
    """The words with clear typing slips mended; never into or out of a number, and never into an animal's name.

    A slip of a name stays as it is: a wrong name would put a record on the wrong animal.
    """
    known = grammar.words("phrase")
    names = grammar.words("animal_name") | grammar.words("animal_number")
    settled = known | DENYING | ASKING
    candidates = sorted(word for word in known - names - NUMBER_WORDS if len(word) >= _SHORTEST)
    return tuple(
        word if word in settled or len(word) < _SHORTEST or "'" in word else _nearest(word, candidates, names)
        for word in words
    )


def _short_mended(words: Sequence[str], grammar: Grammar) -> tuple[str, ...]:
    """The words with slips of one letter in short words mended, if just one way makes a whole sentence of the remark.

    "left hnd crack" can only be "left hind crack"; whether "hnd" is "hind" or "and" is not known from the word.
    """
    known = grammar.words("phrase") | DENYING | ASKING
    names = grammar.words("animal_name")
    candidates = sorted((grammar.words("phrase") | names) - NUMBER_WORDS)
    options = [_one_off(word, candidates) if word not in known and len(word) in _SHORT else [word] for word in words]
    if math.prod(map(len, options)) > _MOST_TRIED or options == [[word] for word in words]:
        return tuple(words)
    ways = [way for way in itertools.product(*options) if _is_sentence(way, grammar)]
    is_clear = len(ways) == 1 and not names & (set(ways[0]) - set(words))
    return ways[0] if is_clear else tuple(words)


def _one_off(word: str, candidates: Sequence[str]) -> list[str]:
    """The known words that are one letter more, less, other or exchanged; the word itself if there is none."""
    found = process.extract(word, candidates, scorer=OSA.distance, limit=None, score_cutoff=1)
    return [near for near, _, _ in found] or [word]


def _is_sentence(words: Sequence[str], grammar: Grammar) -> bool:
    return bool(grammar.readings(words, "written") or grammar.readings(words, "remark"))


def _nearest(word: str, candidates: Sequence[str], names: frozenset[str]) -> str:
    """The one known word that it is a slip of; itself if there is none, several, or a name that is as like."""
    found = process.extract(word, candidates, scorer=fuzz.ratio, limit=2, score_cutoff=CLEAR)
    rival = process.extractOne(word, sorted(names), scorer=fuzz.ratio)
    if not found or (len(found) > 1 and found[1][1] == found[0][1]) or (rival and rival[1] >= found[0][1]):
        return word
    return str(found[0][0])

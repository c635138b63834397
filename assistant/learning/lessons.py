"""Learns from the keeper how names and words are said, and believes nothing that does not prove itself.

Remarks of which the keeper has settled which animal they named, or what is on record from them, are the material. From
one half of those with a name or word a pronunciation is proposed; on the other half, and on every remark that is known
or was accepted, it is tried.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from assistant.learning.named_remark import NamedRemark
from assistant.meaning.fills import spoken_name
from assistant.values import Animal, Decision, Part, Sound, Verdict

LEAST_REMARKS = 4
"""With fewer remarks that say a name, there is nothing to try a proposal on."""

MOST_LEARNT = 8
"""Remarks that a proposal is made from; more do not make it better, only later."""

Phones = tuple[str, ...]

PHONE_NATS = math.log(39)
"""What telling one of the 39 sounds costs: the proposal is the one that, with all remarks, is told shortest.

Source: the principle of least description length, J. Rissanen, Automatica 14, 1978.
"""


class Spelling(Protocol):
    """Hears in which sounds a word was said: see `assistant.hearing.phoneme_spelling.SpellingListener`."""

    def said(self, sound: Sound, sentences: Collection[str], word: str) -> Sequence[Phones]: ...  # noqa: D102
    def misfits(  # noqa: D102
        self, sound: Sound, sentences: Collection[str], word: str, ways: Sequence[Phones]
    ) -> Sequence[float]: ...


@dataclass(frozen=True)
class Example:
    """A remark with a name in it, or a word that is to be learnt.

    Attributes:
        remark: its id.
        animal: whom it names; empty for a word.
        name: the name or word that was said, as the grammar has it.
        sentences: what may have been said, each with this name.
    """

    remark: str
    animal: str
    name: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Outcome:
    """What became of a remark whose meaning is known."""

    is_right: bool
    is_accepted: bool
    words: str = ""

    @property
    def rank(self) -> int:
        """The higher the better: wrong without a question, wrong, right and asked, right without a question."""
        return {(False, True): 0, (False, False): 1, (True, False): 2, (True, True): 3}[self.is_right, self.is_accepted]


@dataclass(frozen=True)
class Tally:
    """How some remarks were heard."""

    n: int
    right: int
    accepted: int
    wrong: int

    @classmethod
    def of(cls, outcomes: Iterable[Outcome]) -> Tally:
        """Counts them: first guess right, right and accepted without a question, accepted and wrong."""
        ranks = [one.rank for one in outcomes]
        return cls(len(ranks), sum(rank > 1 for rank in ranks), ranks.count(3), ranks.count(0))

    def is_better_than(self, other: Tally) -> bool:
        """Whether more is right, or as much is right and more of it accepted; and no more is wrong silently."""
        return self.wrong <= other.wrong and (self.right, self.accepted) > (other.right, other.accepted)


@dataclass(frozen=True)
class Proposal:
    """A pronunciation to be tried.

    Attributes:
        word: of a name or of the trade.
        phones: its sounds.
        learnt: ids of the remarks that it comes from.
        held_back: ids of those that it is tried on.
    """

    word: str
    phones: Phones
    learnt: tuple[str, ...]
    held_back: tuple[str, ...]

    @property
    def told(self) -> str:
        """What is proposed, for the keeper."""
        return f"“{self.word}” as {' '.join(self.phones)}"


class Tried(Protocol):
    """What can be tried: a pronunciation, or a form of the keeper's own (`assistant.learning.words.Form`)."""

    @property
    def word(self) -> str:
        """What is said, one word or several."""

    @property
    def told(self) -> str:
        """What is proposed, for the keeper."""

    @property
    def learnt(self) -> tuple[str, ...]:
        """Ids of the remarks that it comes from."""

    @property
    def held_back(self) -> tuple[str, ...]:
        """Ids of those that it is tried on."""


A = TypeVar("A", bound=Tried)


@dataclass(frozen=True)
class Lesson(Generic[A]):
    """A proposal that was tried.

    Attributes:
        before, after: the remarks that were held back, without it and with it.
        harmed: ids of remarks that it would make worse.
    """

    proposal: A
    before: Tally
    after: Tally
    harmed: tuple[str, ...] = ()

    @property
    def is_good(self) -> bool:
        """Whether it may be written down."""
        return not self.harmed and self.after.is_better_than(self.before)


# ------------------------------------------------------------------------------------------------------- what is said


def examples(named: Iterable[NamedRemark], animals: Mapping[str, Animal]) -> list[Example]:
    """The remarks that said a name, rather than a number, with what may have been said.

    A reading of any listener that has some animal's name in it is taken with the right name in its place.
    """
    names = {name for animal in animals.values() for name in _names(animal)}
    found = []
    for one in named:
        own = _names(animals[one.animal]) if one.animal in animals else []
        verdict = one.remark.verdict
        texts = readings(verdict)
        heard = [name for name in own if any(f" {name} " in f" {text} " for text in texts)]
        for name in (heard or own)[:1]:
            sentences = dict.fromkeys(put for text in texts if (put := _with_name(text, names, name)))
            if sentences:
                found.append(Example(one.remark.id, one.animal, name, tuple(sentences)))
    return found


def _names(animal: Animal) -> Sequence[str]:
    return [said for name in (animal.name, *animal.nicknames) if (said := spoken_name(name))]


def readings(*verdicts: Verdict | None) -> list[str]:
    """All that was heard in a remark, as words, each once: what stayed open first, then what each listener heard."""
    there = [one for one in verdicts if one is not None]
    texts = [text for one in there for text in one.choices]
    texts += [reading.text for one in there for hearing in one.hearings for reading in hearing.readings]
    return list(dict.fromkeys(texts))


def _with_name(text: str, names: Collection[str], name: str) -> str:
    """The words with another name in place of the first name among them; empty if there is none."""
    words = text.split()
    for start in range(len(words)):
        for end in range(len(words), start, -1):
            if " ".join(words[start:end]) in names:
                return " ".join([*words[:start], name, *words[end:]])
    return ""


def confusions(pairs: Iterable[tuple[Sequence[Part], Sequence[Part]]]) -> Mapping[tuple[str, str], int]:
    """What was taken for what, as values of the records: (what is right, what was heard) → how often, most often first.

    Args:
        pairs: of each remark what stands on record from it, and what it is taken for today.
    """
    found: Counter[tuple[str, str]] = Counter()
    for right, heard in pairs:
        lost, come = (_values(one) - _values(other) for one, other in ((right, heard), (heard, right)))
        if lost or come:
            found[", ".join(sorted(lost)), ", ".join(sorted(come))] += 1
    return dict(found.most_common())


def _values(parts: Iterable[Part]) -> set[str]:
    return {
        f"{value:g}" if isinstance(value, float) else str(value) for part in parts for value in part.flat().values()
    }


# --------------------------------------------------------------------------------------------------------- proposals


def proposals(
    said: Sequence[Example],
    outcomes: Mapping[str, Outcome],
    spelling: Spelling,
    sound_of: Callable[[str], Sound],
    known_ways: Callable[[str], Sequence[Phones]],
) -> list[Proposal]:
    """A pronunciation for each word of a name that is not always heard, if the remarks speak for another one.

    Args:
        said: remarks with names.
        outcomes: how each is heard today, by its id.
        spelling: hears in which sounds a word was said.
        sound_of: from a remark's id to its sound.
        known_ways: from a word to how it is said so far.
    """
    by_word: dict[str, list[Example]] = defaultdict(list)
    for one in said:
        for word in dict.fromkeys(one.name.split()):
            by_word[word].append(one)
    found = []
    for word, all_of_it in sorted(by_word.items()):
        is_known = all(outcomes[one.remark].rank == 3 for one in all_of_it)
        if is_known or len(all_of_it) < LEAST_REMARKS:
            continue
        learnt, held_back = all_of_it[::2][:MOST_LEARNT], all_of_it[1::2]
        phones = _shortest_told(word, learnt, spelling, sound_of, known_ways(word))
        if phones is not None:
            ids = ([one.remark for one in half] for half in (learnt, held_back))
            found.append(Proposal(word, phones, *map(tuple, ids)))
    return found


def _shortest_told(
    word: str,
    learnt: Sequence[Example],
    spelling: Spelling,
    sound_of: Callable[[str], Sound],
    known: Sequence[Phones],
) -> Phones | None:
    """The way to say a word that tells the remarks shortest; None if that is how it is said already."""
    sounds = [(sound_of(one.remark), one.sentences) for one in learnt]
    heard = [way for sound, sentences in sounds for way in spelling.said(sound, sentences, word)]
    ways = list(dict.fromkeys([*known, *heard]))
    told = [len(way) * PHONE_NATS for way in ways]
    for sound, sentences in sounds:
        for n, misfit in enumerate(spelling.misfits(sound, sentences, word, ways)):
            told[n] += misfit
    best = ways[min(range(len(ways)), key=told.__getitem__)]
    return None if best in known else best


# ------------------------------------------------------------------------------------------------------------- trial


def lessons(
    proposed: Sequence[A],
    before: Mapping[str, Outcome],
    hear_with: Callable[[Sequence[A]], Mapping[str, Outcome]],
) -> list[Lesson[A]]:
    """Tries proposals together, and again without those that did harm or no good, until all that are left are good.

    Args:
        proposed: what to try.
        before: how each remark is heard without any of them, by its id.
        hear_with: how each is heard with some of them.

    Returns:
        One lesson for each proposal, in their order, as it was last tried.
    """
    found: dict[str, Lesson[A]] = {}
    left = list(proposed)
    while left:
        after = hear_with(left)
        worse = [key for key, now in after.items() if _is_harm(before[key], now)]
        tried = [_tried(one, left, before, after, worse) for one in left]
        found.update((one.proposal.word, one) for one in tried)
        good = [one.proposal for one in tried if one.is_good]
        if len(good) == len(left):
            break
        left = good
    return [found[one.word] for one in proposed]


def _is_harm(before: Outcome, now: Outcome) -> bool:
    """What was accepted and right is wrong now, or it is wrong silently as it was not before."""
    return (before.rank == 3 and not now.is_right) or (now.rank == 0 and before.rank > 0)


def _tried(
    one: A,
    together: Sequence[A],
    before: Mapping[str, Outcome],
    after: Mapping[str, Outcome],
    worse: Iterable[str],
) -> Lesson[A]:
    """A remark that is worse now is laid to the words that are heard in it now; if none of them is, to all."""
    harmed = []
    for key in dict.fromkeys(worse):
        guilty = {other.word for other in together if f" {other.word} " in f" {after[key].words} "}
        if not guilty or one.word in guilty:
            harmed.append(key)
    held = one.held_back
    return Lesson(
        one, Tally.of(before[key] for key in held), Tally.of(after[key] for key in held), tuple(dict.fromkeys(harmed))
    )


def outcome(verdict: Verdict, is_right: Callable[[str], bool]) -> Outcome:
    """What became of a remark: its first guess, and whether that was accepted."""
    words = verdict.choices[0] if verdict.choices else ""
    return Outcome(bool(words) and is_right(words), verdict.decision is Decision.ACCEPTED, words)

"""Agreement: what several listeners heard becomes one verdict.

The score of one listener does not tell a right answer from a confident wrong one, but two independent listeners
seldom make the same mistake. So a meaning is accepted that two of them heard; anything else is asked.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, field

from assistant.values import Decision, Hearing, Verdict

MeaningOf = Callable[[str], Hashable | None]


@dataclass(frozen=True)
class Trust:
    """What is known of one listener from recordings with known meanings.

    Attributes:
        confirm_gap: its reading confirms the best of another listener if it scores at most this much below its best.
        most_strain: with more strain, what it heard is rather some other talk.
        scale: a score this much below its best halves what a reading counts for when choices are put in order.
        weight: what its best reading counts for then.
        may_differ: whether two others may be believed against it.
    """

    confirm_gap: float = 0.0
    most_strain: float = math.inf
    scale: float = 5.0
    weight: float = 1.0
    may_differ: bool = False


MEASURED: Mapping[str, Trust] = {}


@dataclass(frozen=True)
class Limits:
    """When to accept, ask, or hear nothing.

    Attributes:
        accept_alone: whether one listener is enough where there is only one.
        most_choices: how many choices a question has at most.
        trust: by name of the listener; others are trusted as `Trust()` says.
    """

    accept_alone: bool = False
    most_choices: int = 4
    trust: Mapping[str, Trust] = field(default_factory=lambda: MEASURED)

    def of(self, listener: str) -> Trust:
        """What is known of a listener."""
        return self.trust.get(listener, Trust())


@dataclass(frozen=True)
class _Heard:
    """One listener's hearing, by meaning.

    Attributes:
        words: the best words of each meaning, the best meaning first.
        gaps: how far below the listener's best each meaning is.
        is_strained: whether the sound is rather some other talk.
    """

    listener: str
    words: Mapping[Hashable, str]
    gaps: Mapping[Hashable, float]
    is_strained: bool

    @property
    def best(self) -> Hashable | None:
        return next(iter(self.words), None)


def verdict(
    hearings: Sequence[Hearing],
    meaning_of: MeaningOf,
    is_plausible: Callable[[str], bool] = lambda words: True,
    limits: Limits | None = None,
) -> Verdict:
    """The joint judgement on one sound.

    Args:
        hearings: one of each listener, the most reliable first.
        meaning_of: words → a key that two sentences with the same meaning share; None if they mean nothing.
        is_plausible: whether the words may be accepted without a question.
        limits: when to accept.

    Returns:
        Accepted: the one meaning that two listeners share. Ask: the open meanings, best first, each once. Unheard: no
        listener has a sentence that means something, or to every one of them it is rather some other talk.
    """
    limits = limits or Limits()
    heard = [_by_meaning(hearing, meaning_of, limits) for hearing in hearings]
    given = tuple(hearings)
    if not any(one.words for one in heard):
        return Verdict(Decision.UNHEARD, "no listener heard a sentence", (), given)
    if all(one.is_strained for one in heard if one.words):
        return Verdict(Decision.UNHEARD, "it sounds like other talk", (), given)
    choices = _in_order(heard, limits)
    reason = _doubt(heard, choices[0][0], limits)
    words = tuple(text for _, text in choices[: limits.most_choices])
    if reason is None and not is_plausible(words[0]):
        reason = "what was heard is unlikely"
    if reason is not None:
        return Verdict(Decision.ASK, reason, words, given)
    return Verdict(Decision.ACCEPTED, _agreed(heard, choices[0][0], limits), words[:1], given)


def _by_meaning(hearing: Hearing, meaning_of: MeaningOf, limits: Limits) -> _Heard:
    words: dict[Hashable, str] = {}
    gaps: dict[Hashable, float] = {}
    for reading in hearing.readings:
        meaning = meaning_of(reading.text)
        if meaning is not None and meaning not in words:
            words[meaning] = reading.text
            gaps[meaning] = hearing.readings[0].score - reading.score
    is_strained = hearing.strain is not None and hearing.strain > limits.of(hearing.listener).most_strain
    return _Heard(hearing.listener, words, gaps, is_strained)


def _in_order(heard: Sequence[_Heard], limits: Limits) -> list[tuple[Hashable, str]]:
    """Every meaning with its best words, the one that counts most first; equal ones as the listeners are."""
    counts: dict[Hashable, float] = {}
    words: dict[Hashable, str] = {}
    for one in heard:
        trust = limits.of(one.listener)
        for meaning, gap in one.gaps.items():
            words.setdefault(meaning, one.words[meaning])
            counts[meaning] = counts.get(meaning, 0.0) + trust.weight * 2 ** (-gap / trust.scale)
    return sorted(words.items(), key=lambda item: -counts[item[0]])


def _supporters(heard: Sequence[_Heard], meaning: Hashable, limits: Limits) -> list[_Heard]:
    """The listeners that heard the meaning, as their best or close to it."""
    return [
        one
        for one in heard
        if one.best == meaning
        or (not one.is_strained and one.gaps.get(meaning, math.inf) <= limits.of(one.listener).confirm_gap)
    ]


def _doubt(heard: Sequence[_Heard], meaning: Hashable, limits: Limits) -> str | None:
    """Why the meaning cannot be accepted; None if it can."""
    with_words = [one for one in heard if one.words]
    supporters = _supporters(heard, meaning, limits)
    if len(heard) == 1 and limits.accept_alone:
        return None
    if len(with_words) == 1:
        return f"only {with_words[0].listener} heard a sentence"
    if len(supporters) < 2 or not any(one.best == meaning for one in supporters):
        return "the listeners differ"
    if any(one.is_strained for one in supporters):
        return "it may be other talk"
    against = [one for one in heard if one not in supporters and not limits.of(one.listener).may_differ]
    return f"{against[0].listener} differs" if against else None


def _agreed(heard: Sequence[_Heard], meaning: Hashable, limits: Limits) -> str:
    names = [one.listener for one in _supporters(heard, meaning, limits)]
    return f"{' and '.join(names)} agree" if len(names) > 1 else f"{names[0]} alone"

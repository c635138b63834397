"""Agreement: what several listeners heard becomes one verdict.

The score of one listener does not tell a right answer from a confident wrong one, but independent listeners seldom make
the same mistake. So a meaning is accepted that one of them hears as the best and another as the best or nearly so, if
nobody speaks too clearly against it; anything else is asked, the likeliest choice first.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, field

from assistant.values import Decision, Hearing, Verdict

ASIDE = "it is not for the record"
TALK = "it sounds like other talk"

ALIKE = 2
"""So many listeners hardly ever hear the same in other talk."""
NOTHING: Hashable = frozenset()
"""The meaning of what is said to the animal or a helper: no part at all."""

MeaningOf = Callable[[str], Hashable | None]


@dataclass(frozen=True)
class Trust:
    """What is known of one listener from recordings with known meanings.

    Attributes:
        weight: what a difference of 1 between two of its scores counts, in natural log of likelihood.
        floor: no reading counts as further below its best one than this, in its own scale; one that it does not have
            is that far below.
        most_strain: with more strain, what it heard is rather some other talk.
        far_strain: with more strain it is other talk, whatever is heard.
    """

    weight: float = 0.1
    floor: float = 20.0
    most_strain: float = math.inf
    far_strain: float = math.inf


MEASURED: Mapping[str, Trust] = {
    # One reading and no others: what it adds to another's best.
    "pocketsphinx": Trust(weight=3.3, floor=1.0),
    "phonemes": Trust(weight=0.48, floor=30.0, most_strain=25.0, far_strain=40.0),
    "moonshine": Trust(weight=0.38, floor=10.0, most_strain=6.0),
}
"""Fitted to development recordings, see docs/hearing.md."""


@dataclass(frozen=True)
class Limits:
    """When to accept, ask, or hear nothing.

    Attributes:
        least_lead: a meaning that not all heard as the best must be this much likelier than the next, in natural log.
        silent_lead: one that is accepted with less is close: it is said back.
        aside_lead: what is an aside by so much is let go without a question.
        most_against: a listener seconds a meaning that it holds for at most this much less likely than its best.
        accept_alone: whether one listener is enough where there is only one.
        most_choices: how many choices a question has at most.
        trust: by name of the listener; others are trusted as `Trust()` says.
    """

    least_lead: float = 4.0
    silent_lead: float = 8.0
    aside_lead: float = 1.0
    most_against: float = 1.0
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
        is_strained: whether the sound is rather some other talk, an aside included; None if the listener cannot say.
        is_far: whether it is some other talk for sure.
    """

    listener: str
    words: Mapping[Hashable, str]
    gaps: Mapping[Hashable, float]
    is_strained: bool | None
    is_far: bool

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
        meaning_of: words → a key that two sentences with the same meaning share; `NOTHING` for an aside, None if they
            cannot be read.
        is_plausible: whether the words may be accepted without a question.
        limits: when to accept.

    Returns:
        Accepted: the one meaning that two listeners share. Ask: the open meanings, likeliest first, each once. Aside:
        it is most likely said to the animal or a helper, or is other talk for sure. Unheard: no listener has a sentence
        that can be read, or to every one that can say it is rather other talk, and no two hear the same remark in it.
    """
    limits = limits or Limits()
    heard = [_by_meaning(hearing, meaning_of, limits) for hearing in hearings]
    given = tuple(hearings)
    if not any(one.words for one in heard):
        return Verdict(Decision.UNHEARD, "no listener heard a sentence", (), given)
    with_words = [one for one in heard if one.words]
    if _all_strained(with_words):
        best_of = Counter(one.best for one in with_words)
        if best_of.pop(NOTHING, 0) >= ALIKE:
            return Verdict(Decision.ASIDE, ASIDE, (_words(heard, NOTHING),), given)
        if any(one.is_far for one in with_words):
            return Verdict(Decision.ASIDE, TALK, (), given)
        if max(best_of.values(), default=0) < ALIKE:
            return Verdict(Decision.UNHEARD, TALK, (), given)
    likelihoods = _likelihoods(heard, limits)
    order = sorted(likelihoods, key=lambda meaning: -likelihoods[meaning])
    best = order[0]
    lead = likelihoods[best] - likelihoods[order[1]] if len(order) > 1 else math.inf
    sureness = 1 / sum(math.exp(likelihood - likelihoods[best]) for likelihood in likelihoods.values())
    reason = _doubt(heard, best, lead, limits)
    if best == NOTHING and (reason is None or lead >= limits.aside_lead):
        is_close = sum(one.best == NOTHING for one in with_words) < ALIKE
        return Verdict(Decision.ASIDE, ASIDE, (_words(heard, best),), given, sureness, is_close=is_close)
    open_meanings = [meaning for meaning in order if meaning != NOTHING]
    words = tuple(_words(heard, meaning) for meaning in open_meanings[: limits.most_choices])
    if reason is None and not is_plausible(words[0]):
        reason = "what was heard is unlikely"
    if reason is not None:
        return Verdict(Decision.ASK, reason, words, given, sureness, _rivals(heard, likelihoods, limits))
    is_close = lead < limits.silent_lead
    return Verdict(Decision.ACCEPTED, _agreed(heard, best, limits), words[:1], given, sureness, is_close=is_close)


def _by_meaning(hearing: Hearing, meaning_of: MeaningOf, limits: Limits) -> _Heard:
    words: dict[Hashable, str] = {}
    gaps: dict[Hashable, float] = {}
    for reading in hearing.readings:
        meaning = meaning_of(reading.text)
        if meaning is not None and meaning not in words:
            words[meaning] = reading.text
            gaps[meaning] = hearing.readings[0].score - reading.score
    trust = limits.of(hearing.listener)
    is_aside = next(iter(words), None) == NOTHING
    is_strained = None if hearing.strain is None else is_aside or hearing.strain > trust.most_strain
    is_far = hearing.strain is not None and hearing.strain > trust.far_strain
    return _Heard(hearing.listener, words, gaps, is_strained, is_far)


def _likelihoods(heard: Sequence[_Heard], limits: Limits) -> dict[Hashable, float]:
    """Natural log of the likelihood of every meaning, but for a constant: what all listeners say, weighed and added."""
    total: dict[Hashable, float] = dict.fromkeys((meaning for one in heard for meaning in one.words), 0.0)
    for one in heard:
        trust = limits.of(one.listener)
        for meaning in total:
            if one.words:
                total[meaning] -= trust.weight * min(trust.floor, one.gaps.get(meaning, math.inf))
    return total


def _words(heard: Sequence[_Heard], meaning: Hashable) -> str:
    return next(one.words[meaning] for one in heard if meaning in one.words)


def _doubt(heard: Sequence[_Heard], meaning: Hashable, lead: float, limits: Limits) -> str | None:
    """Why the meaning cannot be accepted; None if it can."""
    with_words = [one for one in heard if one.words]
    holders = [one for one in heard if one.best == meaning]
    supporters = [one for one in heard if one in holders or _seconds(one, meaning, limits)]
    if len(heard) == 1 and limits.accept_alone:
        return None
    if len(with_words) == 1:
        return f"only {with_words[0].listener} heard a sentence"
    if not holders or len(supporters) < 2:
        return "the listeners differ"
    believed = [one for one in supporters if not one.is_far]
    if len(believed) < 2 or _all_strained(believed):
        return "it may be other talk"
    against = [one for one in with_words if one not in holders]
    return f"{against[0].listener} differs" if against and lead < limits.least_lead else None


def _rivals(heard: Sequence[_Heard], likelihoods: Mapping[Hashable, float], limits: Limits) -> tuple[str, ...]:
    """The readings that stand against each other, likeliest first: none is much less likely than the first.

    Nothing if no two listeners have one of them as their best, or if to all that have it is rather some other talk:
    what all of them say is then not agreed on either.
    """
    most = max(likelihoods.values())
    near = [meaning for meaning, likelihood in likelihoods.items() if most - likelihood < limits.least_lead]
    holders = [one for one in heard if one.best in near and not one.is_far]
    if len(holders) < ALIKE or _all_strained(holders):
        return ()
    return tuple(_words(heard, meaning) for meaning in sorted(near, key=lambda meaning: -likelihoods[meaning]))


def _all_strained(heard: Sequence[_Heard]) -> bool:
    """Whether all that can say take the sound for other talk, and there is one that can."""
    told = [one.is_strained for one in heard if one.is_strained is not None]
    return bool(told) and all(told)


def _seconds(one: _Heard, meaning: Hashable, limits: Limits) -> bool:
    return limits.of(one.listener).weight * one.gaps.get(meaning, math.inf) <= limits.most_against


def _agreed(heard: Sequence[_Heard], meaning: Hashable, limits: Limits) -> str:
    names = [one.listener for one in heard if one.best == meaning or _seconds(one, meaning, limits)]
    return f"{' and '.join(names)} agree" if len(names) > 1 else f"{names[0]} alone"

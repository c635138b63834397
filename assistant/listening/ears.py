"""Several listeners hear the same sound at once, and one verdict comes of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from assistant.hearing.agreement import ASIDE, Limits, verdict
from assistant.hearing.listener import Listener, Transcribing, Weighing
from assistant.values import Decision, Hearing, Sound, Verdict, WordGraph

MeaningOf = Callable[[str], Hashable | None]
RemarkOf = Callable[[str], str | None]
"""From a text that was written down freely to the words of a remark that is in no doubt; None if it is none."""

MOST_WEIGHED = 10
"""Meanings that every listener weighs where they differ."""


def no_remark(text: str) -> None:
    """No text that is written down freely is a remark: where everything that is said is in the grammar."""


class Ears:
    """The listeners of a session.

    Args:
        listeners: independent of each other; the first leads.
        limits: when to accept, from measurement.
    """

    def __init__(self, listeners: Sequence[Listener], limits: Limits | None = None) -> None:
        self.listeners = tuple(listeners)
        self.limits = limits or Limits()
        self._threads = ThreadPoolExecutor(max_workers=len(self.listeners), thread_name_prefix="listener")

    @property
    def names(self) -> tuple[str, ...]:
        """Who is listening, the leader first."""
        return tuple(listener.name for listener in self.listeners)

    def expect(self, graph: WordGraph) -> None:
        """From now on the sentences of `graph` are listened for."""
        for listener in self.listeners:
            listener.expect(graph)

    def judge(self, sound: Sound, meaning_of: MeaningOf, remark_of: RemarkOf = no_remark) -> Verdict:
        """Hears one remark.

        Args:
            sound: one remark, 16 kHz mono, with a little silence either side.
            meaning_of: words → a key that two sentences with the same meaning share; None if they mean nothing.
            remark_of: reads what a listener wrote freely; its words have a meaning.

        Returns:
            Accepted, ask or unheard, with the readings that are open.
        """
        hearings = list(self._threads.map(lambda listener: listener.hear(sound), self.listeners))
        first = verdict(hearings, meaning_of, limits=replace(self.limits, least_lead=math.inf, aside_lead=math.inf))
        if first.decision is Decision.ACCEPTED or first.reason == ASIDE:
            return first
        # They do not all agree: each is asked what it makes of the readings of the others.
        found = self._weighed(sound, hearings, meaning_of) if first.decision is Decision.ASK else first
        if found.decision is Decision.ACCEPTED or found.reason == ASIDE:
            return found
        free = self._transcribed(sound, remark_of)
        if not free:
            return found
        freely = self._weighed(sound, hearings, meaning_of, free)
        if freely.choices and meaning_of(freely.choices[0]) in map(meaning_of, free):
            # It was not sure without its wording, which no grammar has: the keeper should hear what was taken.
            return replace(freely, is_close=freely.decision is Decision.ACCEPTED)
        return found

    def _transcribed(self, sound: Sound, remark_of: RemarkOf) -> list[str]:
        """The words of the remarks that listeners write down where no grammar holds them, likeliest first."""
        if remark_of is no_remark:
            return []
        texts = [text for one in self.listeners if isinstance(one, Transcribing) for text in one.transcripts(sound)]
        return list(dict.fromkeys(words for text in texts if (words := remark_of(text)) is not None))

    def _weighed(
        self, sound: Sound, hearings: Sequence[Hearing], meaning_of: MeaningOf, free: Sequence[str] = ()
    ) -> Verdict:
        """The verdict once all have weighed the readings of each, and sentences that were written down freely."""
        sentences = [*_of_each_meaning(hearings, meaning_of), *free]

        def weighed(listener: Listener, hearing: Hearing) -> Hearing:
            # One that heard nothing must not come to second another's grammar only because it was given its words.
            if not isinstance(listener, Weighing) or not (hearing.readings or free):
                return hearing
            return listener.weighed(sound, hearing, sentences)

        return verdict(list(self._threads.map(weighed, self.listeners, hearings)), meaning_of, limits=self.limits)


def _of_each_meaning(hearings: Sequence[Hearing], meaning_of: MeaningOf) -> list[str]:
    """One sentence of each meaning that was heard, the best readings first, and all that a listener heard as best."""
    texts = [hearing.readings[rank].text for rank in range(_most(hearings)) for hearing in _with(hearings, rank)]
    sentences: dict[Hashable, str] = {}
    for text in texts:
        if (meaning := meaning_of(text)) is not None and len(sentences) < MOST_WEIGHED:
            sentences.setdefault(meaning, text)
    return list(dict.fromkeys([*sentences.values(), *(hearing.readings[0].text for hearing in _with(hearings, 0))]))


def _most(hearings: Sequence[Hearing]) -> int:
    return max((len(hearing.readings) for hearing in hearings), default=0)


def _with(hearings: Sequence[Hearing], rank: int) -> list[Hearing]:
    return [hearing for hearing in hearings if len(hearing.readings) > rank]

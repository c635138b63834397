"""Several listeners hear the same sound at once, and one verdict comes of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from assistant.hearing.agreement import Limits, verdict
from assistant.hearing.listener import Listener, Weighing
from assistant.values import Decision, Hearing, Sound, Verdict, WordGraph

MeaningOf = Callable[[str], Hashable | None]

MOST_WEIGHED = 10
"""Meanings that every listener weighs where they differ."""


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

    def judge(self, sound: Sound, meaning_of: MeaningOf) -> Verdict:
        """Hears one remark.

        Args:
            sound: one remark, 16 kHz mono, with a little silence either side.
            meaning_of: words → a key that two sentences with the same meaning share; None if they mean nothing.

        Returns:
            Accepted, ask or unheard, with the readings that are open.
        """
        hearings = list(self._threads.map(lambda listener: listener.hear(sound), self.listeners))
        first = verdict(hearings, meaning_of, limits=replace(self.limits, least_lead=math.inf, aside_lead=math.inf))
        if first.decision is not Decision.ASK:
            return first
        # They do not all agree: each is asked what it makes of the readings of the others.
        sentences = _of_each_meaning(hearings, meaning_of)
        weighed = self._threads.map(
            lambda listener, hearing: _weighed(listener, hearing, sound, sentences), self.listeners, hearings
        )
        return verdict(list(weighed), meaning_of, limits=self.limits)


def _weighed(listener: Listener, hearing: Hearing, sound: Sound, sentences: Sequence[str]) -> Hearing:
    # One that heard nothing must not come to second another only because it was given its words.
    if not hearing.readings or not isinstance(listener, Weighing):
        return hearing
    return listener.weighed(sound, hearing, sentences)


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

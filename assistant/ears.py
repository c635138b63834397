"""Several listeners hear the same sound at once, and one verdict comes of it."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from concurrent.futures import ThreadPoolExecutor

from assistant.hearing.agreement import Limits, verdict
from assistant.hearing.listener import Listener, SecondLook
from assistant.values import Decision, Sound, Verdict, WordGraph

MeaningOf = Callable[[str], Hashable | None]


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
        first = verdict(hearings, meaning_of, limits=self.limits)
        if first.decision is Decision.ACCEPTED:
            return first
        dear = [(at, one) for at, one in enumerate(self.listeners) if isinstance(one, SecondLook)]
        for at, one in dear:
            hearings[at] = one.look_again(sound)
        return verdict(hearings, meaning_of, limits=self.limits) if dear else first

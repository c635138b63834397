"""Builds a live session from its parts: the listeners in a process of their own, the loop, and what speaks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from assistant.listening.process import Prepared
from assistant.live.parts import LiveSession, Silent
from assistant.live.parts import Mouth as Speaking
from assistant.live.recorded import Run, unfinished
from assistant.settings import Aloud
from assistant.sound.endpoint import Endpoint, EndpointSettings
from assistant.sound.player import Player
from assistant.sound.stream import Source
from assistant.voice.mouth import Manner, Mouth, Say
from assistant.voice.speaking import HibariVoice

LAST_WORDS_S = 20.0
"""So long the summary of a finished session may take to be said."""


@contextmanager
def live_session(
    run: Run,
    source: Source,
    aloud: Aloud,
    listeners: Sequence[str] | None = None,
    workers: int | None = None,
    prepared: Prepared | None = None,
) -> Iterator[LiveSession]:
    """A session that has begun and waits for `LiveLoop.run`; nobody waits for the listeners here.

    A recording is taken as in `assistant.live.recorded`: nobody hears what is said back, so that nobody answers.

    Args:
        run: the session's plan and store.
        source: where sound comes from.
        aloud: how replies are said.
        listeners: their names; None for all that can run here.
        workers: processes that listen; one if left out.
        prepared: the process of that one, if it is there already.
    """
    with run.farm.pool(listeners, workers or 1, is_apart=True, prepared=prepared) as pool:
        handling, _ = run.begin(is_attended=source.is_live)
        mouth = (
            Mouth(Player(HibariVoice.rate_hz, aloud.loudspeaker), HibariVoice, manner(aloud))
            if aloud.say != Say.NOTHING
            else None
        )
        speaking: Speaking = mouth or Silent()
        try:
            yield LiveSession(
                handling,
                run.started,
                source,
                pool,
                speaking,
                unfinished(run.store, run.farm, run.claims),
                hears_over_voice=aloud.headset,
                endpoint=Endpoint(EndpointSettings.after(aloud.pause_s)),
            )
        finally:
            if mouth is not None:
                mouth.close(LAST_WORDS_S)


def manner(aloud: Aloud) -> Manner:
    """How replies are said."""
    return Manner(Say(aloud.say), aloud.volume, aloud.rate)

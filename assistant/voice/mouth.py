"""Says replies: each kind has its tone, and words follow if there is a voice."""

from __future__ import annotations

import logging
import queue
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.errors import LibraryMissing
from assistant.session.replies import Reply
from assistant.voice.speaking import Voice
from assistant.voice.tones import tone

_log = logging.getLogger(__name__)

VOICE_PEAK, TONE_PEAK = 0.9, 0.35
"""Of full scale at volume 1."""

LONGEST_WORD_S = 20.0
"""A voice that takes longer for one sentence hangs; listening goes on."""


class Say(StrEnum):
    """How much is said aloud."""

    VOICE = "voice"
    TONES = "tones"
    NOTHING = "nothing"


@dataclass(frozen=True)
class Manner:
    """How it is said.

    Attributes:
        say: words and tones, tones alone, or nothing.
        volume: from 0 to 1.
        rate: 0.5 for half as quick, 2 for twice.
    """

    say: Say = Say.VOICE
    volume: float = 0.8
    rate: float = 1.0


class Player(Protocol):
    """What plays: see `assistant.sound.player.Player`."""

    rate_hz: int
    note: str

    @property
    def left_s(self) -> float:
        """How long it still sounds, in seconds."""

    def play(self, samples: NDArray[np.float32]) -> None: ...  # noqa: D102 - as there
    def stop(self) -> None: ...  # noqa: D102 - as there
    def close(self) -> None: ...  # noqa: D102 - as there


class Mouth:
    """Says replies in a thread of its own, one after the other.

    Args:
        player: the loudspeaker.
        start: makes the voice, in the mouth's thread so that nobody waits for it; None for tones alone.
        manner: how it is said.
        monotonic: a clock in seconds.
    """

    def __init__(
        self,
        player: Player,
        start: Callable[[], Voice] | None,
        manner: Manner,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._player = player
        self._start = start if manner.say is Say.VOICE else None
        self._manner = manner
        self._monotonic = monotonic
        self._voice: Voice | None = None
        self._trouble = ""
        self._replies: queue.Queue[tuple[int, Reply] | None] = queue.Queue()
        self._begun: float | None = None
        self._ends = -np.inf
        self._turn = 0
        self.first_sounds_s: deque[float] = deque(maxlen=1000)
        self._thread = threading.Thread(target=self._run, name="mouth", daemon=True)
        self._thread.start()

    @property
    def is_speaking(self) -> bool:
        """Whether words are being said, or about to be. Tones do not count: no voice detector takes them for speech."""
        now = self._monotonic()
        begun = self._begun
        return now < self._ends or (begun is not None and now - begun < LONGEST_WORD_S)

    @property
    def note(self) -> str:
        """Why nothing, or less, is said aloud; empty if all is well."""
        return self._player.note or self._trouble

    def say(self, replies: Sequence[Reply]) -> None:
        """Says replies after those before them; returns at once."""
        if self._manner.say is Say.NOTHING:
            return
        for reply in replies:
            self._replies.put((self._turn, reply))

    def hush(self) -> None:
        """Stops speaking, and lets go what waits to be said."""
        self._turn += 1
        self._player.stop()
        self._ends = self._monotonic() + self._player.left_s

    def close(self, patience_s: float = 0.0) -> None:
        """Says what is left, for so long at most, and ends."""
        ends = self._monotonic() + patience_s
        self._replies.put(None)
        self._thread.join(patience_s)
        while self._player.left_s > 0 and self._monotonic() < ends:
            time.sleep(0.02)
        self._player.close()

    # ----------------------------------------------------------------------------------------------- in its thread

    def _run(self) -> None:
        if self._start is not None:
            try:
                self._voice = self._start()
            except LibraryMissing as error:
                self._trouble = str(error)
            except Exception as error:  # noqa: BLE001 - whatever a library of the voice comes to, tones are left
                self._trouble = f"The voice cannot be started, so replies are tones: {error}"
        while (waiting := self._replies.get()) is not None:
            try:
                self._say(*waiting)
            except Exception as error:  # noqa: BLE001 - what a voice cannot say must not silence what comes after
                self._begun = None
                _log.warning("a reply could not be said: %s", type(error).__name__)

    def _say(self, turn: int, reply: Reply) -> None:
        if turn != self._turn:
            return
        self._begun = self._monotonic()
        self._player.play(TONE_PEAK * self._manner.volume * tone(reply.kind, self._player.rate_hz))
        if reply.text and self._voice is not None:
            self._speak(self._voice, reply.text, turn)
        self._begun = None

    def _speak(self, voice: Voice, text: str, turn: int) -> None:
        for n, samples in enumerate(voice.speak(text, self._manner.rate)):
            if turn != self._turn:
                return
            if n == 0 and self._begun is not None:
                self.first_sounds_s.append(self._monotonic() - self._begun)
            loudest = float(np.abs(samples).max(initial=0.0)) or 1.0
            self._player.play(samples * np.float32(VOICE_PEAK * self._manner.volume / loudest))
            self._ends = self._monotonic() + self._player.left_s

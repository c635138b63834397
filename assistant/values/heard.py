"""What is heard: a sound, the sentences listened for, what each listener makes of it, and the joint judgement."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class Sound:
    """One stretch of mono sound.

    Attributes:
        samples: float32, shape (n,), in [-1, 1].
        rate_hz: samples a second.
        start_s: where it begins in the recording or stream that it comes from, in seconds.
        lacks_start: whether speech went on before it that was not taken.
    """

    samples: NDArray[np.float32]
    rate_hz: int
    start_s: float = 0.0
    lacks_start: bool = False

    @property
    def length_s(self) -> float:
        """Duration in seconds, at least 0.0."""
        return len(self.samples) / self.rate_hz

    @property
    def end_s(self) -> float:
        """Where it ends in its recording, in seconds."""
        return self.start_s + self.length_s


@dataclass(frozen=True, slots=True)
class Arc:
    """One word between two states of a `WordGraph`; `cost` is a negative natural log of its share, at least 0."""

    source: int
    target: int
    word: str
    cost: float = 0.0


@dataclass(frozen=True)
class WordGraph:
    """A deterministic, minimal acceptor of every sentence of a grammar: what a listener searches.

    Attributes:
        start: the state where a sentence begins.
        finals: the states where it may end.
        arcs: the words; no arc is silent.
        n_states: states are 0 … n_states - 1.
    """

    start: int
    finals: frozenset[int]
    arcs: tuple[Arc, ...]
    n_states: int

    @property
    def words(self) -> frozenset[str]:
        """Every word that a sentence can hold."""
        return frozenset(arc.word for arc in self.arcs)


@dataclass(frozen=True, slots=True)
class HeardWord:
    """A word as heard; times in seconds from the start of the sound, score in the listener's own scale."""

    text: str
    start_s: float
    end_s: float
    score: float = 0.0


@dataclass(frozen=True)
class Reading:
    """One sentence that a listener takes the sound for.

    Attributes:
        words: the words in order; without fillers.
        score: log-likelihood (natural log) of the whole reading in the listener's own scale; higher is better.
    """

    words: tuple[HeardWord, ...]
    score: float

    @property
    def text(self) -> str:
        """The words with single spaces between them."""
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True)
class Hearing:
    """What one listener made of one sound.

    Attributes:
        listener: name of the listener.
        readings: complete sentences of the grammar, best first; empty if none was reached.
        strain: how much worse the best reading fits the sound than unconstrained speech would, as cost per second of
            speech, at least 0; None if the listener can't say. Small for a sentence of the grammar, large for others.
    """

    listener: str
    readings: tuple[Reading, ...]
    strain: float | None = None


class Decision(StrEnum):
    """What becomes of a remark. An aside is said to the animal or to somebody else, and let go without a word."""

    ACCEPTED = "accepted"
    ASK = "ask"
    ASIDE = "aside"
    UNHEARD = "unheard"


@dataclass(frozen=True)
class Verdict:
    """The listeners' joint judgement on one sound.

    Attributes:
        decision: what becomes of it.
        reason: why, in plain words.
        choices: the readings that are still open, best first, as words; one if accepted, the words of an aside
            if they are known, none if unheard.
        hearings: what each listener heard.
        sureness: probability of the first choice, as the scores of the listeners have it.
        rivals: if asked, the readings that stand against each other, as words: those not much less likely than the
            first. What all of them have in common is agreed on. None if fewer than two listeners hold one of them.
        is_close: if accepted, whether another reading was not far behind: then the keeper should hear what was taken.
            Of an aside, whether fewer than two listeners have one as their best.
    """

    decision: Decision
    reason: str
    choices: tuple[str, ...]
    hearings: tuple[Hearing, ...] = ()
    sureness: float | None = None
    rivals: tuple[str, ...] = ()
    is_close: bool = False

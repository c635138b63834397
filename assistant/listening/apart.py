"""What is said to the animal in one breath with a remark is heard apart from it.

"Left hind, trimmed … good girl": the grammar knows remarks and asides, but no sentence of both; the graph of those
would be five to fifty times as large. So a sound that is not surely a remark is cut at its pauses; if a piece is an
aside, the verdict is that of the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from assistant.values import Decision, Sound, Verdict

LONGEST_S = 2.0
"""Asides are short; what is longer is not tried as one."""

MOST_PAUSES = 6
"""What has more is talk, and would take long to hear piece by piece."""

MARGIN_S = 0.1
"""Of a pause, so much is left at either side at most."""

LEAST_STRAIN = 8.0
"""Of sounds with an aside in them 95 % strain the phonemes more, of remarks alone a quarter; the rest need not wait."""

HESITATIONS = frozenset(("um", "er", "hmm", "mm"))

Judge = Callable[[Sound], Verdict]
Pause = tuple[float, float]
"""From when to when, in seconds from the beginning of a sound."""


def asides_apart(judge: Judge, pauses: Callable[[Sound], Sequence[Pause]]) -> Judge:
    """Judges a sound as `judge` does, and once more without an aside that is part of it where that is in doubt.

    Args:
        judge: hears one remark or aside.
        pauses: the pauses inside a sound, in their order.
    """

    def judged(sound: Sound) -> Verdict:
        whole = judge(sound)
        if (whole.decision is Decision.ACCEPTED and not whole.is_close) or not _may_hold_more(whole):
            return whole
        for piece, rest in _cuts(sound, pauses(sound)):
            aside = judge(piece)
            if _is_aside(aside):
                found = judged(rest)
                if found.decision is Decision.ACCEPTED:
                    # What was left out may be missed, so what is taken is said back.
                    return replace(found, is_close=True)
                is_sure = whole.decision is not Decision.ASIDE and not aside.is_close
                if found.decision is Decision.ASK and (is_sure or whole.decision is Decision.UNHEARD):
                    return found
        return whole

    return judged


def _may_hold_more(verdict: Verdict) -> bool:
    """Whether there may be more in the sound than the remark that was heard."""
    strains = [one.strain for one in verdict.hearings if one.listener == "phonemes" and one.strain is not None]
    return not strains or min(strains) > LEAST_STRAIN


def _is_aside(verdict: Verdict) -> bool:
    """Whether a piece can be left out. One word alone, or what sounds like nothing known, may be part of the remark.

    "Bathed" may sound like "behave", and "back" belongs to "left … back".
    """
    words = verdict.choices[0] if verdict.decision is Decision.ASIDE and verdict.choices else ""
    return " " in words or words in HESITATIONS


def _cuts(sound: Sound, pauses: Sequence[Pause]) -> Iterator[tuple[Sound, Sound]]:
    """A short piece between pauses, and the rest: the first piece, the last, then those inside."""
    starts_s = [0.0, *(end_s - MARGIN_S for _, end_s in pauses)]
    ends_s = [*(start_s + MARGIN_S for start_s, _ in pauses), sound.length_s]
    last = len(pauses)
    for at in (0, last, *range(1, last)) if 0 < last <= MOST_PAUSES else ():
        if ends_s[at] - starts_s[at] <= LONGEST_S:
            before = [_part(sound, 0.0, ends_s[at - 1])] if at else []
            after = [_part(sound, starts_s[at + 1], sound.length_s)] if at < last else []
            yield _part(sound, starts_s[at], ends_s[at]), _joined(*before, *after)


def _part(sound: Sound, start_s: float, end_s: float) -> Sound:
    start, end = round(start_s * sound.rate_hz), round(end_s * sound.rate_hz)
    return replace(sound, samples=sound.samples[start:end], start_s=sound.start_s + start / sound.rate_hz)


def _joined(first: Sound, *others: Sound) -> Sound:
    return replace(first, samples=np.concatenate([first.samples, *(other.samples for other in others)]))

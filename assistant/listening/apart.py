"""What is said to the animal in one breath with a remark is heard apart from it.

"Left hind, trimmed … good girl": the grammar knows remarks and asides, but no sentence of both; the graph of those
would be five to fifty times as large. So a sound that is not surely a remark is cut at its first and at its last pause;
if the shorter piece is an aside, the verdict is that of the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from assistant.values import Decision, Sound, Verdict

LONGEST_S = 2.0
"""Asides are short; what is longer is not tried as one."""

MARGIN_S = 0.1
"""Of a pause, so much is left at either side at most."""

Judge = Callable[[Sound], Verdict]
Pause = tuple[float, float]
"""From when to when, in seconds from the beginning of a sound."""


def asides_apart(judge: Judge, pauses: Callable[[Sound], Sequence[Pause]]) -> Judge:
    """Judges a sound as `judge` does, and once more without an aside before or after it where that is in doubt.

    Args:
        judge: hears one remark or aside.
        pauses: the pauses inside a sound, in their order.
    """

    def judged(sound: Sound) -> Verdict:
        whole = judge(sound)
        if whole.decision is Decision.ACCEPTED and not whole.is_close:
            return whole
        for aside, rest in _cuts(sound, pauses(sound)):
            # One without words may be part of the remark, said so briefly that it sounds like nothing known.
            if (heard := judge(aside)).decision is Decision.ASIDE and heard.choices:
                found = judged(rest)
                # After one aside comes another rather than a remark that nobody is sure of.
                if found.decision is Decision.ACCEPTED or (found.choices and whole.decision is not Decision.ASIDE):
                    return found
        return whole

    return judged


def _cuts(sound: Sound, pauses: Sequence[Pause]) -> list[tuple[Sound, Sound]]:
    """What may be an aside, and the rest: cut at the first pause, and at the last."""
    if not pauses:
        return []
    (first, begins_s), (ends_s, last) = pauses[0], pauses[-1]
    cuts = []
    if first <= LONGEST_S:
        cuts.append((_part(sound, 0.0, first + MARGIN_S), _part(sound, begins_s - MARGIN_S, sound.length_s)))
    if sound.length_s - last <= LONGEST_S:
        cuts.append((_part(sound, last - MARGIN_S, sound.length_s), _part(sound, 0.0, ends_s + MARGIN_S)))
    return cuts


def _part(sound: Sound, start_s: float, end_s: float) -> Sound:
    start, end = round(start_s * sound.rate_hz), round(end_s * sound.rate_hz)
    return replace(sound, samples=sound.samples[start:end], start_s=sound.start_s + start / sound.rate_hz)

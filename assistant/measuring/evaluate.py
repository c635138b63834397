"""How well recordings with known meanings are heard: figures that anyone can repeat.

Flow only: reads no file and builds no listener itself; sounds and the judge arrive as arguments.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from assistant.meaning.canonical import meaning_key
from assistant.values import Decision, Scope, Sound, Verdict

KINDS = ("slots", "expect", "words", "animal")
"""The keys of a manifest line that say what is expected; a line has one of them."""


@dataclass(frozen=True)
class Case:
    """One line of a manifest: a recording and what it should come to.

    Attributes:
        audio: the recording as the manifest names it.
        kind: one of `KINDS`.
        expected: the value of that key.
        scope: the place that was open before it.
    """

    audio: str
    kind: str
    expected: Any
    scope: Scope = field(default_factory=Scope)


@dataclass(frozen=True)
class Failure:
    """A case whose first guess was not the expected meaning."""

    audio: str
    expected: Any
    heard: Any
    decision: str

    def flat(self) -> dict[str, Any]:
        """The failure as a plain object for `--json`."""
        return {"audio": self.audio, "expected": self.expected, "heard": self.heard, "decision": self.decision}


@dataclass
class Band:
    """Cases whose first guess had a probability between two bounds: what was claimed, and what came true.

    Attributes:
        above: lower bound of the probability; the upper one is that of the next band.
        claimed: sum of the probabilities.
    """

    above: float
    n: int = 0
    claimed: float = 0.0
    right: int = 0
    accepted: int = 0
    accepted_wrong: int = 0

    def flat(self) -> dict[str, Any]:
        """The band as a plain object for `--json`, with means in place of sums."""
        return {
            "above": self.above,
            "n": self.n,
            "claimed": round(self.claimed / self.n, 4) if self.n else None,
            "came_true": round(self.right / self.n, 4) if self.n else None,
            "accepted": self.accepted,
            "accepted_wrong": self.accepted_wrong,
        }


BOUNDS = (0.0, 0.5, 0.8, 0.9, 0.98, 0.998)
"""Lower bounds of the bands of the reliability table."""


@dataclass
class Score:
    """Figures of one run; counts are numbers of cases, times in seconds.

    Attributes:
        right: first guess is exactly the expected meaning.
        right_labelled: every labelled slot has its value (slots only; the rule of published results).
        accepted_wrong: accepted without a question although the first guess is not right.
        silent: accepted, and clear enough not to be said back.
        silent_wrong: of these, those with a first guess that is not right.
        aside: taken for something said to the animal or a helper.
        in_part: asked about, with facts that the listeners agree on and that are recorded before the answer.
        in_part_wrong: of these, those with such a fact that was not said.
        reliability: the same by how sure the listeners were of the first guess.
    """

    n: int = 0
    right: int = 0
    right_labelled: int = 0
    accepted: int = 0
    accepted_wrong: int = 0
    silent: int = 0
    silent_wrong: int = 0
    asked: int = 0
    in_part: int = 0
    in_part_wrong: int = 0
    aside: int = 0
    unheard: int = 0
    audio_s: float = 0.0
    took_s: list[float] = field(default_factory=list)
    failures: list[Failure] = field(default_factory=list)
    reliability: list[Band] = field(default_factory=lambda: [Band(above) for above in BOUNDS])

    def flat(self) -> dict[str, Any]:
        """The object that `assistant evaluate --json` prints."""
        return {
            "n": self.n,
            "right": self.right,
            "right_labelled": self.right_labelled,
            "accepted": self.accepted,
            "accepted_wrong": self.accepted_wrong,
            "silent": self.silent,
            "silent_wrong": self.silent_wrong,
            "asked": self.asked,
            "in_part": self.in_part,
            "in_part_wrong": self.in_part_wrong,
            "aside": self.aside,
            "unheard": self.unheard,
            "real_time_factor": round(sum(self.took_s) / self.audio_s, 4) if self.audio_s else 0.0,
            "latency_p50_s": round(_quantile(self.took_s, 0.5), 4),
            "latency_p95_s": round(_quantile(self.took_s, 0.95), 4),
            "reliability": [band.flat() for band in self.reliability],
            "failures": [failure.flat() for failure in self.failures],
        }


@dataclass(frozen=True)
class Examiner:
    """What turns a first guess into something that can be compared with the expectation.

    Attributes:
        judge: hears one remark.
        guess: (case, words) → the plain value that the words come to, in the form of the manifest; None for no meaning.
        key: (kind, plain value) → what two equal meanings share.
        agreed: the facts that the listeners agree on where they must be asked about the rest, as plain objects.
        meaning_of: words → what two sentences of one meaning share, as the verdict is formed with; None for no meaning.
        cut: recording → the remark in it.
    """

    judge: Callable[[Sound], Verdict]
    guess: Callable[[Case, str], Any]
    key: Callable[[str, Any], Hashable]
    agreed: Callable[[Verdict], Sequence[Mapping[str, Any]]] = lambda verdict: ()
    meaning_of: Callable[[str], Hashable | None] = lambda words: words
    cut: Callable[[Sound], Sound] = lambda sound: sound


def evaluate(cases: Iterable[tuple[Case, Sound]], examiner: Examiner) -> Score:
    """Hears every case and counts.

    Args:
        cases: each with its sound, mono 16 kHz, as long as the recording.
        examiner: judge and comparison.

    Returns:
        The figures; the time of a case runs from the cut-out remark to the verdict: a session cuts while it listens.
    """
    score = Score()
    for case, recording in cases:
        sound = examiner.cut(recording)
        began = time.perf_counter()
        verdict = examiner.judge(sound)
        score.took_s.append(time.perf_counter() - began)
        score.audio_s += sound.length_s
        _count(score, case, verdict, examiner)
    return score


def _count(score: Score, case: Case, verdict: Verdict, examiner: Examiner) -> None:
    heard = examiner.guess(case, verdict.choices[0]) if verdict.choices else None
    is_negative = case.kind == "expect" and not case.expected
    if verdict.choices:
        is_right = examiner.key(case.kind, heard) == examiner.key(case.kind, case.expected)
    else:
        is_right = is_negative
    score.n += 1
    score.right += is_right
    if case.kind == "slots":
        score.right_labelled += _has_labelled(heard, case.expected)
    score.accepted += verdict.decision is Decision.ACCEPTED
    score.asked += verdict.decision is Decision.ASK
    score.aside += verdict.decision is Decision.ASIDE
    score.unheard += verdict.decision is Decision.UNHEARD
    score.accepted_wrong += verdict.decision is Decision.ACCEPTED and not is_right
    is_silent = verdict.decision is Decision.ACCEPTED and not verdict.is_close
    score.silent += is_silent
    score.silent_wrong += is_silent and not is_right
    if case.kind == "expect" and (facts := examiner.agreed(verdict)):
        score.in_part += 1
        score.in_part_wrong += meaning_key([*facts, *case.expected]) != meaning_key(case.expected)
    if verdict.sureness is not None:
        _claim(score.reliability, verdict, verdict.sureness, is_right)
    if not is_right:
        score.failures.append(Failure(case.audio, case.expected, heard, verdict.decision.value))


def _claim(bands: Sequence[Band], verdict: Verdict, sureness: float, is_right: bool) -> None:
    band = next(band for band in reversed(bands) if sureness >= band.above)
    band.n += 1
    band.claimed += sureness
    band.right += is_right
    band.accepted += verdict.decision is Decision.ACCEPTED
    band.accepted_wrong += verdict.decision is Decision.ACCEPTED and not is_right


def _has_labelled(heard: Mapping[str, str] | None, labelled: Mapping[str, str]) -> bool:
    return heard is not None and all(heard.get(slot) == value for slot, value in labelled.items())


def _quantile(values: Sequence[float], share: float) -> float:
    """The smallest value that at least `share` of the values do not exceed; 0.0 if there is none."""
    if not values:
        return 0.0
    return sorted(values)[max(0, math.ceil(share * len(values)) - 1)]

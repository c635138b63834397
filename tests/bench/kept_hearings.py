"""Keeps what the listeners heard, so that a verdict can be formed anew without hearing again.

A line for each sound, found again by the digest of its samples; what was heard before a break need not be heard again.
Which programs heard is not in it: a file belongs to one state of the listeners, its verdicts to that of the rules.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from assistant.hearing.agreement import verdict
from assistant.measuring.evaluate import Examiner
from assistant.values import HeardWord, Hearing, Reading, Sound, Verdict


def keeping(examiner: Examiner, file: Path) -> Examiner:
    """The examiner, with what it hears kept in a file and taken from there."""
    lines = file.read_text(encoding="utf-8").splitlines() if file.exists() else []
    heard = {line["sound"]: line for line in map(json.loads, lines)}

    def judge(sound: Sound) -> Verdict:
        digest = hashlib.sha256(sound.samples.tobytes()).hexdigest()
        if digest not in heard:
            found = examiner.judge(sound)
            formed = verdict(found.hearings, examiner.meaning_of)
            # What was heard apart from an aside, or freely worded, is said back however sure the listeners are.
            line = {"sound": digest, "is_said_back": found.is_close and not formed.is_close}
            heard[digest] = line | {"hearings": [asdict(one) for one in found.hearings]}
            with file.open("a", encoding="utf-8") as kept:
                kept.write(json.dumps(heard[digest]) + "\n")
        formed = verdict(_hearings(heard[digest]["hearings"]), examiner.meaning_of)
        return replace(formed, is_close=formed.is_close or heard[digest]["is_said_back"])

    return replace(examiner, judge=judge)


def _hearings(lines: list[dict[str, Any]]) -> tuple[Hearing, ...]:
    return tuple(Hearing(one["listener"], tuple(map(_reading, one["readings"])), one["strain"]) for one in lines)


def _reading(line: dict[str, Any]) -> Reading:
    return Reading(tuple(HeardWord(**word) for word in line["words"]), line["score"])

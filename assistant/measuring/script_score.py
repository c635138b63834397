"""A recorded session against the script that it was made from: what was recorded right, asked, missed or wrong."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from assistant.live.handling import Outcome
from assistant.meaning.canonical import PartKey, meaning_key
from assistant.values import Decision, Entry

ENTRY_KEYS = frozenset({"finding", "action", "measure", "follow_up", "trait", "mark", "tag"})
"""The keys of parts that become entries."""

MOVES_ENTRIES = frozenset({"correct", "scratch", "yes", "no"})
"""Commands after which entries of an earlier remark may change."""


@dataclass(frozen=True)
class Line:
    """One line of the script: when it is said, whom its facts are about, and the parts that it should come to."""

    start_s: float
    end_s: float
    words: str
    animal: str | None
    expect: tuple[Mapping[str, Any], ...]


@dataclass(frozen=True)
class ScriptScore:
    """Figures of one recording.

    Attributes:
        remarks: lines that mean something; `understood` of them were taken at first guess for just what they mean.
        talk: lines that mean nothing; `talk_recorded` of them were accepted or put something on record.
        entries: facts that should come of the session; of these `recorded` were put on the right animal without a
            question, and `asked` were the first guess of a question that nobody answered.
        wrong: facts that were put on record and should not have been.
        misses: lines that were not understood at first guess, with what was heard instead.
    """

    remarks: int
    understood: int
    talk: int
    talk_recorded: int
    entries: int
    recorded: int
    asked: int
    wrong: int
    misses: tuple[tuple[str, str], ...]

    @property
    def entries_right(self) -> float:
        """Share of the entries that were recorded right or offered first in a question."""
        return (self.recorded + self.asked) / self.entries if self.entries else 1.0


def script_score(
    lines: Sequence[Line], outcomes: Sequence[Outcome], label: Callable[[str], str], same: Callable[[str], str]
) -> ScriptScore:
    """Compares.

    Args:
        lines: the script.
        outcomes: what the session made of each stretch of speech.
        label: animal id → its name as the script has it.
        same: gives mentions of one animal the same text.
    """
    tally = dict.fromkeys(
        ("remarks", "understood", "talk", "talk_recorded", "entries", "recorded", "asked", "wrong"), 0
    )
    misses: list[tuple[str, str]] = []
    for line in lines:
        heard = [outcome for outcome in outcomes if _overlap_s(line, outcome) > 0]
        entries = [entry for outcome in heard for entry in outcome.entries]
        if not line.expect:
            tally["talk"] += 1
            accepted = any(o.remark.verdict and o.remark.verdict.decision is Decision.ACCEPTED for o in heard)
            tally["talk_recorded"] += accepted or bool(entries)
            tally["wrong"] += len(entries)
            continue
        tally["remarks"] += 1
        guesses = [part for outcome in heard for part in outcome.remark.meaning.parts]
        if meaning_key(guesses, same) == meaning_key(line.expect, same):
            tally["understood"] += 1
        else:
            misses.append((line.words, " + ".join(outcome.remark.words or "—" for outcome in heard) or "—"))
        _count_entries(tally, line, entries, meaning_key(guesses, same), label)
    return ScriptScore(**tally, misses=tuple(misses))


def _count_entries(
    tally: dict[str, int],
    line: Line,
    entries: Sequence[Entry],
    guesses: frozenset[PartKey],
    label: Callable[[str], str],
) -> None:
    if any(flat.get("command") in MOVES_ENTRIES for flat in line.expect) and not _facts(line):
        return
    wanted = {next(iter(meaning_key([flat]))) for flat in _facts(line)}
    made = {next(iter(meaning_key([entry.part]))) for entry in entries if label(entry.animal) == line.animal}
    tally["entries"] += len(wanted)
    tally["recorded"] += len(wanted & made)
    tally["asked"] += len((wanted - made) & guesses)
    tally["wrong"] += len(entries) - len(wanted & made)


def _facts(line: Line) -> list[Mapping[str, Any]]:
    return [flat for flat in line.expect if ENTRY_KEYS & set(flat) and "command" not in flat and "question" not in flat]


def _overlap_s(line: Line, outcome: Outcome) -> float:
    return min(line.end_s, outcome.remark.end_s - 0.3) - max(line.start_s, outcome.remark.start_s + 0.2)

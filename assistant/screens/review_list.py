"""How a session that is put right is listed: what needs a decision first, then the facts of each animal."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.records.reviewing import Reviewing
from assistant.report.summary import words_of
from assistant.screens.lines import Line
from assistant.screens.palette import KEPT
from assistant.screens.review_detail import MARK_OF
from assistant.values import State

CASE, LINE, HEAD = "case:", "line:", "#"
"""What the keys of lines begin with: a remark that waits, a fact, a heading."""

_DECIDE = f"{HEAD}decide"
_TONES = {State.HEARD: "plain", State.CONFIRMED: "good", State.CORRECTED: "done", State.WITHDRAWN: "quiet"}


class ReviewList:
    """The lines of a session as they stand now.

    Args:
        reviewing: the session.
    """

    def __init__(self, reviewing: Reviewing) -> None:
        self._reviewing = reviewing
        self.has_withdrawn = False
        self.n_facts = self.n_animals = 0
        self._order: tuple[tuple[int, bool], list[str]] | None = None
        self._groups: dict[str, tuple[list[str], list[str]]] = {}

    def keys(self) -> list[str]:
        """The key of each line, in order; kept, for most decisions leave every line where it is."""
        when = self._reviewing.n_moved, self.has_withdrawn
        if self._order is None or self._order[0] != when:
            self._order = when, self._in_order()
        return self._order[1]

    def _in_order(self) -> list[str]:
        review = self._reviewing.review
        groups = review.live()
        if self.has_withdrawn:
            for line, versions in review.lines.items():
                if versions[-1].state is State.WITHDRAWN:
                    groups.setdefault(versions[-1].animal, []).append(line)
        self.n_facts, self.n_animals = sum(map(len, groups.values())), len(groups)
        keys = [_DECIDE, *map(CASE.__add__, review.open)] if review.open else []
        for animal, lines in groups.items():
            keys += self._group(animal, lines)
        return keys

    def _group(self, animal: str, lines: list[str]) -> list[str]:
        """The keys of an animal, made anew only when its lines are others."""
        made = self._groups.get(animal)
        if made is None or made[0] != lines:
            made = self._groups[animal] = lines, [f"{HEAD}{animal}", *map(LINE.__add__, lines)]
        return made[1]

    def touched(self) -> str:
        """The key of what was last decided on, if it is listed now; empty if nothing was."""
        subject = self._reviewing.touched
        review = self._reviewing.review
        if subject in review.open:
            return CASE + subject
        return LINE + subject if subject in review.lines else ""

    def line(self, key: str) -> Line:
        """How a line reads."""
        return Line(key, tuple(self._runs(key)))

    def _runs(self, key: str) -> Iterator[tuple[str, str]]:
        review, label = self._reviewing.review, self._reviewing.holding.label
        if key.startswith(HEAD):
            yield ("To decide" if key == _DECIDE else label(key[1:])), "strong"
        elif case := id_in(key, CASE):
            said = self._reviewing.said(case)
            yield f"{KEPT} ", "kept"
            yield (said.remark.words if said else "") or "not understood", "plain"
            likely = review.known[case].animals
            yield (f"  {label(likely[0])}?" if likely else ""), "quiet"
        else:
            tip = review.tip(id_in(key, LINE))
            yield f"{MARK_OF[tip.state]} {words_of(tip.part)}", _TONES[tip.state]


def id_in(key: str, kind: str) -> str:
    """The id in a key of this kind; empty if it is of another."""
    return key[len(kind) :] if key.startswith(kind) else ""

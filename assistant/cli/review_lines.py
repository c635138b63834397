"""The review in typed lines: the same decisions as on the screen, for screen readers, slow lines and scripts."""

from __future__ import annotations

import sys
from collections.abc import Callable

import click

from assistant.errors import AssistantError
from assistant.records.reviewing import Reviewing, facts_of
from assistant.register.mention import Matched
from assistant.report.summary import words_of
from assistant.screens.review_detail import case_detail, line_detail
from assistant.session.review import Fact
from assistant.values import Part

HELP = """\
list                 what there is, with numbers; what needs a decision comes first
show N               all about number N: what was said, how it was heard, its history
accept N [M]         N is right; of a remark that needs a decision: its reading M, the first if left out
right N WORDS        what is right instead, as in: right 4 left hind crack, trimmed
animal N NAME        it is about another animal
withdraw N           it does not hold; of a remark: nothing is to be recorded
add NAME: WORDS      records something more, as in: add tansy: left hind crack
undo, redo           takes the last decision back, or makes it again
quit                 ends
"""


class Trouble(Exception):
    """A line cannot be carried out; the message says why."""


class ReviewLines:
    """One session put right by typed lines."""

    def __init__(self, desk: Reviewing) -> None:
        self.desk = desk
        self._deeds: dict[str, Callable[[str], str]] = {
            "list": self._list,
            "show": self._show,
            "accept": self._accept,
            "right": self._right,
            "animal": self._animal,
            "withdraw": self._withdraw,
            "add": self._add,
            "undo": lambda _: desk.undo(),
            "redo": lambda _: desk.redo(),
            "help": lambda _: HELP.rstrip(),
        }
        self._keys: list[tuple[str, str]] = []
        self._list("")

    def carry_out(self, line: str) -> str:
        """What one typed line leads to, as text."""
        name, _, rest = line.strip().partition(" ")
        deed = self._deeds.get(name.casefold())
        if deed is None:
            return f"There is no {name!r}. These there are:\n{HELP.rstrip()}"
        try:
            return deed(rest.strip())
        except (Trouble, AssistantError) as error:
            return str(error)

    def _list(self, _: str) -> str:
        """Numbers stay as they are until the next list."""
        review, label = self.desk.review, self.desk.holding.label
        self._keys = [("case", remark) for remark in review.open]
        rows = []
        for n, (_kind, remark) in enumerate(self._keys, start=1):
            said = self.desk.said(remark)
            rows.append(f"{n}. to decide: {said.remark.words if said and said.remark.words else 'not understood'}")
        for animal, lines in review.live().items():
            rows.append(label(animal))
            for line in lines:
                self._keys.append(("line", line))
                tip = review.tip(line)
                rows.append(f"{len(self._keys)}. {words_of(tip.part)}, {tip.state}")
        return "\n".join(rows) or "Nothing is recorded in this session."

    def _at(self, text: str) -> tuple[str, str]:
        n = _number(text.split(" ", 1)[0])
        if not 1 <= n <= len(self._keys):
            raise Trouble(f"Which one? Give a number from 1 to {len(self._keys)}; list shows them.")
        return self._keys[n - 1]

    def _show(self, rest: str) -> str:
        kind, key = self._at(rest)
        if kind == "line":
            return line_detail(self.desk, key).plain
        return case_detail(self.desk, self.desk.review.known[key]).plain

    def _accept(self, rest: str) -> str:
        kind, key = self._at(rest)
        if kind == "line":
            self.desk.accept(key)
            return "Accepted."
        readings = [one for one in self.desk.readings(key) if facts_of(one.meaning)]
        n = _number(rest.partition(" ")[2].strip() or "1")
        if not 1 <= n <= len(readings):
            raise Trouble(f"It has {len(readings)} readings with something to record; right N WORDS says another.")
        return self._reread(key, facts_of(readings[n - 1].meaning))

    def _right(self, rest: str) -> str:
        kind, key = self._at(rest)
        tip = self.desk.review.tip(key) if kind == "line" else None
        parts = self._parts(rest.partition(" ")[2], getattr(tip.part, "place", None) if tip else None)
        if tip is None:
            return self._reread(key, parts)
        self._check(tip.animal, parts)
        if len(parts) == 1:
            self.desk.change(key, Fact(tip.animal, parts[0]))
        else:
            self.desk.split(key, parts)
        return "Changed."

    def _reread(self, remark: str, parts: tuple[Part, ...], animal: str = "") -> str:
        likely = self.desk.whom(remark)
        if not animal and len(likely) != 1:
            raise Trouble("It is not sure which animal it is about: say so with animal N NAME.")
        self._check(animal or likely[0], parts)
        self.desk.reread(remark, animal or likely[0], parts)
        return f"Recorded on {self.desk.holding.label(animal or likely[0])}."

    def _animal(self, rest: str) -> str:
        kind, key = self._at(rest)
        animal = self._named(rest.partition(" ")[2])
        if kind == "line":
            self.desk.change(key, Fact(animal, self.desk.review.tip(key).part))
            return f"Moved to {self.desk.holding.label(animal)}."
        readings = [one for one in self.desk.readings(key) if facts_of(one.meaning)]
        if not readings:
            raise Trouble("Nothing in it was understood: add NAME: WORDS records it, withdraw N closes it.")
        return self._reread(key, facts_of(readings[0].meaning), animal)

    def _withdraw(self, rest: str) -> str:
        kind, key = self._at(rest)
        if kind == "line":
            self.desk.withdraw(key)
            return "Withdrawn."
        self.desk.dismiss(key)
        return "Nothing is recorded from it."

    def _add(self, rest: str) -> str:
        name, colon, words = rest.partition(":")
        if not colon:
            raise Trouble("Put a colon after the name, as in: add tansy: left hind crack")
        animal = self._named(name)
        parts = self._parts(words, None)
        self._check(animal, parts)
        self.desk.add(animal, words.strip(), parts)
        return f"Recorded on {self.desk.holding.label(animal)}."

    def _named(self, name: str) -> str:
        match = self.desk.holding.interpreter().match(name.strip())
        if match.decision is not Matched.ONE:
            raise Trouble(f"Which animal is {name.strip()!r}? Give its name or number in full.")
        return match.candidates[0].animal.id

    def _parts(self, words: str, place: str | None) -> tuple[Part, ...]:
        meaning = self.desk.read(words, place)
        if meaning.unplaced:
            raise Trouble(f"Not understood: {meaning.unplaced}.")
        if not facts_of(meaning):
            raise Trouble("There is nothing to record in that.")
        return facts_of(meaning)

    def _check(self, animal: str, parts: tuple[Part, ...]) -> None:
        for part in parts:
            if problem := self.desk.problem(Fact(animal, part)):
                raise Trouble(problem)


def _number(text: str) -> int:
    """The number that is typed; 0 if it is none, or longer than any list."""
    return int(text) if text.isdecimal() and len(text) < 9 else 0


def review_by_lines(desk: Reviewing) -> int:
    """Puts a session right by the lines of the input, until `quit` or its end."""
    lines = ReviewLines(desk)
    is_watched = sys.stdin.isatty()
    click.echo(lines.carry_out("list"))
    if is_watched:
        click.echo("help lists what can be typed.", err=True)
    while True:
        try:
            line = input("> " if is_watched else "")
        except EOFError:
            return 0
        if line.strip().casefold() in ("quit", "exit", "q"):
            return 0
        if line.strip():
            click.echo(lines.carry_out(line))

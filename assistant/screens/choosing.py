"""Two sheets that ask for something: one out of a list that narrows as one types, and a remark typed in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from rapidfuzz import fuzz, process
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.events import Key
from textual.suggester import Suggester
from textual.widgets import Input, Static

from assistant.screens.lines import Line, Lines
from assistant.screens.over import Over, write

SEEN = 12
"""So many lines of a list are shown at once."""

WIDTH, MOST_ROWS = 68, 3
"""Columns of a title before the sheet has been laid out, and so many rows at most."""

ALIKE = 70
"""Words at least so alike, of a hundred, are offered where nothing begins as typed."""


@dataclass(frozen=True)
class Choice:
    """Something to choose: how it reads, and further words by which it is found."""

    key: str
    text: str
    also: str = ""

    @cached_property
    def plain(self) -> str:
        """All of it in small letters."""
        return f"{self.text} {self.also}".casefold()

    @cached_property
    def words(self) -> tuple[str, ...]:
        """Its words in small letters; a letter typed looks through those of the whole register."""
        return tuple(self.plain.replace(",", " ").split())


def narrowed(choices: Sequence[Choice], typed: str) -> list[Choice]:
    """The choices that what was typed fits, those that begin so first; if none does, those that are most alike.

    Args:
        choices: in their usual order.
        typed: beginnings of words, in any order.
    """
    wanted = typed.casefold().split()
    if not wanted:
        return list(choices)
    fitting = []
    for choice in choices:
        if all(any(word.startswith(want) for word in choice.words) for want in wanted):
            fitting.append((not choice.plain.startswith(wanted[0]), choice))
    if fitting:
        return [choice for _, choice in sorted(fitting, key=lambda pair: pair[0])]
    texts = [choice.text.casefold() for choice in choices]
    alike = process.extract(typed.casefold(), texts, scorer=fuzz.WRatio, limit=None, score_cutoff=ALIKE)
    return [choices[n] for _, _, n in alike]


class Sheet(Over[str | None]):
    """A sheet that asks for something; gives what was answered, or None if it was left.

    It is made once and brought up again and again: to make it anew takes several times as long as to show it.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss", "Leave it as it is")]

    def __init__(self) -> None:
        super().__init__()
        self.is_out = False

    async def answer(self) -> str | None:
        """Brings the sheet up and waits for its answer."""
        self.is_out = True
        if self.is_mounted:
            self.fill()
        try:
            return await self.app.push_screen_wait(self)
        finally:
            self.is_out = False

    def on_mount(self) -> None:
        """What is asked first."""
        self.fill()

    def fill(self) -> None:
        """Shows what is asked now."""
        raise NotImplementedError

    def head(self, title: str) -> None:
        """Says what is asked."""
        line = self.query_one(".title", Static)
        write(line, Content(title).stylize("bold"), line.size.width or WIDTH, MOST_ROWS)
        self.fit()


class Choosing(Sheet):
    """One out of a list; gives its key."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "walk(1)", "Next in the list", show=False),
        Binding("up", "walk(-1)", "Previous in the list", show=False),
        Binding("pagedown", "leaf(1)", "Page down", show=False),
        Binding("pageup", "leaf(-1)", "Page up", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._title = self._start = ""
        self._choices: dict[str, Choice] = {}

    async def ask(self, title: str, choices: Sequence[Choice], at: str = "") -> str | None:
        """The key of what is chosen; None if the sheet was left, or asks something else already.

        Args:
            title: the question.
            choices: what can be chosen.
            at: key of the choice that holds now.
        """
        if self.is_out:
            return None
        self._title, self._choices, self._start = title, {choice.key: choice for choice in choices}, at
        return await self.answer()

    def compose(self) -> ComposeResult:
        """Title, what is typed, and the list."""
        with Vertical(classes="sheet"):
            yield Static("", classes="title")
            yield Input(placeholder="type the beginning of a word, ↑ ↓ and Enter choose, Esc leaves")
            yield Lines()

    def fill(self) -> None:
        """Everything is in the list at first; it stays as high when it narrows, so that nothing moves."""
        lines, field = self.query_one(Lines), self.query_one(Input)
        lines.can_focus = False
        lines.to_top(0)
        lines.styles.height = max(1, min(SEEN, len(self._choices)))
        self.head(self._title)
        with self.prevent(Input.Changed):
            field.value = ""
        self._narrow("", self._start)

    def _narrow(self, typed: str, at: str = "") -> None:
        keys = [choice.key for choice in narrowed(tuple(self._choices.values()), typed)]
        self.query_one(Lines).show(keys, self._line, at or 0)

    def _line(self, key: str) -> Line:
        choice = self._choices[key]
        return Line(key, ((choice.text, "plain"), (f"  {choice.also}", "quiet")))

    def on_input_changed(self, event: Input.Changed) -> None:
        """The list narrows."""
        self._narrow(event.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """The line under the cursor is chosen; if nothing fits, the sheet stays."""
        event.stop()
        if key := self.query_one(Lines).key:
            self.dismiss(key)

    def on_lines_chosen(self, event: Lines.Chosen) -> None:
        """A click chooses too."""
        event.stop()
        self.dismiss(event.key)

    def action_walk(self, by: int) -> None:
        """Up and down in the list while typing."""
        self.query_one(Lines).action_move(by)

    def action_leaf(self, way: int) -> None:
        """A screenful of the list."""
        self.query_one(Lines).action_page(way)


class LastWords(Suggester):
    """Completes the last words that are typed from a list of phrases."""

    def __init__(self, phrases: Sequence[str]) -> None:
        super().__init__(use_cache=True, case_sensitive=False)
        self._phrases = sorted(set(phrases), key=len)

    async def get_suggestion(self, value: str) -> str | None:
        """The line with its last words completed."""
        words = value.split(" ")
        for n in range(max(0, len(words) - 3), len(words)):
            begun = " ".join(words[n:])
            if len(begun) < 2:
                continue
            for phrase in self._phrases:
                if phrase.startswith(begun) and phrase != begun:
                    return value + phrase[len(begun) :]
        return None


class Typing(Sheet):
    """A line that is typed; gives it once nothing is wrong with it."""

    def __init__(self) -> None:
        super().__init__()
        self._title = self._value = ""
        self._problem: Callable[[str], str | None] = lambda _: None
        self._phrases: Sequence[str] = ()
        self._may_be_empty = False

    async def ask(
        self,
        title: str,
        value: str = "",
        problem: Callable[[str], str | None] = lambda _: None,
        phrases: Sequence[str] = (),
        *,
        may_be_empty: bool = False,
    ) -> str | None:
        """The line that is typed; None if the sheet was left, or asks something else already.

        Args:
            title: the question.
            value: what stands there at first.
            problem: why a line cannot be taken, or None.
            phrases: what the last words are completed from.
            may_be_empty: whether nothing may be typed.
        """
        if self.is_out:
            return None
        self._title, self._value, self._problem, self._phrases = title, value, problem, phrases
        self._may_be_empty = may_be_empty
        return await self.answer()

    def compose(self) -> ComposeResult:
        """Title, the line, and what is wrong with it."""
        with Vertical(classes="sheet"):
            yield Static("", classes="title")
            yield Input(placeholder="Enter records, Esc leaves", select_on_focus=False)
            yield Static("", classes="problem")

    def fill(self) -> None:
        """The line as it stands at first."""
        field = self.query_one(Input)
        self.head(self._title)
        self.query_one(".problem", Static).update("")
        field.suggester = LastWords(self._phrases) if self._phrases else None
        field.placeholder = f"{'→ takes what is offered, ' if self._phrases else ''}Enter records, Esc leaves"
        field.value = self._value
        field.cursor_position = len(self._value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """The line is taken, or what is wrong with it is said."""
        event.stop()
        is_missing = not (event.value.strip() or self._may_be_empty)
        trouble = "Type something first, or leave with Esc." if is_missing else self._problem(event.value)
        if trouble is None:
            self.dismiss(event.value)
        else:
            self.query_one(".problem", Static).update(Content(trouble))

    def on_key(self, event: Key) -> None:
        """What was wrong is forgotten as soon as the line changes."""
        if event.key != "enter":
            self.query_one(".problem", Static).update("")

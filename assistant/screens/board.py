"""One moment of a session as it is drawn: how things stand, who, the plan, what was said, what is asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import Resize
from textual.widgets import Static

from assistant.screens.face import Face, Look
from assistant.screens.letters import large
from assistant.screens.live_view import NOBODY, LiveView, said_in_words
from assistant.screens.page import Page
from assistant.screens.palette import ASKING, STYLE_OF
from assistant.screens.plan import LOWEST, drawn, in_words
from assistant.values import FEET

QUIETEST_DB, LOUDEST_DB = -60.0, 0.0
"""Ends of the level meter, in dB of full scale."""
METER_CELLS = 10
NARROWEST = 76
"""Columns below which the plan is written instead of drawn."""


class Board(Vertical):
    """Draws a moment of a session in the look that is chosen."""

    DEFAULT_CSS = """
    Board { height: 1fr; }
    Board #name { width: auto; max-width: 65%; height: 3; color: $foreground; text-style: bold; padding: 0 1; }
    Board #about { width: 1fr; height: 3; padding: 0 1; color: $muted; }
    Board #top { height: 3; }
    Board #plan { height: 1fr; min-height: 5; border: none; padding: 0; }
    Board #spoken { height: 4; padding: 0 1; }
    Board #log { height: 1fr; }
    Board #asked { height: 2; padding: 0 1; background: $panel; }
    Board #asked.-asking { background: $warning; color: $background; text-style: bold; }
    Board.-large #spoken { height: 8; }
    Board.-far #spoken, Board.-far #top { display: none; }
    Board.-far #asked { height: 3; }
    Board.-far #plan { padding: 0 1; }
    Board.-words #top, Board.-words #spoken, Board.-words #asked { display: none; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.view = LiveView()

    @property
    def look(self) -> Look:
        """How it looks now."""
        return cast(Face, self.app).look

    def on_mount(self) -> None:
        """The plan is scrolled from outside: what is typed goes elsewhere."""
        self.page.can_focus = False

    @property
    def page(self) -> Page:
        """The plan, or what stands in its place."""
        return self.query_one(Page)

    def compose(self) -> ComposeResult:
        """From above: how things stand, who, the plan, the log, the question."""
        yield Static("", classes="bar", id="standing")
        with Horizontal(id="top"):
            yield Static("", id="name")
            yield Static("", id="about")
        yield Page(id="plan")
        with Vertical(id="spoken"):
            yield Static("", id="log")
        yield Static("", id="asked")

    def on_resize(self, _: Resize) -> None:
        """Draws anew in another size, once the parts have theirs."""
        self.call_after_refresh(self._draw)

    def looked(self) -> None:
        """Draws anew in another look."""
        self.set_class(self.look.is_far, "-far")
        self.set_class(self.look.in_words, "-words")
        self.call_after_refresh(self._draw)

    def show_level(self, level_db: float | None, note: str = "") -> None:
        """Only the meter moves."""
        self.view = replace(self.view, hearing=replace(self.view.hearing, level_db=level_db, note=note))
        self._show_standing()

    def show(self, view: LiveView) -> None:
        """Shows a moment of the session."""
        self.view = view
        self._draw()

    def _draw(self) -> None:
        view = self.view
        self.set_class(self.size.height >= 34, "-large")
        self._show_standing()
        if self.look.in_words:
            self.page.show(Content("\n").join(map(Content, said_in_words(view))))
            return
        if not self.look.is_far:
            self._show_who()
        size = self.page.size
        self.page.show(self._far_plan(*size) if self.look.is_far else self._plan(*size))
        if not self.look.is_far:
            self._put("#log", self._log())
        self._show_asked()

    def _put(self, where: str, content: Content) -> None:
        """Fills a part whose size is not by what is in it, so that nothing is laid out anew ten times a second."""
        self.query_one(where, Static).update(content, layout=False)

    def _show_standing(self) -> None:
        view = self.view
        left = f"{view.n_done} done, {view.n_left} left" if view.has_plan else f"{view.n_done} done"
        state = "over" if view.is_over else "paused" if view.is_paused else ", ".join(view.hearing.names) or "typed"
        note = f"  {view.hearing.note}" if view.hearing.note else ""
        runs: list[tuple[str, str]] = [(f"{left}   ", "bold"), (f"{state}{note}  ", "$muted")]
        if view.hearing.level_db is not None and not view.is_paused:
            runs.append((f"{meter(view.hearing.level_db)}  ", "$success"))
        room = self.size.width - 2 - sum(len(text) for text, _ in runs) - len("next: ")
        if names := fitting(view.left, room):
            runs.append((f"next: {names}", "$muted"))
        self._put("#standing", Content.assemble(*runs))

    def _show_who(self) -> None:
        view, name = self.view, self.query_one("#name", Static)
        who = view.who or NOBODY
        top = self.query_one("#top").size
        drawn_name = large(who.removesuffix(" ?"), int(top.width * 0.65) - 2, 3) if view.who else ()
        shown = Content("\n".join(drawn_name) or f"\n{who}").stylize("bold" if view.who else "$muted")
        if name.content != shown:  # it is as wide as the name, so that a change of it lays the screen out anew
            name.update(shown)
        doubt = (Content("Not sure who this is now.").stylize("bold $warning"),) if who.endswith(" ?") else ()
        lines = [*doubt, Content(" · ".join(filter(None, (view.number, view.about)))), Content(" ".join(view.before))]
        self._put("#about", Content("\n").join(lines))

    def hide_list(self) -> None:
        """The plan comes back where a list took its place."""
        if self.view.listed:
            self.show(replace(self.view, listed=()))

    def _plan(self, width: int, height: int) -> Content:
        if self.view.listed:
            return Content("\n".join(f" {row}" for row in folded(self.view.listed, width - 2, height)))
        if width < NARROWEST or height < LOWEST:
            return Content("\n".join(f" {row}" for row in in_words(self.view.plan)))
        return drawn(self.view.plan, width, height)

    def _far_plan(self, width: int, height: int) -> Content:
        """Name, number and who is left in large letters, then the four feet with their marks and a few words."""
        view, feet = self.view, self._far_feet(width)
        name = large(view.who.removesuffix(" ?"), width, height - len(feet) - 5) or (view.who or NOBODY,)
        count = f"{view.n_left} left" if view.has_plan else f"{view.n_done} done"
        counts = large(f"{view.number}  {count}" if view.number else count, width, 3) or (f"{view.number}  {count}",)
        rows = [Content(row).stylize("bold") for row in (*name, "")]
        below = feet
        if view.listed:
            room = max(1, height - len(rows) - len(counts) - 1)
            below = [Content(f" {row}") for row in folded(view.listed, width - 2, room)]
        return Content("\n").join([*rows, *(Content(row).stylize("$primary") for row in counts), Content(""), *below])

    def _far_feet(self, width: int) -> list[Content]:
        half = max(20, width // 2)
        rows = []
        for pair in ((0, 1), (2, 3)):
            feet = [self.view.plan.feet[n] for n in pair]
            short = ["".join(word[0] for word in FEET[n].split()).upper() for n in pair]
            art = [
                large(f"{name} {foot.mark}", half - 2, 3) or (f"{name} {foot.mark}",)
                for name, foot in zip(short, feet, strict=True)
            ]
            styles = [STYLE_OF[foot.mark] for foot in feet]
            rows += [
                Content.assemble((f"{left:<{half}}", styles[0]), (right, styles[1]))
                for left, right in zip(*art, strict=False)
            ]
            words = [", ".join(text for _, text in foot.lines)[: half - 2] for foot in feet]
            rows.append(Content(f"{words[0]:<{half}}{words[1]}").stylize("bold"))
        return rows

    def _log(self) -> Content:
        rows = 8 if self.has_class("-large") else 4
        lines = []
        for one in self.view.spoken[-rows:]:
            lines.append(
                Content.assemble((f"{one.mark} ", STYLE_OF[one.mark]), f"{one.words}  ", (one.came, "$muted")).truncate(
                    max(10, self.size.width - 2), ellipsis=True
                )
            )
        return Content("\n").join(lines)

    def _show_asked(self) -> None:
        view, asked = self.view, self.query_one("#asked", Static)
        asked.set_class(bool(view.question), "-asking")
        if self.look.is_far:
            text = view.question or view.told
            if art := large(text.rstrip("."), asked.size.width - 2, 3):
                self._put("#asked", Content("\n".join(art)))
                return
        if view.question:
            answers = "   ".join(f"{n} {label}" for n, label in enumerate(view.choices[:9], start=1))
            self._put("#asked", Content(f"{ASKING} {view.question}\n  {answers or 'type the answer'}"))
        else:
            self._put("#asked", Content(view.told or "Name an animal, then say what you see and do."))


def meter(level_db: float) -> str:
    """A level as cells that fill from the left."""
    share = (level_db - QUIETEST_DB) / (LOUDEST_DB - QUIETEST_DB)
    full = round(max(0.0, min(1.0, share)) * METER_CELLS)
    return "▮" * full + "▯" * (METER_CELLS - full)


def folded(lines: Sequence[str], width: int, height: int) -> tuple[str, ...]:
    """Lines in as few columns as show all of them, read downwards; in as many as there is room for, if none do."""
    across = max(map(len, lines)) + 3
    n_columns = min(max(1, (width + 3) // across), -(-len(lines) // height))
    rows = -(-len(lines) // n_columns)
    return tuple("".join(f"{line:<{across}}" for line in lines[row::rows]).rstrip() for row in range(rows))


def fitting(names: Sequence[str], room: int) -> str:
    """As many names as fit, with commas between; "…" stands for the others."""
    shown = ""
    for n, name in enumerate(names):
        longer = f"{shown}, {name}" if n else name
        if len(longer) + (3 if n + 1 < len(names) else 0) > room:
            return f"{shown}, …" if shown else ""
        shown = longer
    return shown

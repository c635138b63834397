"""The live screen: who is on the table, the animal as a plan that fills, what is asked, and who is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import ClassVar, Protocol, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import Resize
from textual.message import Message
from textual.widgets import Input, Static

from assistant.screens.choosing import LastWords
from assistant.screens.face import Face, Keyline, PenScreen
from assistant.screens.letters import large
from assistant.screens.live_view import NOBODY, LiveView, said_in_words
from assistant.screens.palette import ASKING, STYLE_OF
from assistant.screens.plan import LOWEST, drawn
from assistant.session.answering import ORDINALS
from assistant.values import FEET

QUIETEST_DB, LOUDEST_DB = -60.0, 0.0
"""Ends of the level meter, in dB of full scale."""
METER_CELLS = 10
NARROWEST = 76
"""Columns below which the plan is written instead of drawn."""


class Loop(Protocol):
    """A session as it goes on: see `assistant.screens.session_link.Link`."""

    def begin(self, screen: LiveScreen) -> None:
        """Starts listening; views of the session are then sent to the screen as `LiveScreen.Changed`."""

    def type(self, text: str) -> None:
        """Takes a typed remark or answer."""

    def end(self) -> None:
        """Ends the session, and listening with it."""


class LiveScreen(PenScreen):
    """A session as it goes on.

    Args:
        loop: the session.
        phrases: what typed words are completed from.
    """

    CSS = """
    LiveScreen #name { width: auto; max-width: 65%; height: 3; color: $foreground; text-style: bold; padding: 0 1; }
    LiveScreen #about { width: 1fr; height: 3; padding: 0 1; color: $muted; }
    LiveScreen #top { height: 3; }
    LiveScreen #plan { height: 1fr; min-height: 5; }
    LiveScreen #spoken { height: 4; padding: 0 1; }
    LiveScreen #asked { height: 2; padding: 0 1; background: $panel; }
    LiveScreen #asked.-asking { background: $warning; color: $background; text-style: bold; }
    LiveScreen Input { height: 1; border: none; padding: 0 1; background: $surface; }
    LiveScreen.-large #spoken { height: 8; }
    LiveScreen.-far #spoken, LiveScreen.-far #top, LiveScreen.-far Keyline { display: none; }
    LiveScreen.-far #asked { height: 3; }
    LiveScreen.-far #plan { padding: 0 1; }
    LiveScreen.-words #top, LiveScreen.-words #spoken, LiveScreen.-words #asked { display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "ignore", "Send what is typed; a number alone picks that answer", show=False),
        Binding("f2", "far", "Large letters, to be read from across the pen", priority=True),
        Binding("up", "earlier", "The line typed before", show=False),
        Binding("escape", "clear", "Clear the line"),
    ]
    KEYS = (
        ("Enter", "send"),
        ("1 2 …", "answer"),
        ("F2", "large"),
        ("F3", "words"),
        ("F4", "colours"),
        ("Ctrl+Q", "leave"),
    )

    class Changed(Message):
        """The session is at another moment."""

        def __init__(self, view: LiveView) -> None:
            super().__init__()
            self.view = view

    class Levelled(Message):
        """The microphone has another level, in dB of full scale."""

        def __init__(self, level_db: float) -> None:
            super().__init__()
            self.level_db = level_db

    class Failed(Message):
        """The session cannot go on; what was kept up to here stays."""

        def __init__(self, why: str) -> None:
            super().__init__()
            self.why = why

    def __init__(self, loop: Loop, phrases: Sequence[str] = ()) -> None:
        super().__init__()
        self._loop = loop
        self._phrases = phrases
        self.view = LiveView()
        self._typed: list[str] = []

    def compose(self) -> ComposeResult:
        """From above: how things stand, who, the plan, the log, the question, the line."""
        yield Static("", classes="bar", id="standing")
        with Horizontal(id="top"):
            yield Static("", id="name")
            yield Static("", id="about")
        yield Static("", id="plan")
        with Vertical(id="spoken"):
            yield Static("", id="log")
        yield Static("", id="asked")
        yield Input(
            placeholder="type a remark, an answer or a question",
            suggester=LastWords(self._phrases) if self._phrases else None,
            select_on_focus=False,
        )
        yield Keyline(self.KEYS)

    def on_mount(self) -> None:
        """The session begins."""
        self.query_one(Input).focus()
        self.looked()
        self._loop.begin(self)

    def leaving(self) -> None:
        """The session ends with the screen."""
        self._loop.end()

    def on_live_screen_changed(self, event: Changed) -> None:
        """Shows another moment."""
        self.show(event.view)

    def on_live_screen_levelled(self, event: Levelled) -> None:
        """Only the meter moves."""
        self.view = replace(self.view, hearing=replace(self.view.hearing, level_db=event.level_db))
        self._show_standing()

    def on_live_screen_failed(self, event: Failed) -> None:
        """Says why the session cannot go on."""
        self.show(replace(self.view, question="", choices=(), told=event.why, is_over=True))

    def on_resize(self, _: Resize) -> None:
        """Draws anew in another size, once the parts have theirs."""
        self.call_after_refresh(self._draw)

    def looked(self) -> None:
        """Draws anew in another look."""
        self.set_class(self.look.is_far, "-far")
        self.set_class(self.look.in_words, "-words")
        self.call_after_refresh(self._draw)

    # ------------------------------------------------------------------------------------------------------ showing

    def show(self, view: LiveView) -> None:
        """Shows a moment of the session."""
        self.view = view
        self._draw()

    def _draw(self) -> None:
        view = self.view
        self.set_class(self.size.height >= 34, "-large")
        self._show_standing()
        if self.look.in_words:
            self.query_one("#plan", Static).update(Content("\n").join(map(Content, said_in_words(view))))
            return
        if not self.look.is_far:
            self._show_who()
        plan = self.query_one("#plan", Static)
        plan.update(self._far_plan(*plan.size) if self.look.is_far else self._plan(*plan.size))
        if not self.look.is_far:
            self.query_one("#log", Static).update(self._log())
        self._show_asked()

    def _show_standing(self) -> None:
        view = self.view
        left = f"{view.n_done} done, {len(view.left) + bool(view.who)} left" if view.has_plan else f"{view.n_done} done"
        state = "over" if view.is_over else "paused" if view.is_paused else ", ".join(view.hearing.names) or "typed"
        note = f"  {view.hearing.note}" if view.hearing.note else ""
        runs: list[tuple[str, str]] = [(f"{left}   ", "bold"), (f"{state}{note}  ", "$muted")]
        if view.hearing.level_db is not None and not view.is_paused:
            runs.append((f"{meter(view.hearing.level_db)}  ", "$success"))
        room = self.size.width - 2 - sum(len(text) for text, _ in runs) - len("next: ")
        if names := fitting(view.left, room):
            runs.append((f"next: {names}", "$muted"))
        self.query_one("#standing", Static).update(Content.assemble(*runs))

    def _show_who(self) -> None:
        view, name = self.view, self.query_one("#name", Static)
        who = view.who or NOBODY
        top = self.query_one("#top").size
        drawn_name = large(who.removesuffix(" ?"), int(top.width * 0.65) - 2, 3) if view.who else ()
        name.update(Content("\n".join(drawn_name) or f"\n{who}").stylize("bold" if view.who else "$muted"))
        doubt = (Content("Not sure who this is now.").stylize("bold $warning"),) if who.endswith(" ?") else ()
        lines = [*doubt, Content(" · ".join(filter(None, (view.number, view.about)))), *map(Content, view.before)]
        self.query_one("#about", Static).update(Content("\n").join(lines))

    def _plan(self, width: int, height: int) -> Content:
        if width < NARROWEST or height < LOWEST:
            return Content("\n").join(map(Content, said_in_words(self.view)))
        return drawn(self.view.plan, width, height)

    def _far_plan(self, width: int, height: int) -> Content:
        """Name, number and who is left in large letters, then the four feet with their marks and a few words."""
        view, feet = self.view, self._far_feet(width)
        name = large(view.who.removesuffix(" ?"), width, height - len(feet) - 5) or (view.who or NOBODY,)
        n_left = len(view.left) + bool(view.who)
        count = f"{n_left} left" if view.has_plan else f"{view.n_done} done"
        counts = large(f"{view.number}  {count}" if view.number else count, width, 3) or (f"{view.number}  {count}",)
        rows = [Content(row).stylize("bold") for row in (*name, "")]
        return Content("\n").join([*rows, *(Content(row).stylize("$primary") for row in counts), Content(""), *feet])

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
                asked.update(Content("\n".join(art)))
                return
        if view.question:
            answers = "   ".join(f"{n} {label}" for n, label in enumerate(view.choices[:9], start=1))
            asked.update(Content(f"{ASKING} {view.question}\n  {answers or 'type the answer'}"))
        else:
            asked.update(Content(view.told or "Name an animal, then say what you see and do."))

    # ------------------------------------------------------------------------------------------------------- typing

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """A line is typed: the number of an answer, yes or no in short, or a remark."""
        text = event.value.strip()
        event.input.value = ""
        if text:
            self._typed.append(text)
            self._loop.type(meant(text, self.view))

    def action_earlier(self) -> None:
        """The line typed before comes back, to be changed."""
        if self._typed:
            field = self.query_one(Input)
            field.value = self._typed[-1]
            field.cursor_position = len(field.value)

    def action_clear(self) -> None:
        """Clears the line."""
        self.query_one(Input).value = ""

    def action_far(self) -> None:
        """Changes between the whole screen and large letters."""
        face = cast(Face, self.app)
        face.change_look(replace(face.look, is_far=not face.look.is_far))

    def action_ignore(self) -> None:
        """Enter is for the line that is typed."""


def meant(text: str, view: LiveView) -> str:
    """What a typed line stands for while a question is open: a number alone is that answer, y and n are yes and no."""
    if not view.question:
        return text
    if text.isdecimal() and 1 <= int(text) <= len(view.choices):
        n = int(text) - 1
        return ORDINALS[n] if n < len(ORDINALS) else view.choices[n]
    return {"y": "yes", "n": "no"}.get(text.casefold(), text)


def meter(level_db: float) -> str:
    """A level as cells that fill from the left."""
    share = (level_db - QUIETEST_DB) / (LOUDEST_DB - QUIETEST_DB)
    full = round(max(0.0, min(1.0, share)) * METER_CELLS)
    return "▮" * full + "▯" * (METER_CELLS - full)


def fitting(names: Sequence[str], room: int) -> str:
    """As many names as fit, with commas between; "…" stands for the others."""
    shown = ""
    for n, name in enumerate(names):
        longer = f"{shown}, {name}" if n else name
        if len(longer) + (3 if n + 1 < len(names) else 0) > room:
            return f"{shown}, …" if shown else ""
        shown = longer
    return shown

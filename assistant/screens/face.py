"""What every screen shares: the program's frame, its looks, the list of keys, and the line that says what happened."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Coroutine, Sequence
from dataclasses import dataclass, replace
from functools import wraps
from typing import TYPE_CHECKING, ClassVar, Concatenate, ParamSpec, TypeVar, cast

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.driver import Driver
from textual.events import Event, Key, Paste
from textual.filter import LineFilter
from textual.screen import Screen
from textual.widgets import Static

from assistant.errors import AssistantError
from assistant.screens.choosing import Choosing, Typing
from assistant.screens.keys import KeyList
from assistant.screens.over import write
from assistant.screens.palette import THEMES
from assistant.screens.printed_lines import Printable

if TYPE_CHECKING:
    from assistant.values import Sound

MOST_TOLD = 4
"""So many lines at most say what just happened."""

Player = Callable[["Sound"], str]
"""Makes a sound heard; gives what is wrong where it cannot, else nothing."""


@dataclass(frozen=True)
class Look:
    """How the screens look now.

    Attributes:
        colours: "dark", "light" or "plain" for none.
        is_far: large letters, to be read from across the pen.
        in_words: sentences instead of drawings, for those who listen to the screen.
    """

    colours: str = "dark"
    is_far: bool = False
    in_words: bool = False


class Face(App[int]):
    """The program's frame at a terminal.

    Args:
        make: makes the screen that it starts with, once the frame is painted: what a screen shows may take a moment.
        look: how it looks.

    Attributes:
        trouble: why the screen could not be made; the frame is left then.
        is_up: whether the first screen is up, so that keys reach it.
        fault: what went wrong in a screen that nobody foresaw; the frame is left then.
        choosing: the sheet on which one is chosen out of a list.
        typing: the sheet on which a line is typed.
    """

    TITLE = "Handling assistant"
    ENABLE_COMMAND_PALETTE = False
    CSS = """
    Screen { background: $background; color: $foreground; layers: base over; }
    .bar { height: 1; background: $panel; padding: 0 1; }
    #left { width: 45%; min-width: 34; }
    .happened { height: 1; padding: 0 1; color: $warning; text-style: bold; }
    ModalScreen { align: center middle; background: $background 40%; }
    .sheet { background: $surface; border: round $primary; padding: 0 1; width: 72; max-width: 96%; height: auto;
             max-height: 90%; }
    .sheet Lines { background: $surface; }
    .sheet Input { border: none; height: 1; background: $panel; padding: 0 1; }
    .problem { color: $warning; height: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "keys", "All keys", priority=True),
        Binding("f3", "words", "Drawing or words", show=False, priority=True),
        Binding("f4", "colours", "Dark, light, no colour", show=False, priority=True),
        Binding("ctrl+q", "leave", "Leave", priority=True),
    ]

    def __init__(self, make: Callable[[], Screen[None]], look: Look | None = None) -> None:
        super().__init__()
        self._make = make
        self._printable = Printable()
        self.look = look or Look()
        self.trouble: AssistantError | None = None
        self.fault: BaseException | None = None
        self.is_up = False
        self._typed_ahead: list[Event] = []
        self.choosing, self.typing, self._key_list = Choosing(), Typing(), KeyList()
        for sheet in (self.choosing, self.typing, self._key_list):
            self.install_screen(sheet, type(sheet).__name__)
        for theme in THEMES.values():
            self.register_theme(theme)
        self._show_look()

    def get_driver_class(self) -> type[Driver]:
        """What keys come from; a browser and a test have drivers of their own."""
        usual = super().get_driver_class()
        if usual.__name__ != "LinuxDriver":
            return usual
        from assistant.screens.quick_escape import QuickEscape

        return QuickEscape

    def get_line_filters(self) -> Sequence[LineFilter]:
        """What is done to every line before it is drawn."""
        return [*super().get_line_filters(), self._printable]

    def compose(self) -> ComposeResult:
        """What stands there until the first screen does."""
        yield Static("One moment …  F1 lists the keys, Ctrl+Q leaves.", classes="bar")

    def on_mount(self) -> None:
        """The first screen comes up as soon as the frame is painted."""
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        try:
            self.push_screen(self._make())
            self.call_after_refresh(self._ready_sheets)
        except AssistantError as error:
            self.trouble = error
            self.exit(1)

    def _fatal_error(self) -> None:
        # The library would print all variables of the program, a keeper's records among them.
        self.fault = self.fault or sys.exception()
        self.exit(1)

    async def _ready_sheets(self) -> None:
        """Makes the sheets while nobody waits for them: the first key that asks is then as quick as the next."""
        with self.batch_update():
            for sheet in (self.choosing, self.typing, self._key_list):
                await self.push_screen(sheet)
                self.pop_screen()
        memory_settled()
        self.is_up = True
        if isinstance(self.screen, PenScreen) and self.screen.TAKES_AHEAD:
            for event in self._typed_ahead:
                await self.on_event(event)

    async def on_event(self, event: Event) -> None:
        """Holds back what is typed before the screen is up that it is meant for; leaving is always possible."""
        is_typed = isinstance(event, Key | Paste) and not (isinstance(event, Key) and event.key == "ctrl+q")
        if is_typed and not self.is_up:
            self._typed_ahead.append(event)
        else:
            await super().on_event(event)

    def change_look(self, look: Look) -> None:
        """Shows everything in another look."""
        self.look = look
        self._show_look()
        for screen in self.screen_stack:
            if isinstance(screen, PenScreen):
                screen.looked()

    def _show_look(self) -> None:
        self.theme = THEMES[self.look.colours].name

    def action_keys(self) -> None:
        """Lists the keys of the screen that is shown, or closes that list."""
        if isinstance(self.screen, KeyList):
            self.screen.dismiss()
        else:
            self._key_list.read(self.screen)
            self.push_screen(self._key_list)

    def action_words(self) -> None:
        """Changes between drawing and words."""
        self.change_look(replace(self.look, in_words=not self.look.in_words))

    def action_far(self) -> None:
        """Changes between the whole screen and large letters, where a session is shown."""
        self.change_look(replace(self.look, is_far=not self.look.is_far))

    def action_colours(self) -> None:
        """Changes to the next colours."""
        order = tuple(THEMES)
        after = order[(order.index(self.look.colours) + 1) % len(order)]
        self.change_look(replace(self.look, colours=after))

    def action_leave(self) -> None:
        """Leaves the program; screens with something to end do so first."""
        screen = self.screen_stack[1] if len(self.screen_stack) > 1 else None
        if isinstance(screen, PenScreen):
            screen.leaving()
        self.exit(0)


Asked = TypeVar("Asked", bound="PenScreen")
Given = ParamSpec("Given")


def asking(
    action: Callable[Concatenate[Asked, Given], Coroutine[None, None, None]],
) -> Callable[Concatenate[Asked, Given], None]:
    """Makes an action of a screen that brings up sheets: it goes on beside the screen, and no other does."""

    @wraps(action)
    def begin(screen: Asked, /, *args: Given.args, **named: Given.kwargs) -> None:
        async def whole() -> None:
            try:
                await action(screen, *args, **named)
            finally:
                screen.is_asking = False

        if not screen.is_asking:
            screen.is_asking = True
            screen.run_worker(whole())

    return begin


def memory_settled() -> None:
    """What was read up to now stays: to look through it for garbage again and again would hold up keys."""
    gc.freeze()


class PenScreen(Screen[None]):
    """A screen with a line for what just happened and a line of keys.

    Attributes:
        is_asking: whether an action is going on that brings up sheets; no other is taken until it is over.
        TAKES_AHEAD: whether keys count that were typed before it was seen; where keys decide, they do not.
    """

    TAKES_AHEAD: ClassVar[bool] = False

    def __init__(self) -> None:
        super().__init__()
        self.is_asking = False

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Takes no keys that are typed ahead, before the sheet is up that they are meant for: they would decide."""
        return not self.is_asking

    @property
    def look(self) -> Look:
        """How it looks now."""
        return cast(Face, self.app).look

    @property
    def choosing(self) -> Choosing:
        """The sheet on which one is chosen out of a list."""
        return cast(Face, self.app).choosing

    @property
    def typing(self) -> Typing:
        """The sheet on which a line is typed."""
        return cast(Face, self.app).typing

    def looked(self) -> None:
        """The look has changed: to be drawn anew."""

    def leaving(self) -> None:
        """The program is about to be left."""

    def tell(self, text: str) -> None:
        """Says what just happened."""
        write(self.query_one(".happened", Static), Content(text), self.size.width - 2, MOST_TOLD)

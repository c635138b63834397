"""The look back: a session's summary, cards of animals, what is due, charts; and from here the replay."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import BindingType
from textual.content import Content

from assistant.records.looking_back import Bars, LookingBack
from assistant.report.summary import Summary
from assistant.screens import keys
from assistant.screens.card import animal_card, chart, session_card, session_text, sparkline
from assistant.screens.editing import animal_choices
from assistant.screens.face import asking
from assistant.screens.keys import Key
from assistant.screens.lines import Line, Lines
from assistant.screens.listing import Listing
from assistant.screens.palette import SOUND, UNSEEN
from assistant.screens.replay_screen import ReplayScreen
from assistant.values import SessionInfo

WHOLE, LEFT = "whole", "left:"


class LookBackScreen(Listing):
    """The past of a holding.

    Args:
        past: what there is.
        summed: gives the summary of a session.
        replay: makes the screen that replays a session.
        at: id of the session that is shown first.
    """

    TABLE = (
        Key("s", "mode('session')", "This session", "session"),
        Key("left_square_bracket,left", "session(-1)", "The session before", "others", "← →"),
        Key("right_square_bracket,right", "session(1)", "The session after"),
        Key("a", "mode('animals')", "All animals, with their feet over time", "animals"),
        Key("d", "mode('due')", "What is due", "due"),
        Key("c", "mode('charts')", "Findings by session", "charts"),
        Key("r", "replay", "Replay the session", "replay"),
        Key("slash", "find", "Find an animal", "find"),
        Key("enter", "card", "The animal's whole card"),
        keys.BESIDE,
        keys.ALL_KEYS,
        keys.LEAVE,
    )
    BINDINGS: ClassVar[list[BindingType]] = keys.bindings(TABLE)

    def __init__(
        self,
        past: LookingBack,
        summed: Callable[[SessionInfo], Summary],
        replay: Callable[[SessionInfo], ReplayScreen],
        at: str,
    ) -> None:
        super().__init__()
        self.past = past
        self._summed = summed
        self._replay = replay
        self._at = next(n for n, info in enumerate(past.sessions) if info.id == at)
        self._mode = "session"
        self._results: dict[str, Summary] = {}
        self._charts: dict[str, Bars] = {}

    def on_mount(self) -> None:
        """Shows the session."""
        self.lines.focus()
        self.action_mode("session")

    @property
    def info(self) -> SessionInfo:
        """The session that is looked at."""
        return self.past.sessions[self._at]

    @property
    def result(self) -> Summary:
        """Its summary."""
        if self.info.id not in self._results:
            self._results[self.info.id] = self._summed(self.info)
        return self._results[self.info.id]

    # ------------------------------------------------------------------------------------------------------ showing

    def action_mode(self, mode: str) -> None:
        """Shows the session, all animals, what is due, or the charts."""
        self._mode = mode
        self.tell("")
        keys = {"session": self._session_keys, "animals": self._animal_keys, "due": self._due_keys}
        self.lines.show(keys.get(mode, self._chart_keys)(), self._line, 0)
        titles = {
            "session": f"Session {self.info.started:%Y-%m-%d %H:%M}   {self._at + 1} of {len(self.past.sessions)}",
            "animals": f"{len(self.past.animals)} animals",
            "due": f"What is due on {self.past.today}",
            "charts": "Findings by session",
        }
        self.head(Content(titles[mode]).stylize("bold"))

    def _session_keys(self) -> list[str]:
        on_table = [card.animal.id for card in self.result.cards]
        left = [f"{LEFT}{animal.id}" for animal in self.result.left]
        return [WHOLE, *(["#On the table"] if on_table else []), *on_table, *(["#Left"] if left else []), *left]

    def _animal_keys(self) -> list[str]:
        return list(self.past.animals)

    def _due_keys(self) -> list[str]:
        return [str(n) for n in range(len(self.past.due))]

    def _chart_keys(self) -> list[str]:
        self._charts = {bars.finding: bars for bars in self.past.charts}
        return list(self._charts)

    def _line(self, key: str) -> Line:
        if key.startswith("#"):
            return Line(key, ((key[1:], "strong"),))
        if key == WHOLE:
            return Line(key, (("The whole session", "strong"),))
        if self._mode == "due":
            item = self.past.due[int(key)]
            is_late = item.due is not None and item.due <= self.past.today
            when = f"{item.due:%d %b}" if item.due else "no date"
            return Line(
                key,
                (
                    (f"{when}  ", "asking" if is_late else "quiet"),
                    (f"{self.past.label(item.animal)}, {item.what}", "plain"),
                ),
            )
        if self._mode == "charts":
            bars = [n for _, n, _ in self._charts[key].bars]
            return Line(key, ((f"{key:<18} ", "plain"), (f"{sparkline(bars)} ", "done"), (str(sum(bars)), "plain")))
        animal = key.removeprefix(LEFT)
        mark = self._mark(key) if self._mode == "session" else ""
        number = self.past.animals[animal].number if animal in self.past.animals else ""
        name = self.past.label(animal)
        return Line(key, ((mark, "good"), (name, "plain"), (f"  {number}" if number != name else "", "quiet")))

    def _mark(self, key: str) -> str:
        card = next((card for card in self.result.cards if card.animal.id == key), None)
        is_done = card is not None and card.outcome is not None and card.outcome.is_done
        return f"{SOUND} " if is_done else f"{UNSEEN} "

    def detail(self, key: str) -> Content:
        """What a session came to, the card of an animal, or a chart."""
        if not key:
            return Content({"due": "Nothing is due.", "charts": "Nothing was found yet."}.get(self._mode, "No animal."))
        if key == WHOLE:
            return session_text(self.result)
        if self._mode == "charts":
            return chart(self._charts[key])
        if self._mode == "due":
            return animal_card(self.past, self.past.due[int(key)].animal)
        if self._mode == "session" and not key.startswith(LEFT):
            card = next(card for card in self.result.cards if card.animal.id == key)
            return Content("\n").join(
                [session_card(card), Content("\nEnter shows all of its sessions.").stylize("$muted")]
            )
        return animal_card(self.past, key.removeprefix(LEFT))

    # --------------------------------------------------------------------------------------------------------- keys

    def action_session(self, by: int) -> None:
        """Goes to another session."""
        at = self._at + by
        if 0 <= at < len(self.past.sessions):
            self._at = at
            self.action_mode("session")
        else:
            self.tell("There is no session before." if by < 0 else "There is no session after.")

    def on_lines_chosen(self, event: Lines.Chosen) -> None:
        """Enter shows the whole card of an animal."""
        key = event.key.removeprefix(LEFT)
        if self._mode == "due":
            key = self.past.due[int(event.key)].animal
        if key in self.past.animals:
            self._to_animal(key)

    def _to_animal(self, key: str) -> None:
        self.action_mode("animals")
        self.lines.show(self._animal_keys(), self._line, key)

    @asking
    async def action_find(self) -> None:
        """Finds an animal by name, number, tag or group."""
        key = await self.choosing.ask("Which animal?", animal_choices(self.past.animals.values()))
        if key is not None:
            self._to_animal(key)

    def action_replay(self) -> None:
        """Replays the session that is looked at."""
        self.app.push_screen(self._replay(self.info))

    def action_card(self) -> None:
        """Enter belongs to the list."""

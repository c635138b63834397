"""The replay of a session: step by step, or played with its sound; the record grows as it grew."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.timer import Timer
from textual.widgets import Static

from assistant.errors import AssistantError
from assistant.records.looking_back import Moment, Replay
from assistant.screens import keys
from assistant.screens.board import Board
from assistant.screens.face import PenScreen, Player
from assistant.screens.keys import Key, Keyline
from assistant.screens.live_view import Listening, LiveView, Spoken, live_view
from assistant.screens.palette import ASKING, KEPT, LET_GO, SOUND
from assistant.values import Decision, Sound

STEP_S = 1.5
"""How long a moment stands when a session without sound is played."""

MARK_OF = {Decision.UNHEARD: KEPT, Decision.ASIDE: LET_GO}


class ReplayScreen(PenScreen):
    """One session, remark by remark.

    Args:
        replay: the session.
        sound: gives the sound of a remark.
        play: makes a sound heard.
    """

    TABLE = (
        Key("right,enter", "step(1)", "The next remark", "next"),
        Key("left", "step(-1)", "The remark before", "before"),
        Key("pagedown", "step(10)", "Ten remarks on"),
        Key("pageup", "step(-10)", "Ten remarks back"),
        Key("home", "step(-1000000)", "To the beginning"),
        Key("space", "play", "Hear this remark", "hear"),
        Key("p", "run", "Play on, or stop", "play on"),
        keys.FAR,
        keys.ALL_KEYS,
        Key("escape,q", "dismiss", "Back", "back"),
    )
    BINDINGS: ClassVar[list[BindingType]] = keys.bindings(TABLE)

    def __init__(self, replay: Replay, sound: Callable[[str], Sound], play: Player) -> None:
        super().__init__()
        self._replay, self._sound, self._player = replay, sound, play
        self._at = 0
        self._timer: Timer | None = None

    def compose(self) -> ComposeResult:
        """The board, what happened, keys."""
        yield Board()
        yield Static("", classes="happened")
        yield Keyline(self.TABLE)

    def on_mount(self) -> None:
        """Begins at the first remark."""
        self.looked()
        self._show()

    def looked(self) -> None:
        """Draws anew in another look."""
        self.query_one(Board).looked()

    def _show(self) -> None:
        moment = self._replay.moment(self._at)
        if moment is None:
            self.tell("Nothing was said in this session.")
            return
        spoken = [_spoken(one) for n in range(max(0, self._at - 8), self._at + 1) if (one := self._replay.moment(n))]
        self.query_one(Board).show(self._view(moment, spoken))
        remark = moment.said.remark
        self.tell(f"Remark {self._at + 1}, {remark.time:%H:%M:%S}{f', {remark.by}' if remark.by else ''}")

    def _view(self, moment: Moment, spoken: list[Spoken]) -> LiveView:
        return live_view(moment.state, self._replay.world, spoken, Listening(("replay",)), moment.said.remark.time)

    def action_step(self, by: int) -> None:
        """Goes on or back by some remarks, as far as there are any."""
        at = max(0, self._at + by)
        while at > self._at and self._replay.moment(at) is None:
            at -= 1
        if at == self._at:
            self.tell("That was the last remark." if by > 0 else "This is the first remark.")
            self._stop()
            return
        self._at = at
        self._show()

    def action_play(self) -> None:
        """Plays the remark that is shown."""
        if (moment := self._replay.moment(self._at)) is not None:
            self._hear(moment)

    def _hear(self, moment: Moment) -> float:
        """Makes a remark heard; gives how long it lasts, in seconds."""
        if moment.said.remark.verdict is None:  # typed
            return STEP_S
        try:
            sound = self._sound(moment.said.remark.id)
        except AssistantError as error:
            self.tell(str(error))
            return STEP_S
        if trouble := self._player(sound):
            self.tell(trouble)
        return max(STEP_S, sound.length_s)

    def action_run(self) -> None:
        """Plays on from here, or stops."""
        if self._timer is not None:
            self._stop()
        else:
            self._timer = self.set_timer(0.01, self._run_on)

    def _run_on(self) -> None:
        moment = self._replay.moment(self._at)
        if moment is None or self._timer is None:
            return
        length_s = self._hear(moment)
        self._timer = self.set_timer(length_s, self._after)

    def _after(self) -> None:
        self.action_step(1)
        if self._timer is not None:
            self._run_on()

    def _stop(self) -> None:
        if self._timer is not None:
            self._timer.stop()
            self._timer = None


def _spoken(moment: Moment) -> Spoken:
    remark = moment.said.remark
    is_question = moment.state.question is not None and moment.state.question.remark == remark.id
    decision = remark.verdict.decision if remark.verdict else Decision.ACCEPTED
    mark = ASKING if is_question else MARK_OF.get(decision, SOUND)
    return Spoken(mark, remark.words or "(no words)", " ".join(moment.told))

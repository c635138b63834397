"""The review: what needs a decision first, then every fact by animal; each key is one decision."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Sequence
from typing import ClassVar

from textual.binding import BindingType

from assistant.errors import AssistantError
from assistant.meaning.wording import Wording
from assistant.records.reviewing import Reviewing, facts_of
from assistant.report.summary import words_of
from assistant.screens import keys
from assistant.screens.face import Player, asking
from assistant.screens.keys import Key
from assistant.screens.lines import Lines, short
from assistant.screens.review_frame import ReviewFrame
from assistant.screens.review_sheets import Sheets
from assistant.session.review import Fact
from assistant.values import Entry, Part, Remark, SessionInfo

_NOT_UNDERSTOOD = "Nothing in it was understood: t types what is right, x records nothing."
_NOTHING = "There is nothing to change; i adds a fact, [ goes to the session before."
_ONLY_FACTS = "Decide first what the remark means: r chooses a reading, t types what is right."


class ReviewScreen(ReviewFrame):
    """One session being put right.

    Args:
        reviewing: the session.
        words: what can be chosen from.
        play: makes a sound heard.
        beside: gives the session before one (-1) or after it (1), if there is one.
    """

    TABLE = (
        Key("a,enter", "accept", "Accept: it is right", "accept"),
        Key("x,delete", "withdraw", "Withdraw; of a remark: nothing to record", "withdraw"),
        Key("n", "animal", "Change the animal", "animal"),
        Key("p", "place", "Change the place", "place"),
        Key("f", "finding", "Change the finding", "finding"),
        Key("d", "action", "Change what was done", "done"),
        Key("v", "value", "Change value, grade or days", "value"),
        Key("r", "reading", "Choose another reading", "reading"),
        Key("i,insert", "add", "Add to this animal", "add"),
        Key("u,ctrl+z", "undo", "Undo, also what was decided on other days", "undo"),
        Key("U,ctrl+y", "redo", "Redo"),
        Key("space", "play", "Play the remark", "play"),
        Key("t", "type", "Type what is right", "type"),
        Key("s", "split", "Split into several", "split"),
        Key("A", "accept_sure", "Accept what is sure of this animal: not doubted"),
        Key("o", "add_other", "Add to another animal"),
        Key("left_square_bracket", "session(-1)", "The session before"),
        Key("right_square_bracket", "session(1)", "The session after"),
        Key("h", "withdrawn", "Show withdrawn ones too"),
        keys.BESIDE,
        keys.ALL_KEYS,
        keys.LEAVE,
    )
    BINDINGS: ClassVar[list[BindingType]] = keys.bindings(TABLE)

    def __init__(
        self,
        reviewing: Reviewing,
        words: Wording,
        play: Player,
        beside: Callable[[SessionInfo, int], Reviewing | None] = lambda *_: None,
    ) -> None:
        self._words = words
        self._player = play
        self._beside = beside
        super().__init__(reviewing)

    def open(self, reviewing: Reviewing) -> None:
        """Takes a session up."""
        super().open(reviewing)
        self._sheets = Sheets(reviewing, self._words, self)

    def on_lines_chosen(self, _: Lines.Chosen) -> None:
        """Enter accepts."""
        if not self.is_asking:
            self.action_accept()

    # ------------------------------------------------------------------------------------------------------- deciding

    def _carry(self, deed: Callable[[], object]) -> None:
        """Does something that is kept in the store, shows what holds then, and says what happened."""
        try:
            told = deed()
        except AssistantError as error:
            self.tell(str(error))
            return
        self.refresh_list(self.lines.key)
        self.tell(told if isinstance(told, str) else "")

    def _record(self, animal: str, parts: Sequence[Part], deed: Callable[[], object]) -> None:
        trouble = next(filter(None, (self.reviewing.problem(Fact(animal, part)) for part in parts)), None)
        if trouble:
            self.tell(trouble)
        else:
            self._carry(deed)

    def _change(self, line: str, fact: Fact) -> None:
        tip = self.reviewing.review.tip(line)
        if fact == Fact(tip.animal, tip.part):
            self.tell("It is the same as before.")
        else:
            self._record(fact.animal, [fact.part], lambda: self.reviewing.change(line, fact))

    async def _change_part(self, ask: Callable[[Part], Coroutine[object, object, Part | None]]) -> None:
        """Asks how the fact under the cursor reads, and changes it."""
        line, tip = self.line, self.tip
        if tip is None:
            self.tell(_ONLY_FACTS if self.case else _NOTHING)
        elif (part := await ask(tip.part)) is not None:
            self._change(line, Fact(tip.animal, part))

    def action_play(self) -> None:
        """Plays the remark."""
        remark = self.case or (self.tip.remark if self.tip else "")
        try:
            self.tell(self._player(self.reviewing.sound(remark)))
        except AssistantError as error:
            self.tell(str(error))

    def action_accept(self) -> None:
        """Accepts the fact, or the first reading of the remark."""
        if line := self.line:
            self._carry(lambda: self.reviewing.accept(line))
        elif case := self.case:
            readings = self.reviewing.meaningful(case)
            if readings:
                self._accept_reading(case, readings[0])
            else:
                self.tell(_NOT_UNDERSTOOD)

    @asking
    async def _accept_reading(self, remark: str, reading: Remark) -> None:
        await self._take_reading(remark, reading)

    async def _take_reading(self, remark: str, reading: Remark, animal: str | None = None) -> None:
        """Records what a reading means, of an animal or of whom the remark is about."""
        whom = animal or await self._sheets.whom(remark)
        parts = await self._sheets.placed(facts_of(reading.meaning)) if whom else None
        if whom and parts:
            self._record(whom, parts, lambda: self.reviewing.reread(remark, whom, parts))

    def action_accept_sure(self) -> None:
        """Accepts what is sure of the animal under the cursor."""
        if (tip := self.tip) is not None:
            self._carry(lambda: self.reviewing.accept_sure(tip.animal))

    def action_withdraw(self) -> None:
        """Withdraws the fact; of a remark that waits, nothing is recorded."""
        if line := self.line:
            self._carry(lambda: self.reviewing.withdraw(line))
        elif case := self.case:
            self._carry(lambda: self.reviewing.dismiss(case))

    def action_undo(self) -> None:
        """Takes back the last decision; the cursor goes to what it was about."""
        self._carry(self.reviewing.undo)
        self.lines.to(self.list.touched())

    def action_redo(self) -> None:
        """Makes it again."""
        self._carry(self.reviewing.redo)
        self.lines.to(self.list.touched())

    def action_withdrawn(self) -> None:
        """Shows withdrawn facts too, or hides them."""
        self.list.has_withdrawn = not self.list.has_withdrawn
        self.refresh_list(self.lines.key)

    def action_session(self, by: int) -> None:
        """Goes to another session; what was decided in this one is kept, and can be undone there later."""
        try:
            other = self._beside(self.reviewing.info, by)
        except AssistantError as error:
            self.tell(str(error))
            return
        if other is None:
            self.tell("There is no session before." if by < 0 else "There is no session after.")
        else:
            self.open(other)
            self.begin()

    # -------------------------------------------------------------------------------------------------------- changing

    @asking
    async def action_reading(self) -> None:
        """Lets a reading of the remark be chosen."""
        remark = self.case or (self.tip.remark if self.tip else "")
        readings = self.reviewing.readings(remark) if remark else ()
        if not readings:
            self.tell("There is no other reading; t types what is right.")
            return
        reading = await self._sheets.reading(readings)
        if reading is not None and not facts_of(reading.meaning):
            self.tell("That reading has nothing to record; x records nothing.")
        elif reading is not None:
            await self._take_reading(remark, reading)

    @asking
    async def action_animal(self) -> None:
        """Moves the fact to another animal, or says whom the remark is about."""
        if (tip := self.tip) is not None:
            line = self.line
            animal = await self._sheets.animal("Which animal?", [tip.animal])
            if animal is not None:
                self._change(line, Fact(animal, tip.part))
        elif case := self.case:
            readings = self.reviewing.meaningful(case)
            if not readings:
                self.tell(_NOT_UNDERSTOOD)
                return
            animal = await self._sheets.animal("Which animal is it about?", self.reviewing.whom(case))
            if animal is not None:
                await self._take_reading(case, readings[0], animal)

    @asking
    async def action_place(self) -> None:
        """Chooses another place."""
        if (tip := self.tip) is not None and not hasattr(tip.part, "place"):
            self.tell("This has no place: it is about the whole animal.")
        else:
            await self._change_part(self._sheets.place)

    @asking
    async def action_finding(self) -> None:
        """Chooses another finding."""
        await self._change_part(self._sheets.finding)

    @asking
    async def action_action(self) -> None:
        """Chooses something else that was done."""
        await self._change_part(self._sheets.action)

    @asking
    async def action_value(self) -> None:
        """Chooses or types another value: a grade, a number, days."""
        tip = self.tip
        if tip is not None and not self._sheets.has_value(tip.part):
            self.tell("What was done has no value; d changes it.")
        else:
            await self._change_part(lambda part: self._sheets.value(tip.animal if tip else "", part))

    @asking
    async def action_type(self) -> None:
        """Types what is right, in the words of a remark."""
        if (tip := self.tip) is not None:
            line = self.line
            parts = await self._sheets.typed("What is right?", words_of(tip.part), tip.animal, _place_of(tip.part))
            if parts and len(parts) == 1:
                self._change(line, Fact(tip.animal, parts[0]))
            elif parts:
                self._split(line, tip, parts)
        elif case := self.case:
            said = self.reviewing.said(case)
            animal = await self._sheets.whom(case)
            if animal is not None:
                words = said.remark.words if said else ""
                parts = await self._sheets.typed("What was said?", words, animal)
                if parts:
                    self._record(animal, parts, lambda: self.reviewing.reread(case, animal, parts))

    @asking
    async def action_split(self) -> None:
        """Types the facts that one fact was."""
        line, tip = self.line, self.tip
        if tip is None:
            self.tell(_ONLY_FACTS if self.case else _NOTHING)
            return
        title = "Which facts are they? Put commas between."
        parts = await self._sheets.typed(title, words_of(tip.part), tip.animal, _place_of(tip.part))
        if parts and len(parts) > 1:
            self._split(line, tip, parts)
        elif parts:
            self.tell("That is one fact, so there is nothing to split.")

    def _split(self, line: str, tip: Entry, parts: Sequence[Part]) -> None:
        self._record(tip.animal, parts, lambda: self.reviewing.split(line, parts))

    @asking
    async def action_add(self) -> None:
        """Adds facts to the animal under the cursor."""
        tip = self.tip
        await self._add(tip.animal if tip else await self._another())

    @asking
    async def action_add_other(self) -> None:
        """Adds facts to an animal that is chosen."""
        await self._add(await self._another())

    async def _another(self) -> str | None:
        return await self._sheets.animal("Add to which animal?", list(self.reviewing.info.planned))

    async def _add(self, animal: str | None) -> None:
        label = self.reviewing.holding.label
        parts = await self._sheets.typed(f"Add to {short(label(animal))}:", "", animal) if animal else None
        if animal and parts:
            text = ", ".join(map(words_of, parts))
            self._carry(lambda: self.reviewing.add(animal, text, parts))


def _place_of(part: Part) -> str | None:
    place = getattr(part, "place", None)
    return place if isinstance(place, str) else None

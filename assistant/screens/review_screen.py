"""The review: what needs a decision first, then every fact by animal; each key is one decision."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from assistant.errors import AssistantError
from assistant.reviewing import Reviewing, facts_of
from assistant.screens import editing
from assistant.screens.choosing import Choice, Choosing, Typing
from assistant.screens.face import Keyline, PenScreen, Player
from assistant.screens.lines import Line, Lines
from assistant.screens.palette import KEPT
from assistant.screens.review_detail import MARK_OF, case_detail, line_detail
from assistant.session.review import Fact
from assistant.values import FindingPart, FollowUpPart, MeasurePart, Part, Remark, State
from assistant.wording import Wording

CASE, LINE, HEAD = "case:", "line:", "#"
_TONES = {State.HEARD: "plain", State.CONFIRMED: "good", State.CORRECTED: "done", State.WITHDRAWN: "quiet"}
_HAS_NO_PLACE = "This has no place: it is about the whole animal."


class ReviewScreen(PenScreen):
    """One session being put right.

    Args:
        reviewing: the session.
        words: what can be chosen from.
        play: makes a sound heard.
    """

    CSS = """
    ReviewScreen #left { width: 45%; min-width: 34; }
    ReviewScreen #right { width: 1fr; border-left: solid $panel; padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "play", "Play the remark"),
        Binding("a,enter", "accept", "Accept: it is right"),
        Binding("r", "reading", "Choose another reading"),
        Binding("n", "animal", "Change the animal"),
        Binding("p", "place", "Change the place"),
        Binding("f", "finding", "Change the finding"),
        Binding("d", "action", "Change what was done"),
        Binding("v", "value", "Change value, grade or days"),
        Binding("t", "type", "Type what is right"),
        Binding("s", "split", "Split into several"),
        Binding("x,delete", "withdraw", "Withdraw; of a remark: nothing to record"),
        Binding("i,insert", "add", "Add to this animal"),
        Binding("o", "add_other", "Add to another animal"),
        Binding("A", "accept_all", "Accept all of this animal"),
        Binding("u,ctrl+z", "undo", "Undo"),
        Binding("U,ctrl+y", "redo", "Redo"),
        Binding("h", "withdrawn", "Show withdrawn ones too"),
        Binding("question_mark", "app.keys", "All keys"),
        Binding("q", "app.leave", "Leave"),
    ]
    KEYS = (
        ("a", "accept"),
        ("x", "withdraw"),
        ("n", "animal"),
        ("p", "place"),
        ("f", "finding"),
        ("d", "done"),
        ("v", "value"),
        ("r", "reading"),
        ("i", "add"),
        ("u", "undo"),
        ("Space", "play"),
        ("t", "type"),
        ("s", "split"),
    )

    def __init__(self, reviewing: Reviewing, words: Wording, play: Player) -> None:
        super().__init__()
        self.reviewing = reviewing
        self.words = words
        self._player = play
        self._has_withdrawn = False

    def compose(self) -> ComposeResult:
        """Head line, the list, the detail beside it, what happened, keys."""
        yield Static("", classes="bar", id="head")
        with Horizontal():
            yield Lines(id="left")
            with VerticalScroll(id="right", can_focus=False):
                yield Static("", id="detail")
        yield Static("", classes="happened")
        yield Keyline(self.KEYS)

    def on_mount(self) -> None:
        """Shows the session; the words are made ready meanwhile."""
        self.refresh_list(0)
        self.query_one(Lines).focus()
        if self.reviewing.info.ended is None:
            self.tell("This session was not ended: put it right only if no other program is recording it.")
        self._warm_up()

    @work(thread=True)
    def _warm_up(self) -> None:
        self.reviewing.holding.interpreter()

    # ------------------------------------------------------------------------------------------------------ showing

    def refresh_list(self, at: str | int = "") -> None:
        """Shows the list as it is now, with the cursor at a key."""
        review = self.reviewing.review
        keys = [f"{HEAD}decide"] if review.open else []
        keys += [f"{CASE}{remark}" for remark in review.open]
        groups = review.live()
        if self._has_withdrawn:
            for line, versions in review.lines.items():
                if versions[-1].state is State.WITHDRAWN:
                    groups.setdefault(versions[-1].animal, []).append(line)
        for animal, lines in groups.items():
            keys.append(f"{HEAD}{animal}")
            keys += [LINE + line for line in lines]
        self.query_one(Lines).show(keys, self._line, at)
        started, n_facts = self.reviewing.info.started, sum(map(len, groups.values()))
        self.query_one("#head", Static).update(
            Content.assemble(
                ("Review ", "bold"),
                f"{started:%Y-%m-%d %H:%M}   {len(review.open)} to decide, {n_facts} facts of {len(groups)} animals",
            )
        )

    def _line(self, key: str) -> Line:
        review, label = self.reviewing.review, self.reviewing.holding.label
        if key.startswith(HEAD):
            name = "To decide" if key == f"{HEAD}decide" else label(key[1:])
            return Line(key, ((name, "strong"),))
        if key.startswith(CASE):
            said = self.reviewing.said(key[len(CASE) :])
            words = said.remark.words if said else ""
            likely = self.reviewing.review.known[key[len(CASE) :]].animals
            who = f"  {label(likely[0])}?" if likely else ""
            return Line(key, ((f"{KEPT} ", "kept"), (words or "not understood", "plain"), (who, "quiet")))
        tip = review.tip(key[len(LINE) :])
        return Line(key, ((f"{MARK_OF[tip.state]} {editing.words_of(tip.part)}", _TONES[tip.state]),))

    def on_lines_moved(self, event: Lines.Moved) -> None:
        """The detail follows the cursor."""
        self.query_one("#detail", Static).update(self._detail(event.key))

    def _detail(self, key: str) -> Content:
        if key.startswith(CASE):
            return case_detail(self.reviewing, self.reviewing.review.known[key[len(CASE) :]])
        if key.startswith(LINE):
            return line_detail(self.reviewing, key[len(LINE) :])
        return Content("Nothing is recorded in this session. i adds a fact.")

    def on_lines_chosen(self, _: Lines.Chosen) -> None:
        """Enter accepts."""
        self.action_accept()

    # ------------------------------------------------------------------------------------------------ under the cursor

    @property
    def _line_id(self) -> str | None:
        key = self.query_one(Lines).key
        return key[len(LINE) :] if key.startswith(LINE) else None

    @property
    def _case_id(self) -> str | None:
        key = self.query_one(Lines).key
        return key[len(CASE) :] if key.startswith(CASE) else None

    @property
    def _remark_id(self) -> str:
        return self._case_id or (self.reviewing.review.tip(self._line_id).remark if self._line_id else "")

    def _carry(self, deed: Callable[[], str | None], at: str | int = "") -> None:
        """Does something that is kept in the store, shows what holds then, and says what happened."""
        try:
            told = deed()
        except AssistantError as error:
            self.tell(str(error))
            return
        self.refresh_list(at)
        self.tell(told or "")

    async def _ask(self, sheet: ModalScreen[str | None]) -> str | None:
        return await self.app.push_screen_wait(sheet)

    async def _choose(self, title: str, choices: Sequence[Choice], at: str = "") -> str | None:
        return await self._ask(Choosing(title, choices, at))

    # ------------------------------------------------------------------------------------------------------- deciding

    def action_play(self) -> None:
        """Plays the remark."""
        try:
            self.tell(self._player(self.reviewing.sound(self._remark_id)))
        except AssistantError as error:
            self.tell(str(error))

    @work
    async def action_accept(self) -> None:
        """Accepts the fact, or the first reading of the remark."""
        if line := self._line_id:
            self._carry(lambda: self.reviewing.accept(line))
        elif case := self._case_id:
            readings = [one for one in self.reviewing.readings(case) if facts_of(one.meaning)]
            if readings:
                await self._take_reading(case, readings[0])
            else:
                self.tell("Nothing in it was understood: t types what is right, x records nothing.")

    def action_accept_all(self) -> None:
        """Accepts every fact of the animal under the cursor."""
        if line := self._line_id:
            animal = self.reviewing.review.tip(line).animal
            lines = self.reviewing.review.live().get(animal, [])
            self._carry(lambda: self.reviewing.accept(*lines))

    @work
    async def action_reading(self) -> None:
        """Lets a reading of the remark be chosen."""
        remark = self._remark_id
        readings = self.reviewing.readings(remark) if remark else ()
        if not readings:
            self.tell("There is no other reading; t types what is right.")
            return
        choices = [Choice(str(n), one.words, _meaning_words(one)) for n, one in enumerate(readings)]
        chosen = await self._choose("Which reading is right?", choices)
        if chosen is not None:
            await self._take_reading(remark, readings[int(chosen)])

    async def _take_reading(self, remark: str, reading: Remark) -> None:
        parts = facts_of(reading.meaning)
        if not parts:
            self.tell("That reading has nothing to record; x records nothing.")
            return
        animal = await self._whom(remark)
        if animal is None:
            return
        placed = await self._placed(parts)
        if placed is not None:
            self._record(animal, placed, lambda: self.reviewing.reread(remark, animal, placed))

    async def _whom(self, remark: str) -> str | None:
        """Whom a remark is about: asked unless only one animal can be meant."""
        likely = self.reviewing.whom(remark)
        if len(likely) == 1:
            return likely[0]
        return await self._choose_animal("Which animal is it about?", likely)

    async def _choose_animal(self, title: str, likely: Sequence[str]) -> str | None:
        choices = editing.animal_choices(self.reviewing.holding.animals.values(), likely)
        return await self._choose(title, choices, likely[0] if likely else "")

    async def _placed(self, parts: Sequence[Part]) -> tuple[Part, ...] | None:
        """The parts with a place for each that needs one; None if that was left open."""
        if not any(isinstance(part, FindingPart) or hasattr(part, "place") for part in parts):
            return tuple(parts)
        if all(getattr(part, "place", "-") for part in parts):
            return tuple(parts)
        place = await self._choose("Where?", editing.place_choices(self.words))
        if place is None:
            return None
        return tuple(part if getattr(part, "place", "-") else editing.at_place(part, place) for part in parts)

    def _record(self, animal: str, parts: Sequence[Part], deed: Callable[[], None]) -> None:
        trouble = next(filter(None, (self.reviewing.problem(Fact(animal, part)) for part in parts)), None)
        if trouble:
            self.tell(trouble)
        else:
            self._carry(deed)

    def _change(self, line: str, part: Part) -> None:
        tip = self.reviewing.review.tip(line)
        fact = Fact(tip.animal, part)
        if fact == Fact(tip.animal, tip.part):
            self.tell("It is the same as before.")
        else:
            self._record(tip.animal, [part], lambda: self.reviewing.change(line, fact))

    @work
    async def action_animal(self) -> None:
        """Moves the fact to another animal, or says whom the remark is about."""
        if line := self._line_id:
            tip = self.reviewing.review.tip(line)
            animal = await self._choose_animal("Which animal?", [tip.animal])
            if animal is not None and animal != tip.animal:
                fact = Fact(animal, tip.part)
                self._record(animal, [tip.part], lambda: self.reviewing.change(line, fact))
        elif case := self._case_id:
            readings = [one for one in self.reviewing.readings(case) if facts_of(one.meaning)]
            animal = await self._choose_animal("Which animal is it about?", self.reviewing.whom(case))
            if animal is None or not readings:
                self.tell("" if animal is None else "Nothing in it was understood: t types what is right.")
                return
            placed = await self._placed(facts_of(readings[0].meaning))
            if placed is not None:
                self._record(animal, placed, lambda: self.reviewing.reread(case, animal, placed))

    @work
    async def action_place(self) -> None:
        """Chooses another place."""
        if line := self._line_id:
            part = self.reviewing.review.tip(line).part
            if not hasattr(part, "place"):
                self.tell(_HAS_NO_PLACE)
                return
            place = await self._choose("Where?", editing.place_choices(self.words), editing.place_key(part))
            if place is not None:
                self._change(line, editing.at_place(part, place))
        else:
            self._only_facts()

    @work
    async def action_finding(self) -> None:
        """Chooses another finding."""
        if line := self._line_id:
            part = self.reviewing.review.tip(line).part
            now = part.finding if isinstance(part, FindingPart) else ""
            found = await self._choose("What was found?", editing.simple_choices(self.words.findings), now)
            if found is not None:
                self._change(line, editing.finding(part, found))
        else:
            self._only_facts()

    @work
    async def action_action(self) -> None:
        """Chooses something else that was done."""
        if line := self._line_id:
            part = self.reviewing.review.tip(line).part
            done = await self._choose(
                "What was done?", editing.simple_choices(self.words.actions), getattr(part, "action", "")
            )
            if done is not None:
                self._change(line, editing.action(part, done))
        else:
            self._only_facts()

    @work
    async def action_value(self) -> None:
        """Chooses or types another value: a grade, a number, days."""
        line = self._line_id
        if line is None:
            self._only_facts()
            return
        part = self.reviewing.review.tip(line).part
        choices = editing.value_choices(part, self.words)
        if choices:
            value = await self._choose("Which value?", choices, editing.value_now(part))
        elif isinstance(part, MeasurePart | FollowUpPart):
            title = f"{part.measure}:" if isinstance(part, MeasurePart) else f"{part.follow_up} in how many days?"
            value = await self._ask(Typing(title, editing.value_now(part), lambda text: self._bad_value(line, text)))
        else:
            self.tell("What was done has no value; d changes it.")
            return
        if value is not None and (changed := editing.with_value(part, value)):
            self._change(line, changed)

    def _bad_value(self, line: str, text: str) -> str | None:
        tip = self.reviewing.review.tip(line)
        changed = editing.with_value(tip.part, text)
        return "That is no number." if changed is None else self.reviewing.problem(Fact(tip.animal, changed))

    @work
    async def action_type(self) -> None:
        """Types what is right, in the words of a remark."""
        remark, line = self._remark_id, self._line_id
        if line:
            tip = self.reviewing.review.tip(line)
            parts = await self._typed("What is right?", editing.words_of(tip.part), tip.animal, _place_of(tip.part))
            if parts and len(parts) == 1:
                self._change(line, parts[0])
            elif parts:
                several = parts
                self._record(tip.animal, several, lambda: self.reviewing.split(line, several))
        elif remark:
            said = self.reviewing.said(remark)
            animal = await self._whom(remark)
            if animal is None:
                return
            parts = await self._typed("What was said?", said.remark.words if said else "", animal)
            if parts:
                self._record(animal, parts, lambda: self.reviewing.reread(remark, animal, parts))

    @work
    async def action_split(self) -> None:
        """Types the facts that one fact was."""
        if line := self._line_id:
            tip = self.reviewing.review.tip(line)
            title = "Which facts are they? Put commas between."
            parts = await self._typed(title, editing.words_of(tip.part), tip.animal, _place_of(tip.part))
            if parts and len(parts) > 1:
                self._record(tip.animal, parts, lambda: self.reviewing.split(line, parts))
            elif parts:
                self.tell("That is one fact, so there is nothing to split.")
        else:
            self._only_facts()

    async def _typed(self, title: str, value: str, animal: str, place: str | None = None) -> tuple[Part, ...] | None:
        """What a typed line puts on record; None if it was left."""
        said = await self._ask(Typing(title, value, lambda text: self._bad_words(text, animal, place), self._phrases()))
        return facts_of(self.reviewing.read(said, place)) if said is not None else None

    def _bad_words(self, text: str, animal: str, place: str | None) -> str | None:
        meaning = self.reviewing.read(text, place)
        if meaning.unplaced:
            return f"Not understood: {meaning.unplaced}."
        parts = facts_of(meaning)
        if not parts:
            return "There is nothing to record in that."
        return next(filter(None, (self.reviewing.problem(Fact(animal, part)) for part in parts)), None)

    def _phrases(self) -> list[str]:
        words = self.words
        lists = (words.places, words.parts, words.findings, words.actions, words.follow_ups, words.measures)
        return [phrase for one in (*lists, words.traits) for phrase in one]

    def action_withdraw(self) -> None:
        """Withdraws the fact; of a remark that waits, nothing is recorded."""
        if line := self._line_id:
            self._carry(lambda: self.reviewing.withdraw(line))
        elif case := self._case_id:
            self._carry(lambda: self.reviewing.dismiss(case))

    @work
    async def action_add(self) -> None:
        """Adds facts to the animal under the cursor."""
        line = self._line_id
        if line is None:
            self.action_add_other()
        else:
            await self._add(self.reviewing.review.tip(line).animal)

    @work
    async def action_add_other(self) -> None:
        """Adds facts to an animal that is chosen."""
        animal = await self._choose_animal("Add to which animal?", list(self.reviewing.info.planned))
        if animal is not None:
            await self._add(animal)

    async def _add(self, animal: str) -> None:
        parts = await self._typed(f"Add to {self.reviewing.holding.label(animal)}:", "", animal)
        if parts:
            text = ", ".join(editing.words_of(part) for part in parts)
            self._carry(lambda: self._added(animal, text, parts))

    def _added(self, animal: str, text: str, parts: Sequence[Part]) -> None:
        self.reviewing.add(animal, text, parts)

    def action_undo(self) -> None:
        """Takes back the last decision."""
        self._carry(self.reviewing.undo)

    def action_redo(self) -> None:
        """Makes it again."""
        self._carry(self.reviewing.redo)

    def action_withdrawn(self) -> None:
        """Shows withdrawn facts too, or hides them."""
        self._has_withdrawn = not self._has_withdrawn
        self.refresh_list(self.query_one(Lines).key)

    def _only_facts(self) -> None:
        self.tell("Decide first what the remark means: r chooses a reading, t types what is right.")


def _place_of(part: Part) -> str | None:
    place = getattr(part, "place", None)
    return place if isinstance(place, str) else None


def _meaning_words(reading: Remark) -> str:
    return "; ".join(editing.words_of(part) for part in facts_of(reading.meaning)) or "nothing to record"

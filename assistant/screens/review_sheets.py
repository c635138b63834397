"""What the review asks: each question as a sheet over the screen, and the answer as a fact."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.meaning.wording import Wording
from assistant.records.reviewing import Reviewing, facts_of
from assistant.report.summary import words_of
from assistant.screens import editing
from assistant.screens.choosing import Choice
from assistant.screens.face import PenScreen
from assistant.session.review import Fact
from assistant.values import FindingPart, FollowUpPart, MeasurePart, Part, Remark


class Sheets:
    """Asks about a session that is put right. Each question gives None if it was left.

    Args:
        reviewing: the session.
        words: what can be chosen from.
        screen: over which the sheets come up.
    """

    def __init__(self, reviewing: Reviewing, words: Wording, screen: PenScreen) -> None:
        self._reviewing = reviewing
        self._words = words
        self._screen = screen

    async def _choose(self, title: str, choices: Sequence[Choice], at: str = "") -> str | None:
        return await self._screen.choosing.ask(title, choices, at)

    async def animal(self, title: str, likely: Sequence[str]) -> str | None:
        """An animal; the likely ones stand first."""
        choices = editing.animal_choices(self._reviewing.holding.animals.values(), likely)
        return await self._choose(title, choices, likely[0] if likely else "")

    async def whom(self, remark: str) -> str | None:
        """Whom a remark is about: asked unless only one animal can be meant."""
        likely = self._reviewing.whom(remark)
        return likely[0] if len(likely) == 1 else await self.animal("Which animal is it about?", likely)

    async def reading(self, readings: Sequence[Remark]) -> Remark | None:
        """One of the readings of a remark."""
        choices = [Choice(str(n), one.words, _meaning_words(one)) for n, one in enumerate(readings)]
        chosen = await self._choose("Which reading is right?", choices)
        return None if chosen is None else readings[int(chosen)]

    async def placed(self, parts: Sequence[Part]) -> tuple[Part, ...] | None:
        """The parts with a place for each that needs one."""
        if all(getattr(part, "place", "-") for part in parts):
            return tuple(parts)
        place = await self._choose("Where?", editing.place_choices(self._words))
        if place is None:
            return None
        return tuple(part if getattr(part, "place", "-") else editing.at_place(part, place) for part in parts)

    async def place(self, part: Part) -> Part | None:
        """The fact at another place."""
        place = await self._choose(_now("Where?", part), editing.place_choices(self._words), editing.place_key(part))
        return None if place is None else editing.at_place(part, place)

    async def finding(self, part: Part) -> Part | None:
        """The fact with another finding."""
        now = part.finding if isinstance(part, FindingPart) else ""
        found = await self._choose(_now("What was found?", part), editing.simple_choices(self._words.findings), now)
        return None if found is None else editing.finding(part, found)

    async def action(self, part: Part) -> Part | None:
        """The fact with something else that was done."""
        choices = editing.simple_choices(self._words.actions)
        done = await self._choose(_now("What was done?", part), choices, getattr(part, "action", ""))
        return None if done is None else editing.action(part, done)

    def has_value(self, part: Part) -> bool:
        """Whether a fact has a value: a grade, a number, days, a trait."""
        return isinstance(part, MeasurePart | FollowUpPart) or bool(editing.value_choices(part, self._words))

    async def value(self, animal: str, part: Part) -> Part | None:
        """The fact with another value."""
        if choices := editing.value_choices(part, self._words):
            value = await self._choose(_now("Which value?", part), choices, editing.value_now(part))
        else:
            title = f"{part.follow_up} in how many days?" if isinstance(part, FollowUpPart) else "Which number?"
            bad = self._bad_value
            typing = self._screen.typing.ask(title, editing.value_now(part), lambda text: bad(animal, part, text))
            value = await typing
        return None if value is None else editing.with_value(part, value)

    def _bad_value(self, animal: str, part: Part, text: str) -> str | None:
        changed = editing.with_value(part, text)
        return "That is no number." if changed is None else self._reviewing.problem(Fact(animal, changed))

    async def typed(self, title: str, value: str, animal: str, place: str | None = None) -> tuple[Part, ...] | None:
        """What a typed line puts on record.

        Args:
            title: what is asked.
            value: what stands in the line at first.
            animal: whom it is about.
            place: the place that is open.
        """
        bad = self._bad_words
        typing = self._screen.typing.ask(title, value, lambda text: bad(text, animal, place), self._phrases())
        said = await typing
        return None if said is None else facts_of(self._reviewing.read(said, place))

    def _bad_words(self, text: str, animal: str, place: str | None) -> str | None:
        meaning = self._reviewing.read(text, place)
        if meaning.unplaced:
            return f"Not understood: {meaning.unplaced}."
        parts = facts_of(meaning)
        if not parts:
            return "There is nothing to record in that."
        return next(filter(None, (self._reviewing.problem(Fact(animal, part)) for part in parts)), None)

    def _phrases(self) -> list[str]:
        words = self._words
        lists = (words.places, words.parts, words.findings, words.actions, words.follow_ups, words.measures)
        return [phrase for one in (*lists, words.traits) for phrase in one]


def _now(question: str, part: Part) -> str:
    """A question with what stands on record now, for the sheet may hide the line that it is about."""
    return f"{question} Now {words_of(part)}"


def _meaning_words(reading: Remark) -> str:
    return "; ".join(words_of(part) for part in facts_of(reading.meaning)) or "nothing to record"

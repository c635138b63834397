"""A handling session from start to end for tests: the real store, grammar and verdict, and listeners with a script."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np

from assistant.listening.ears import Ears
from assistant.live.farm import Farm
from assistant.live.handling import Handling, Outcome
from assistant.register.register import Register
from assistant.store.store import Store
from assistant.values import (
    Animal,
    HeardWord,
    Hearing,
    Part,
    Reading,
    SessionInfo,
    Sound,
    Species,
    WordGraph,
)

START = datetime(2026, 5, 26, 9, 0, tzinfo=UTC)
RATE_HZ = 16000
ANIMALS = (
    Animal("a1", number="417", name="Tansy"),
    Animal("a2", number="411", name="Sorrel"),
    Animal("a3", number="423", name="Yarrow", species=Species.SHEEP),
)


@cache
def farm() -> Farm:
    """The invented holding; its grammar is made once."""
    return Farm(Register(ANIMALS), planned=("a1", "a2", "a3"))


class ScriptedListener:
    """A listener that knows what it will hear: the readings of the sound whose loudness is n thousandths.

    Args:
        name: in hearings.
        script: n → sentences, best first, or none; a sound that is not in it breaks the listener.
    """

    def __init__(self, name: str, script: dict[int, Sequence[str]]) -> None:
        self.name = name
        self.script = script

    def expect(self, graph: WordGraph) -> None:
        """Its script is the same whatever is listened for."""

    def hear(self, sound: Sound) -> Hearing:
        n = round(float(np.abs(sound.samples).max()) * 1000)
        if n not in self.script:
            raise RuntimeError("the listener broke")
        words = [tuple(HeardWord(word, 0, 0) for word in text.split()) for text in self.script[n]]
        return Hearing(self.name, tuple(Reading(said, -float(rank)) for rank, said in enumerate(words)))


class Stage:
    """A holding with a store, a clock, and a keeper who speaks or types."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(exist_ok=True)
        self.store = Store.open(folder / "herd.db")
        self.store.save_animals(ANIMALS, START)
        self.scripts: tuple[dict[int, Sequence[str]], ...] = ({}, {})
        ears = Ears([ScriptedListener(f"listener {n}", script) for n, script in enumerate(self.scripts)])
        self.judge = lambda sound: ears.judge(sound, farm().interpreter.key)
        self.now = START
        self.n_said = 0
        self.handling = self.session("s1")

    def session(self, key: str, *, is_attended: bool = True) -> Handling:
        """A new session; it becomes the one that is spoken to."""
        self.handling = farm().handling(self.store, key, self.judge)
        info = SessionInfo(key, self.now, planned=("a1", "a2", "a3"), by="Rowan", source="test")
        self.handling.begin(info, is_attended=is_attended)
        return self.handling

    def crash(self, key: str = "s1") -> None:
        """The program is gone, and another one opens its store and session."""
        path = self.store.path
        self.store.close()
        self.store = Store.open(path)
        self.handling = farm().handling(self.store, key, self.judge)
        self.handling.reopen(key)

    def sound(self, first: Sequence[str], second: Sequence[str] | None = None, length_s: float = 2.0) -> Sound:
        """A sound that the listeners take for these sentences, the second for the same as the first if left out."""
        self.n_said += 1
        self.scripts[0][self.n_said] = first
        self.scripts[1][self.n_said] = first if second is None else second
        samples = np.full(round(length_s * RATE_HZ), self.n_said / 1000, np.float32)
        return Sound(samples, RATE_HZ, (self.now - START).total_seconds())

    def broken(self) -> Sound:
        """A sound on which the listeners break."""
        self.n_said += 1
        return Sound(np.full(RATE_HZ, self.n_said / 1000, np.float32), RATE_HZ)

    def hear(self, *first: str, second: Sequence[str] | None = None, wait_s: float = 5) -> Outcome:
        """A spoken remark: what the first listener hears, and what the second does if not the same."""
        self.now += timedelta(seconds=wait_s)
        return self.handling.hear(self.sound(first, second), self.now, "Rowan")

    def type(self, text: str, wait_s: float = 5) -> Outcome:
        """A typed remark."""
        self.now += timedelta(seconds=wait_s)
        return self.handling.type(text, self.now, "Rowan")

    def recorded(self, animal: str, session: str = "s1") -> list[Part]:
        """What holds for an animal in the store."""
        return [entry.part for entry in self.store.entries(session, animal)]


def told(outcome: Outcome) -> str:
    """All that was said back, in one line."""
    return " ".join(reply.text for reply in outcome.replies if reply.text)

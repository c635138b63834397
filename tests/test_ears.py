"""Listeners are asked once, and those to which further readings are dear a second time only where there is doubt."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest

from assistant.ears import Ears
from assistant.values import Decision, HeardWord, Hearing, Reading, Sound, WordGraph

SOUND = Sound(np.zeros(16000, np.float32), 16000)


def hearing(name: str, *texts: str) -> Hearing:
    readings = (
        Reading(tuple(HeardWord(w, 0.0, 1.0) for w in text.split()), -float(at)) for at, text in enumerate(texts)
    )
    return Hearing(name, tuple(readings))


@dataclass
class Scripted:
    """A listener whose readings are given."""

    name: str
    texts: tuple[str, ...]
    graphs: list[WordGraph] = field(default_factory=list)

    def expect(self, graph: WordGraph) -> None:
        self.graphs.append(graph)

    def hear(self, sound: Sound) -> Hearing:
        return hearing(self.name, *self.texts)


@dataclass
class Dear(Scripted):
    """One that gives more readings on a second look, and counts those."""

    further: tuple[str, ...] = ()
    looks: int = 0

    def look_again(self, sound: Sound) -> Hearing:
        self.looks += 1
        return hearing(self.name, *self.texts, *self.further)


@pytest.mark.parametrize(
    ("one", "other", "decision", "looks"),
    [
        (("left hind",), ("left hind",), Decision.ACCEPTED, 0),
        (("left hind",), ("left fore",), Decision.ASK, 1),
        ((), (), Decision.UNHEARD, 1),
    ],
)
def test_a_second_look_is_taken_only_in_doubt(one, other, decision, looks) -> None:
    dear = Dear("dear", one)
    verdict = Ears([dear, Scripted("other", other)]).judge(SOUND, lambda words: words)
    assert (verdict.decision, dear.looks) == (decision, looks)


def test_what_the_second_look_finds_is_offered() -> None:
    ears = Ears([Dear("dear", ("left hind",), further=("right hind",)), Scripted("other", ("left fore",))])
    assert set(ears.judge(SOUND, lambda words: words).choices) == {"left hind", "left fore", "right hind"}


def test_every_listener_is_told_what_to_expect_and_named_the_leader_first() -> None:
    listeners = [Scripted("a", ()), Scripted("b", ())]
    graph = WordGraph(0, frozenset({0}), (), 1)
    ears = Ears(listeners)
    ears.expect(graph)
    assert (ears.names, [listener.graphs for listener in listeners]) == (("a", "b"), [[graph], [graph]])

"""Listeners are asked once, and a second time for the readings of the others only where there is doubt."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

import numpy as np
import pytest

from assistant.hearing.listener import with_others
from assistant.listening.ears import Ears
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
class Weigher(Scripted):
    """One that can weigh any sentence and counts how often it is asked to."""

    likes: str = ""
    asked: list[tuple[str, ...]] = field(default_factory=list)

    def weighed(self, sound: Sound, hearing: Hearing, sentences: Collection[str]) -> Hearing:
        self.asked.append(tuple(sentences))
        scores = {text: -12.0 if text == self.likes else -90.0 for text in sentences}
        return with_others(hearing, scores, sound)


@pytest.mark.parametrize(
    ("one", "other", "decision", "looks"),
    [
        (("left hind",), ("left hind",), Decision.ACCEPTED, 0),
        (("left hind",), ("left fore",), Decision.ASK, 1),
        ((), ("left fore",), Decision.ASK, 0),
        ((), (), Decision.UNHEARD, 0),
    ],
)
def test_listeners_weigh_the_readings_of_the_others_only_in_doubt(one, other, decision, looks) -> None:
    weigher = Weigher("weigher", one)
    verdict = Ears([weigher, Scripted("other", other)]).judge(SOUND, lambda words: words)
    assert (verdict.decision, len(weigher.asked)) == (decision, looks)


def test_what_is_weighed_decides_the_order_of_choices() -> None:
    listeners = [Scripted("b", ("left fore",)), Weigher("a", ("left hind",)), Weigher("c", ("right hind",))]
    for listener in listeners[1:]:
        listener.likes = "left fore"
    verdict = Ears(listeners).judge(SOUND, lambda words: words)
    assert (verdict.decision, verdict.choices[0]) == (Decision.ASK, "left fore")


def test_of_sentences_with_one_meaning_only_the_first_is_weighed() -> None:
    weigher = Weigher("weigher", ("left hind", "near hind"))
    Ears([weigher, Scripted("other", ("left fore", "near fore"))]).judge(SOUND, lambda w: w.replace("near", "left"))
    assert weigher.asked == [("left hind", "left fore")]


def test_every_listener_is_told_what_to_expect_and_named_the_leader_first() -> None:
    listeners = [Scripted("a", ()), Scripted("b", ())]
    graph = WordGraph(0, frozenset({0}), (), 1)
    ears = Ears(listeners)
    ears.expect(graph)
    assert (ears.names, [listener.graphs for listener in listeners]) == (("a", "b"), [[graph], [graph]])

"""Listeners are asked once, and a second time for the readings of the others only where there is doubt."""

from __future__ import annotations

from collections.abc import Collection, Sequence
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
    liking: float = -12.0
    asked: list[tuple[str, ...]] = field(default_factory=list)

    def weighed(self, sound: Sound, hearing: Hearing, sentences: Collection[str]) -> Hearing:
        self.asked.append(tuple(sentences))
        scores = {text: self.liking if text == self.likes else -90.0 for text in sentences}
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


@dataclass
class Scribe(Weigher):
    """One that also writes freely, and counts how often it is asked to."""

    writes: tuple[str, ...] = ()
    n_written: int = 0

    def transcripts(self, sound: Sound) -> Sequence[str]:
        self.n_written += 1
        return self.writes


LAME = "she's very lame on the near hind"


def remark_of(text: str) -> str | None:
    words = text.lower().strip(".")
    return words if words == LAME else None


@pytest.mark.parametrize("in_grammar", [("near hind",), ()])
def test_a_freely_worded_remark_that_another_listener_finds_to_fit_is_taken_and_said_back(in_grammar) -> None:
    """Also where no listener has a sentence of the grammar."""
    writes = ("She's fairly lame.", "She's very lame on the near hind.")
    scribe = Scribe("moonshine", in_grammar, likes=LAME, liking=60.0, writes=writes)
    second = Weigher("phonemes", in_grammar and ("near fore",), likes=LAME, liking=60.0)
    third = Scripted("pocketsphinx", in_grammar)
    verdict = Ears([third, second, scribe]).judge(SOUND, lambda words: words, remark_of)
    assert (verdict.decision, verdict.choices, verdict.is_close) == (Decision.ACCEPTED, (LAME,), True)


def test_a_freely_worded_remark_that_fits_for_one_listener_alone_is_only_asked_about() -> None:
    scribe = Scribe("scribe", (), likes=LAME, writes=(LAME,))
    verdict = Ears([scribe, Scripted("other", ())]).judge(SOUND, lambda words: words, remark_of)
    assert (verdict.decision, verdict.choices) == (Decision.ASK, (LAME,))


def test_free_wording_makes_sure_of_a_sentence_of_the_grammar_that_means_the_same() -> None:
    """It is the sentence that was heard first, though the sound strained it."""
    scribe = Scribe("moonshine", (), likes=LAME, liking=60.0, writes=(LAME,))
    second = Weigher("phonemes", (), likes=LAME, liking=60.0)
    third = Scripted("pocketsphinx", ("lame near hind",))
    key = {LAME: "lame", "lame near hind": "lame"}.get
    verdict = Ears([third, second, scribe]).judge(SOUND, key, remark_of)
    assert (verdict.decision, verdict.choices, verdict.is_close) == (Decision.ACCEPTED, ("lame near hind",), True)


def test_free_wording_that_fits_worse_than_the_grammar_changes_nothing() -> None:
    scribe = Scribe("scribe", ("near hind",), likes="near hind", writes=(LAME,))
    other = Weigher("other", ("near fore",), likes="near fore")
    with_it = Ears([scribe, other]).judge(SOUND, lambda words: words, remark_of)
    assert with_it.choices[0] in ("near hind", "near fore")
    assert with_it.decision is Decision.ASK


@pytest.mark.parametrize(("texts", "n_written"), [(("left hind", "left hind"), 0), (("left hind", "left fore"), 1)])
def test_a_listener_writes_freely_only_in_doubt(texts, n_written) -> None:
    scribe = Scribe("scribe", texts[:1])
    ears = Ears([scribe, Scripted("other", texts[1:])])
    ears.judge(SOUND, lambda words: words, remark_of)
    assert scribe.n_written == n_written
    ears.judge(SOUND, lambda words: words)
    assert scribe.n_written == n_written, "where everything that is said is in the grammar, nothing is written"


def test_free_text_that_is_no_remark_leaves_other_talk_alone() -> None:
    scribe = Scribe("scribe", (), writes=("The lorry would never get down that lane.",))
    verdict = Ears([scribe, Scripted("other", ())]).judge(SOUND, lambda words: words, remark_of)
    assert (verdict.decision, verdict.choices, scribe.asked) == (Decision.UNHEARD, (), [])

"""Partial agreement: what all readings share is recorded at once, only the rest is asked about."""

from __future__ import annotations

import pytest
from session_stage import Stage, at, cmd, did, found, it, measure

from assistant.session.in_part import agreed_facts
from assistant.session.replies import ReplyKind
from assistant.session.state import Policy, QuestionKind
from assistant.values import BETWEEN, FEET, State

LF, RF, LH, RH = FEET
TRIMMED = did(LH, "trimmed")
HOLLOW, CRACK = found(LH, "hollow wall"), found(LH, "crack")
DIFFER = (("left hind hollow wall trimmed", (HOLLOW, TRIMMED)), ("left hind crack trimmed", (CRACK, TRIMMED)))
WHETHER = (("left hind trimmed crack", (TRIMMED, CRACK)), ("left hind trimmed", (TRIMMED,)))


def on_table(**keys) -> Stage:
    stage = Stage(**keys)
    stage.say(it("Tansy"))
    return stage


def test_what_is_agreed_on_is_on_record_before_the_answer() -> None:
    stage = on_table()
    assert stage.mumble(*DIFFER, agreed=(TRIMMED,)) == "Hollow wall or crack?"
    assert stage.parts() == [TRIMMED]
    assert [reply.kind for reply in stage.replies] == [ReplyKind.HEARD, ReplyKind.ASKING]
    assert stage.entries()[-1].state is State.HEARD


ANSWERS = [
    # how the question is answered: words, parts, what holds afterwards
    ("the crack", [found(LH, "crack")], [TRIMMED, CRACK]),
    ("hollow wall", [], [TRIMMED, HOLLOW]),
    ("the second", [], [TRIMMED, CRACK]),
    # said again in full, as most people do: nothing is on record twice
    ("left hind crack trimmed", [CRACK, TRIMMED], [TRIMMED, CRACK]),
    ("left hind trimmed overgrown", [TRIMMED, found(LH, "overgrown")], [TRIMMED, found(LH, "overgrown")]),
    ("no", [cmd("no")], [TRIMMED]),
]


@pytest.mark.parametrize(("words", "parts", "held"), ANSWERS)
def test_the_answer_completes_it(words, parts, held) -> None:
    stage = on_table()
    stage.mumble(*DIFFER, agreed=(TRIMMED,))
    stage.say(*parts, words=words)
    assert stage.parts() == held
    assert stage.state.question is None
    assert len(stage.state.review) == (words == "no")


@pytest.mark.parametrize(("answer", "held"), [("yes", [TRIMMED, CRACK]), ("no", [TRIMMED])])
def test_a_reading_that_says_no_more_needs_a_yes_or_no(answer, held) -> None:
    stage = on_table()
    assert stage.mumble(*WHETHER, agreed=(TRIMMED,)) == "Left hind crack?"
    assert stage.state.question.kind is QuestionKind.SURE
    stage.say(cmd(answer), words=answer)
    assert stage.parts() == held
    assert stage.state.review == ()


def test_readings_that_differ_in_no_fact_leave_nothing_to_ask() -> None:
    stage = on_table()
    stage.mumble(("left hind crack", (CRACK,)), ("left hind crack left fore", (CRACK, at(LF))), agreed=(CRACK,))
    assert stage.parts() == [CRACK]
    assert stage.state.question is None
    assert stage.state.scope.places == ()


def test_a_place_in_the_answer_moves_only_what_was_asked_about() -> None:
    stage = on_table()
    fores = [(f"left hind trimmed {foot} crack", (TRIMMED, found(foot, "crack"))) for foot in (LF, RF)]
    assert stage.mumble(*fores, agreed=(TRIMMED,)) == "Left fore or right fore?"
    stage.say(at(RF), words="right fore")
    assert stage.parts() == [TRIMMED, found(RF, "crack")]


def test_nobody_answers() -> None:
    stage = on_table()
    stage.mumble(*DIFFER, agreed=(TRIMMED,))
    stage.wait()
    assert stage.parts() == [TRIMMED]
    assert len(stage.state.review) == 1


def test_scratch_takes_all_of_the_remark_back() -> None:
    stage = on_table()
    stage.mumble(*DIFFER, agreed=(TRIMMED,))
    assert stage.say(cmd("scratch")) == "Scratched: left hind trimmed."
    assert (stage.parts(), stage.state.question, stage.state.animal) == ([], None, "a1")


def test_careful_reads_back_what_it_took() -> None:
    stage = on_table(policy=Policy.CAREFUL)
    asked = stage.mumble(*DIFFER, agreed=(TRIMMED,))
    assert asked == "Left hind trimmed. Hollow wall or crack?"


@pytest.mark.parametrize(
    ("readings", "agreed"),
    [
        ([], ()),
        ([(TRIMMED,)], (TRIMMED,)),
        ([(CRACK, TRIMMED), (TRIMMED, HOLLOW, at(LF))], (TRIMMED,)),
        ([(TRIMMED,), (CRACK,)], ()),
        ([(at(LH), TRIMMED), (at(LH), TRIMMED)], (TRIMMED,)),
        # the same at another place is not the same
        ([(TRIMMED,), (did(LF, "trimmed"),)], ()),
        # a reading names an animal, ends the work, or takes something back: it may be another remark altogether
        ([(TRIMMED, it("Sorrel")), (TRIMMED, CRACK)], ()),
        ([(TRIMMED, cmd("done")), (TRIMMED, CRACK)], ()),
        ([(cmd("correct"), TRIMMED), (TRIMMED, CRACK)], ()),
        ([(TRIMMED, CRACK), (TRIMMED, HOLLOW), (cmd("scratch"), TRIMMED)], ()),
    ],
)
def test_what_is_agreed_on(readings, agreed) -> None:
    assert agreed_facts(readings) == agreed


def test_nothing_is_taken_without_an_animal_or_in_doubt_who_it_is() -> None:
    stage = Stage()
    stage.mumble(*DIFFER, agreed=(TRIMMED,))
    stage.say(it("Tansy"))
    assert stage.parts() == []
    stage.mumble(("sorrel", (it("Sorrel"),)), ("overgrown", (found(None, "overgrown"),)))
    stage.wait()
    assert stage.state.doubt is not None
    stage.mumble(*DIFFER, agreed=(TRIMMED,))
    assert stage.parts() == []


def test_nothing_is_taken_after_done_was_said() -> None:
    """The next animal may be on the table already."""
    stage = on_table()
    stage.say(cmd("done"))
    stage.mumble(*DIFFER, agreed=(TRIMMED,))
    assert stage.parts() == []


@pytest.mark.parametrize(
    "part", [found(None, "overgrown"), measure("condition", 9), found(LH, "sound", BETWEEN), found(LH, "sound")]
)
def test_what_would_have_to_be_asked_first_waits(part) -> None:
    stage = on_table()
    stage.say(found(LH, "scald", BETWEEN))
    before = stage.parts()
    stage.mumble(("a", (part, TRIMMED, CRACK)), ("b", (part, TRIMMED, HOLLOW)), agreed=(part, TRIMMED))
    assert stage.parts() == [*before, TRIMMED]

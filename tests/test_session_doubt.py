"""Who is on the table is never taken for granted: what raises a doubt, what waits, and how it ends."""

from __future__ import annotations

from dataclasses import replace

import pytest
from session_stage import Stage, at, cmd, did, found, it, measure

from assistant.session.events import Ended, Said
from assistant.session.replies import ReplyKind
from assistant.values import BETWEEN, FEET, Decision, FollowUpPart, Part, QuestionPart, Verdict

LF, RF, LH, RH = FEET
CRACK, LONG, TRIMMED = found(LH, "crack"), found(LF, "overgrown"), did(LF, "trimmed")
DONE_OR_NOT = (("done", (cmd("done"),)), ("stone", (found(None, "foreign body"),)))
BETONY_OR_NOT = (("a coughing", (found(None, "cough"),)), ("sorrel", (it("Sorrel"),)))
TWO_FEET = (("left hind crack", (CRACK,)), ("left fore crack", (found(LF, "crack"),)))
STILL = "Still on Tansy?"


def on_table(**keys) -> Stage:
    stage = Stage(**keys)
    stage.say(it("Tansy"))
    stage.say(found(RH, "sound"))
    return stage


def in_doubt(*readings, is_attended: bool = True) -> Stage:
    """After a remark that may have been a change of animal, and nobody's answer to it."""
    stage = on_table(is_attended=is_attended)
    stage.mumble(*(readings or DONE_OR_NOT))
    stage.wait()
    return stage


CHANGES = [
    DONE_OR_NOT,
    BETONY_OR_NOT,
    (("now yarrow", (cmd("next"), it("Yarrow"))),),
    (("skip", (cmd("skip"),)), ("thick", (found(None, "swelling"),))),
    (("finish", (cmd("finish"),)), ("fine", (found(None, "sound"),))),
    (("left hind crack done", (CRACK, cmd("done"))), ("left hind crack", (CRACK,))),
    (("five oh four", (it("504"),)), ("twenty-five", (measure("weight", 25),))),
]


@pytest.mark.parametrize("readings", CHANGES)
@pytest.mark.parametrize("is_attended", [True, False])
def test_what_follows_a_possible_change_is_not_recorded_without_a_word(readings, is_attended) -> None:
    stage = in_doubt(*readings, is_attended=is_attended)
    assert stage.say(LONG, TRIMMED) == STILL
    assert stage.kind is ReplyKind.ASKING
    assert stage.parts() == [found(RH, "sound")]


NO_CHANGES = [
    TWO_FEET,
    (("tansy tag missing", (it("Tansy"),)),),
    (("scratch that", (cmd("scratch"),)), ("stone", (found(None, "foreign body"),))),
    (("who is left", (QuestionPart("who is left"),)), ("left fore", (at(LF),))),
    (("when was sorrel last done", (QuestionPart("last time", animal="Sorrel"),)),),
]


@pytest.mark.parametrize("readings", NO_CHANGES)
def test_what_cannot_be_a_change_raises_no_doubt(readings) -> None:
    stage = in_doubt(*readings)
    stage.say(LONG)
    assert stage.parts()[-1] == LONG


def test_a_sound_that_nobody_understands_raises_no_doubt() -> None:
    """Bleats, gates and talk come by the hundred."""
    stage = on_table()
    for _ in range(3):
        stage.mumble()
    stage.say(LONG)
    assert stage.parts()[-1] == LONG


@pytest.mark.parametrize(("length_s", "is_doubted"), [(0.8, True), (1.3, True), (1.5, False)])
def test_a_remark_as_short_as_a_name_may_have_been_one(length_s, is_doubted) -> None:
    """Also where no reading of it is a name: the listeners may all be wrong."""
    stage = on_table()
    verdict = Verdict(Decision.ASK, "the listeners differ", ("stone", "fat"))
    remark = replace(stage.remark((), "", 20, verdict), start_s=60.0, end_s=60.0 + length_s)
    choices = [replace(remark, words=text) for text in verdict.choices]
    readings = (found(None, "foreign body"), found(None, "fat"))
    stage.put(
        Said(
            remark,
            {},
            tuple(replace(c, meaning=replace(c.meaning, parts=(p,))) for c, p in zip(choices, readings, strict=True)),
        )
    )
    stage.wait()
    assert (stage.say(LONG) == STILL) is is_doubted


@pytest.mark.parametrize(("text", "is_doubted"), [("bettonie", True), ("my sister came over on sunday", False)])
def test_typed_words_without_a_meaning_may_be_a_name(text, is_doubted) -> None:
    stage = on_table()
    stage.put(Said(stage.remark((), text, 5, None, text)))
    assert (stage.say(LONG) == STILL) is is_doubted


ALIKE = [
    ("sorel", ("a2",), "Sorrel or Tansy?"),
    ("burdok", ("a8", "a9"), "Five nought three, five nought four or four nought one?"),
    ("like a clock", (), ""),
    ("tansi", ("a1",), ""),
]


def typed_beside(stage: Stage, unplaced: str, alike: tuple[str, ...], *parts: Part) -> str:
    remark = stage.remark(parts, f"{unplaced} left fore long", 5, None, unplaced)
    return stage.put(Said(remark, {unplaced: alike}))


@pytest.mark.parametrize(("unplaced", "alike", "asked"), ALIKE)
def test_typed_words_that_are_like_a_name_beside_a_finding(unplaced, alike, asked) -> None:
    stage = on_table()
    told = typed_beside(stage, unplaced, alike, LONG)
    assert told.endswith(asked or "Left fore overgrown.")
    assert (LONG in stage.parts()) is not bool(asked)
    stage.wait()
    if asked:
        assert stage.state.doubt.likely == alike


def test_a_mistyped_name_beside_a_finding_is_settled_by_an_answer() -> None:
    stage = on_table()
    typed_beside(stage, "sorel", ("a2",), LONG)
    assert stage.say(cmd("yes")) == "Sorrel or Tansy?", "yes says nothing about which"
    stage.say(it("Sorrel"))
    assert stage.state.animal == "a2"
    assert stage.parts("a2") == [LONG]
    assert not stage.state.review

    typed_beside(stage, "tansi", ("a1",), CRACK)
    stage.say(it("Sorrel"))
    assert stage.parts("a2") == [LONG, CRACK], "it was a slip, and not a name"


def test_a_mistyped_name_alone_is_asked_about() -> None:
    stage = on_table()
    assert typed_beside(stage, "sorel", ("a2",)) == "Sorrel?"
    assert stage.say(cmd("yes")).startswith("Tansy is not done yet.")
    assert stage.state.animal == "a2"

    assert typed_beside(stage, "burdok", ("a8", "a9")) == "Five nought three or five nought four?"
    assert stage.say(cmd("no")) == "Kept for later."
    assert stage.say(LONG) == "Still on Sorrel?"


def test_words_like_the_names_of_many_are_no_name() -> None:
    stage = on_table()
    assert typed_beside(stage, "an", ("a2", "a3", "a8", "a9")).startswith("Not understood: an.")


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ([it("Bramble")], "I know no animal Bramble. Which animal?"),
        ([it("Burdock")], "Five nought three or five nought four?"),
        ([cmd("correct"), it("Burdock")], "Burdock or Burdock?"),
    ],
)
def test_a_name_that_was_asked_about_and_left_open(said, asked) -> None:
    stage = on_table()
    assert stage.say(*said) == asked
    assert stage.say(LONG) == STILL
    assert len(stage.state.review) == 1


def test_next_without_a_name_while_nothing_is_on_record_yet() -> None:
    stage = Stage()
    stage.say(it("Tansy"))
    assert stage.say(cmd("next")) == "Which animal?"
    stage.wait()
    assert stage.say(LONG) == STILL
    assert stage.parts() == []


@pytest.mark.parametrize(
    ("after_done", "is_doubted"),
    [
        ([found(RH, "overgrown")], True),
        ([did(RH, "trimmed"), measure("condition", 3)], True),
        ([measure("condition", 3)], True),
        ([found(RH, "sound", BETWEEN)], False),
        ([LONG, TRIMMED], False),
        ([*(did(foot, "trimmed") for foot in FEET)], False),
        ([FollowUpPart("re-check", 14)], False),
        ([found("left teat", "split teat")], False),
    ],
)
def test_a_second_round_after_done(after_done, is_doubted) -> None:
    """What fills a gap that was told is said of the same animal; what was said already, perhaps of the next."""
    stage = on_table()
    stage.say(measure("condition", 2))
    assert stage.say(cmd("done")) == "Tansy done. Left fore, right fore, left hind and between the claws not mentioned."
    assert (stage.say(*after_done) == STILL) is is_doubted
    if is_doubted:
        stage.say(cmd("yes"))
        assert stage.parts()[2:] == after_done
        assert stage.say(cmd("done")).startswith("Tansy done.")


# ---------------------------------------------------------------------------------------------------------- answers

ANSWERS = [
    # the answer, on whom what waited is recorded, who is on the table
    ([cmd("yes")], "a1", "a1"),
    ([it("Tansy")], "a1", "a1"),
    ([it("Sorrel")], "a2", "a2"),
    ([cmd("no"), it("Sorrel")], "a2", "a2"),
    ([cmd("no"), cmd("next"), it("Sorrel")], "a2", "a2"),
    ([cmd("correct"), it("Sorrel")], "a2", "a2"),
    ([cmd("next"), it("Sorrel")], None, "a2"),
    ([cmd("no")], None, "a1"),
]


@pytest.mark.parametrize(("answer", "whose", "animal"), ANSWERS)
def test_still_on_her(answer, whose, animal) -> None:
    stage = in_doubt()
    stage.say(LONG, TRIMMED, wait_s=2)
    stage.say(measure("condition", 3), wait_s=2)
    assert stage.kind is ReplyKind.HEARD
    stage.say(*answer, wait_s=2)
    waited = [LONG, TRIMMED, measure("condition", 3)]
    assert stage.parts()[1:] == (waited if whose == "a1" else [])
    assert stage.parts("a2") == (waited if whose == "a2" else [])
    assert stage.state.animal == animal
    if answer != [cmd("no")]:
        assert stage.state.doubt is None


def test_each_fact_that_waited_is_recorded_in_the_name_of_its_own_remark() -> None:
    stage = in_doubt()
    stage.say(LONG)
    first = stage.n_said
    stage.say(measure("condition", 3))
    assert stage.n_said == first + 1
    stage.say(cmd("yes"))
    remarks = [entry.remark for entry in stage.state.entries_of("a1")[1:]]
    assert len(set(remarks)) == 2
    assert not set(remarks) & set(stage.state.review)


def test_after_no_the_name_may_follow() -> None:
    stage = in_doubt()
    stage.say(LONG)
    assert stage.say(cmd("no")) == "Which animal?"
    stage.say(TRIMMED, wait_s=2)
    stage.say(it("Sorrel"), wait_s=2)
    assert stage.parts("a2") == [LONG, TRIMMED]


def test_no_twice_leaves_it_to_the_review() -> None:
    stage = in_doubt()
    stage.say(LONG)
    stage.say(cmd("no"))
    assert stage.say(cmd("no")) == "Kept for later."
    assert len(stage.state.review) == 2
    assert stage.say(TRIMMED) == "Kept for later."


def test_one_of_two_of_that_name() -> None:
    stage = in_doubt()
    stage.say(LONG)
    assert stage.say(cmd("no"), it("Burdock")) == "Five nought three or five nought four?"
    stage.say(it("504"))
    assert stage.parts("a9") == [LONG]


def test_scratch_and_correction_wait_in_their_order() -> None:
    stage = in_doubt()
    stage.say(LONG)
    stage.say(cmd("scratch"))
    stage.say(found(RF, "crack"))
    stage.say(cmd("correct", LF))
    assert stage.parts() == [found(RH, "sound")]
    stage.say(it("Sorrel"))
    assert stage.parts("a2") == [found(LF, "crack")]
    assert stage.parts() == [found(RH, "sound")]


def test_done_in_doubt_waits_too() -> None:
    stage = in_doubt()
    assert stage.say(cmd("done")) == STILL
    assert stage.state.done == ()
    assert stage.say(cmd("yes")).startswith("Tansy done. Left fore")


def test_the_keepers_questions_are_answered_and_the_doubt_stays() -> None:
    stage = in_doubt()
    assert stage.say(QuestionPart("where am I")) == "Perhaps still Tansy."
    assert stage.say(LONG) == STILL
    stage.say(QuestionPart("count", finding="crack"), wait_s=2)
    assert stage.say(cmd("repeat"), wait_s=2) == STILL
    stage.say(cmd("yes"), wait_s=2)
    assert stage.parts()[1:] == [LONG]


def test_an_unclear_answer_is_asked_again_and_lost_to_nobody() -> None:
    stage = in_doubt()
    stage.say(LONG)
    assert stage.mumble(*TWO_FEET, wait_s=2) == STILL
    assert stage.mumble(("yes", (cmd("yes"),)), wait_s=2) == STILL
    stage.say(cmd("yes"), wait_s=2)
    assert stage.parts()[1:] == [LONG]
    assert len(stage.state.review) == 2


def test_what_waits_and_needs_a_place_is_asked_after_the_answer() -> None:
    stage = in_doubt()
    stage.say(found(None, "crack"))
    assert stage.say(cmd("yes")) == "Which foot?"
    stage.say(at(LH))
    assert stage.parts()[1:] == [CRACK]


# ------------------------------------------------------------------------------------------------- nobody answers


def test_nobody_answers() -> None:
    """Nobody is asked twice; all goes to the review with the animals that it may be about, until a name is said."""
    stage = in_doubt(*BETONY_OR_NOT)
    assert stage.say(LONG) == STILL
    assert stage.wait() == "Kept for later."
    assert stage.say(TRIMMED) == "Kept for later."
    assert stage.say(cmd("done")) == "Kept for later."
    assert stage.parts() == [found(RH, "sound")]
    assert stage.state.done == ()
    kept = stage.state.review[1:]
    assert len(kept) == 3
    assert [stage.state.proposed[remark] for remark in kept] == [("a2", "a1")] * 3
    assert stage.say(it("Yarrow")) == "Tansy is not done yet. Yarrow."
    stage.say(CRACK)
    assert stage.parts("a4") == [CRACK]


def test_next_ends_the_doubt_and_calls_nobody_done() -> None:
    stage = in_doubt()
    stage.say(LONG)
    assert stage.say(cmd("next"), it("Yarrow")) == "Tansy is not done yet. Yarrow."
    assert (stage.state.done, len(stage.state.review)) == ((), 2)


def test_done_said_before_the_doubt_counts() -> None:
    stage = on_table()
    stage.say(cmd("done"))
    stage.mumble(*BETONY_OR_NOT)
    stage.wait()
    assert stage.say(it("Yarrow")) == "Tansy done. Yarrow."
    assert stage.state.done == ("a1",)


def test_the_session_ends_in_doubt() -> None:
    stage = in_doubt()
    stage.say(LONG)
    assert stage.put(Ended(stage.now)).endswith("Two remarks to look at.")
    assert stage.state.question is None
    assert stage.state.doubt is not None
    assert stage.state.doubt.held == ()


def test_a_new_doubt_may_be_asked_anew() -> None:
    stage = in_doubt()
    stage.say(LONG)
    stage.wait()
    assert stage.say(TRIMMED) == "Kept for later."
    stage.mumble(*BETONY_OR_NOT)
    stage.wait()
    assert stage.say(CRACK) == STILL


def test_nobody_on_the_table_is_no_doubt() -> None:
    stage = Stage()
    stage.mumble(*DONE_OR_NOT)
    stage.wait()
    assert stage.say(LONG) == "Which animal?"
    stage.wait()
    assert stage.state.doubt is None


def test_what_is_said_while_nobody_is_on_the_table_waits_for_a_name() -> None:
    stage = Stage()
    assert stage.say(LONG) == "Which animal?"
    assert stage.say(TRIMMED, wait_s=2) == ""
    stage.say(it("Sorrel"), wait_s=2)
    assert stage.parts("a2") == [LONG, TRIMMED]
    assert stage.state.review == ()


def test_each_time_that_nobody_is_named_it_is_asked_again() -> None:
    stage = Stage()
    for n in (1, 2):
        assert stage.say(LONG) == "Which animal?"
        assert stage.wait() == "Kept for later."
        assert len(stage.state.review) == n


def test_a_note_in_doubt_is_nobodys() -> None:
    stage = in_doubt()
    stage.say(cmd("note", note="limps"))
    assert [event.animal for event in stage.latest if hasattr(event, "text") and hasattr(event, "animal")] == [None]


def test_the_open_place_is_closed_by_the_doubt() -> None:
    """It was the place on an animal that may have gone."""
    stage = in_doubt()
    assert stage.state.scope.places == ()
    stage.say(at(LH))
    assert stage.state.scope.places == (LH,)


# ------------------------------------------------------------------------------------------------- in a recording


def test_in_a_recording_a_name_is_the_next_animal_and_no_answer() -> None:
    stage = in_doubt(is_attended=False)
    assert stage.say(LONG) == STILL
    stage.say(it("Sorrel"), wait_s=2)
    assert (stage.state.animal, stage.parts("a2")) == ("a2", [])
    assert len(stage.state.review) == 2


@pytest.mark.parametrize("answer", [[cmd("yes")], [cmd("no"), it("Tansy")]])
def test_in_a_recording_yes_and_no_with_a_name_are_answers(answer) -> None:
    stage = in_doubt(is_attended=False)
    stage.say(LONG)
    stage.say(*answer, wait_s=2)
    assert stage.parts()[1:] == [LONG]


@pytest.mark.parametrize(
    ("readings", "words", "said"),
    [
        (TWO_FEET, "left hind", [at(LH)]),
        (TWO_FEET, "left fore crack", [found(LF, "crack")]),
        (TWO_FEET, "hind", []),
    ],
)
def test_in_a_recording_a_place_is_where_the_keeper_goes_on(readings, words, said) -> None:
    """Nobody heard the question, so nothing of it is recorded because the next remark happens to fit."""
    stage = on_table(is_attended=False)
    stage.mumble(*readings)
    stage.say(*said, words=words)
    assert stage.parts()[1:] == [part for part in said if part != at(LH)]
    assert len(stage.state.review) == 1


def test_in_a_recording_the_first_name_does_not_take_what_was_said_before_it() -> None:
    stage = Stage(is_attended=False)
    assert stage.say(LONG) == "Which animal?"
    stage.say(it("Sorrel"))
    assert (stage.parts("a2"), len(stage.state.review)) == ([], 1)


def test_in_a_recording_a_number_picks_among_those_offered() -> None:
    stage = Stage(is_attended=False)
    stage.mumble(("four one seven", (it("417"),)), ("four one one", (it("411"),)))
    assert stage.say(it("17"), words="seventeen") == "Four one seven, Sorrel."


def test_a_remark_that_is_understood_late_goes_to_the_review() -> None:
    stage = on_table()
    remark = stage.remark((LONG,), "left fore long", 5, Verdict(Decision.ACCEPTED, "both agree", ("left fore long",)))
    stage.put(Said(remark, is_late=True))
    assert stage.parts() == [found(RH, "sound")]
    assert stage.state.review == (remark.id,)


# -------------------------------------------------------------------------------------------------- the open place


def test_a_remark_that_was_only_asked_about_leaves_no_place_open() -> None:
    """What follows an abscess that was not understood is not recorded on the foot before."""
    stage = on_table()
    stage.say(found(RF, "loose horn"))
    stage.mumble(*TWO_FEET)
    assert stage.state.scope.places == ()
    assert stage.say(did(None, "foot bathed")) == "Which foot?"


def test_an_answer_opens_its_place() -> None:
    stage = on_table()
    stage.mumble(*TWO_FEET)
    stage.say(at(LF), words="left fore")
    assert stage.say(did(None, "trimmed")) == ""
    assert stage.parts()[1:] == [found(LF, "crack"), did(LF, "trimmed")]


def test_words_that_found_no_place_may_have_been_one() -> None:
    stage = on_table()
    stage.put(Said(stage.remark((found(None, "crack"),), "crack on the whatsit", 5, None, "on the whatsit")))
    assert stage.replies[-1].text == "Which foot?"
    assert stage.parts() == [found(RH, "sound")]

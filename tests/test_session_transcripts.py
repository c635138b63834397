"""Sessions as transcripts: what is said, with its meaning, what is told back and what is recorded."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from session_stage import HERD, START, TODAY, Stage, at, cmd, did, found, it, measure

from assistant.session.events import Ended, Noted, RemarkKept, Said
from assistant.session.finish import progress
from assistant.session.replies import ReplyKind, on_day
from assistant.session.state import Policy
from assistant.session.world import Due, LastVisit
from assistant.values import (
    BETWEEN,
    FEET,
    Animal,
    Decision,
    FollowUpPart,
    MeasurePart,
    QuestionPart,
    Remark,
    Species,
    State,
    TraitPart,
    Verdict,
)

LF, RF, LH, RH = FEET
PLAN = ("a1", "a4", "a5", "a6", *(f"p{n}" for n in range(7)), "a2")
CROWD = (*HERD, *(Animal(f"p{n}", number=str(600 + n)) for n in range(7)))
HOLLOW = LastVisit(date(2026, 3, 3), (found(LH, "hollow wall"), found(RH, "sound")))


def on_table(name: str = "Tansy", **keys) -> Stage:
    stage = Stage(**keys)
    stage.say(it(name))
    return stage


def test_the_session_of_the_product_page() -> None:
    """The example session: the same remarks, in the same order, with the answers that it promises."""
    stage = Stage(CROWD, {"a1": HOLLOW}, planned=PLAN)
    assert stage.say(it("tansy")) == "Tansy. Last trimmed twelve weeks ago. Left hind had a hollow wall."
    assert stage.say(found(LH, "hollow wall"), did(LH, "cut out"), did(LH, "sprayed")) == ""
    assert stage.kind is ReplyKind.HEARD
    both = [found(LF, "overgrown"), found(RF, "overgrown"), did(LF, "trimmed"), did(RF, "trimmed")]
    assert stage.say(*both) == ""
    assert stage.say(found(RH, "sound")) == ""
    assert stage.say(FollowUpPart("re-check", 14)) == "Re-check on the ninth."
    assert stage.say(measure("condition", 3.5)) == ""
    assert stage.say(cmd("scratch"), measure("condition", 2.5)) == "Two and a half."
    assert stage.say(cmd("done")) == "Tansy done. Between the claws not mentioned."
    assert stage.say(found(None, "sound", BETWEEN), cmd("done")) == "Eleven left."
    assert [part for part in stage.parts() if isinstance(part, MeasurePart)] == [measure("condition", 2.5)]
    assert stage.mumble(("four one seven", (it("417"),)), ("four one one", (it("411"),))) == (
        "Four one seven or four one one?"
    )
    assert stage.say(it("17"), words="seventeen") == "Four one seven, Sorrel."
    assert stage.say(QuestionPart("who is left")) == "Yarrow, Campion, Teasel and eight more."


def test_between_the_claws_after_done_is_said_of_all_feet() -> None:
    stage = on_table()
    stage.say(*(did(foot, "trimmed") for foot in FEET))
    stage.say(cmd("done"))
    stage.say(found(None, "sound", BETWEEN))
    assert stage.parts()[4:] == [found(foot, "sound", BETWEEN) for foot in FEET]


ALL_FOUR = tuple(found(foot, "sound") for foot in FEET)
CLEAN = found(LF, "sound", BETWEEN)

COMMANDS = [
    # said before, command, reply, animal on the table afterwards
    ([], [cmd("done")], "Tansy done. No foot was mentioned.", "a1"),
    ([[*ALL_FOUR]], [cmd("done")], "Tansy done. Between the claws not mentioned.", "a1"),
    ([[*ALL_FOUR, CLEAN]], [cmd("done")], "Tansy done. One done so far.", None),
    ([[cmd("done")]], [cmd("done")], "One done so far.", None),
    ([[found(LH, "crack"), cmd("done")]], [cmd("done")], "One done so far.", None),
    ([], [cmd("skip", reason="heavily pregnant")], "Tansy skipped, heavily pregnant. None done so far.", None),
    ([], [cmd("skip"), it("Sorrel")], "Sorrel. Sorrel skipped. None done so far.", None),
    ([], [cmd("scratch")], "Scratched. Nobody is on the table.", None),
    ([[found(LH, "crack")]], [cmd("scratch")], "Scratched: left hind crack.", "a1"),
    (
        [[found(LH, "crack"), did(LH, "trimmed")]],
        [cmd("scratch")],
        "Scratched: left hind crack, left hind trimmed.",
        "a1",
    ),
    ([[found(LH, "crack")]], [cmd("correct", RH)], "Right hind crack.", "a1"),
    ([[found(LH, "crack")]], [cmd("correct"), at(RH)], "Right hind crack.", "a1"),
    ([[found(LH, "crack")]], [cmd("correct"), found(None, "abscess")], "Left hind abscess.", "a1"),
    ([[found(LH, "crack")]], [cmd("correct"), found(RH, "abscess")], "Right hind abscess.", "a1"),
    ([[measure("condition", 3)]], [cmd("correct"), measure("condition", 2)], "Two.", "a1"),
    ([[measure("condition", 3)], [did(LH, "trimmed")]], [cmd("correct"), measure("condition", 2)], "Two.", "a1"),
    ([], [cmd("correct", RH)], "There is nothing to correct. Kept for later.", "a1"),
    ([[found(LH, "crack")]], [cmd("correct")], "Correct it to what?", "a1"),
    ([[found(LH, "crack")]], [cmd("correct"), it("Sorrel")], "Moved to Sorrel: left hind crack. Sorrel.", "a2"),
    ([], [cmd("correct"), it("Sorrel")], "Sorrel.", "a2"),
    ([], [cmd("repeat")], "Tansy.", "a1"),
    ([[FollowUpPart("vet", 1)]], [cmd("repeat")], "Vet tomorrow.", "a1"),
    ([], [cmd("pause")], "Paused. Say resume to carry on.", "a1"),
    ([[cmd("pause")]], [cmd("resume")], "Listening again.", "a1"),
    ([], [cmd("resume")], "Listening again.", "a1"),
    ([], [cmd("note", note="the gate needs a hinge")], "Noted.", "a1"),
    ([], [cmd("yes")], "There is no question open.", "a1"),
    ([], [cmd("no")], "There is no question open.", "a1"),
    ([], [cmd("finish")], "Session finished. None done. Tansy is not done yet.", "a1"),
    ([], [cmd("next"), it("Sorrel")], "Sorrel.", "a2"),
    ([], [cmd("next")], "Which animal?", "a1"),
    ([[found(LH, "crack")]], [it("Sorrel")], "Tansy is not done yet. Sorrel.", "a2"),
    (
        [[found(LH, "crack")]],
        [cmd("next"), it("Sorrel")],
        "Tansy done. Left fore, right fore, right hind and between the claws not mentioned. Sorrel.",
        "a2",
    ),
    ([[*ALL_FOUR], [cmd("done")]], [it("Sorrel")], "Tansy done. Sorrel.", "a2"),
    ([], [it("Tansy")], "Tansy is on the table.", "a1"),
    ([], [it("417")], "Four one seven, Sorrel.", "a2"),
    ([], [it("502")], "Five nought two.", "a7"),
    ([], [cmd("dance")], "I cannot answer that. Kept for later.", "a1"),
]


@pytest.mark.parametrize(("before", "said", "reply", "animal"), COMMANDS)
def test_commands(before, said, reply, animal) -> None:
    stage = on_table()
    for parts in before:
        stage.say(*parts)
    assert stage.say(*said) == reply
    assert stage.state.animal == animal


QUESTIONS = [
    (QuestionPart("who is left"), "Nobody was planned. None done so far."),
    (QuestionPart("last time"), "Tansy was last trimmed twelve weeks ago: left hind hollow wall, right hind sound."),
    (QuestionPart("last time", action="trimmed"), "Tansy was last trimmed twelve weeks ago."),
    (QuestionPart("last time", animal="Sorrel"), "Nothing is known of Sorrel from before."),
    (QuestionPart("history", place=LH), "Left hind: last time hollow wall; today crack, trimmed."),
    (QuestionPart("history", place=LF), "Left fore: nothing on record."),
    (QuestionPart("count", finding="crack"), "Crack: once today, on one animal."),
    (QuestionPart("count", finding="abscess"), "Abscess: none today."),
    (QuestionPart("count", action="trimmed"), "Trimmed: twice today, on one animal."),
    (QuestionPart("due"), "Sorrel re-check."),
    (QuestionPart("where am I"), "Tansy, right hind."),
    (QuestionPart("history", place=LH, animal="Burdock"), "Which animal?"),
    (QuestionPart("what is the weather"), "I cannot answer that. Kept for later."),
]


@pytest.mark.parametrize(("question", "reply"), QUESTIONS)
def test_questions_of_the_keeper(question, reply) -> None:
    due = (Due("a2", "re-check", TODAY), Due("a4", "vet", TODAY + timedelta(days=1)))
    stage = on_table(visits={"a1": HOLLOW}, due=due)
    stage.say(found(LH, "crack"), did(LH, "trimmed"))
    stage.say(did(RH, "trimmed"))
    assert stage.say(question) == reply


def test_a_question_about_one_of_two_animals_does_not_put_it_on_the_table() -> None:
    stage = on_table(visits={"a8": LastVisit(date(2026, 5, 25))})
    assert stage.say(QuestionPart("last time", animal="Burdock")) == "Which animal?"
    assert stage.say(it("503")) == "Burdock was last trimmed yesterday."
    assert stage.state.animal == "a1"


def test_scratch_goes_one_further_back_each_time() -> None:
    stage = on_table()
    stage.say(found(LH, "crack"))
    stage.say(found(RH, "abscess"))
    assert stage.say(cmd("scratch")) == "Scratched: right hind abscess."
    assert stage.say(cmd("scratch")) == "Scratched: left hind crack."
    assert stage.say(cmd("scratch")) == "Scratched. Nobody is on the table."
    assert stage.say(cmd("scratch")) == "There is nothing to scratch."
    assert [entry.state for entry in stage.entries()] == [State.HEARD, State.HEARD, State.WITHDRAWN, State.WITHDRAWN]


def test_scratching_done_brings_the_animal_back() -> None:
    stage = on_table()
    stage.say(*ALL_FOUR, CLEAN)
    stage.say(cmd("done"))
    assert stage.state.done == ("a1",)
    assert stage.say(cmd("scratch")) == "Scratched. Tansy is on the table."
    assert (stage.state.animal, stage.state.done, len(stage.parts())) == ("a1", (), 5)


def test_a_correction_names_what_it_replaces_and_keeps_it() -> None:
    stage = on_table()
    stage.say(found(LF, "overgrown"), found(RF, "overgrown"), did(LF, "trimmed"), did(RF, "trimmed"))
    assert stage.say(cmd("correct"), at(LH), at(RH)) == (
        "Left hind overgrown, right hind overgrown, left hind trimmed, right hind trimmed."
    )
    old, new = stage.entries()[:4], stage.entries()[4:]
    assert [entry.supersedes for entry in new] == [entry.id for entry in old]
    assert {entry.state for entry in new} == {State.CORRECTED}
    assert stage.state.scope.places == (LH, RH)


def test_two_places_corrected_to_one_leave_one_entry() -> None:
    stage = on_table()
    stage.say(found(LF, "overgrown"), found(RF, "overgrown"))
    assert stage.say(cmd("correct", LH)) == "Left hind overgrown."
    assert stage.parts() == [found(LH, "overgrown")]
    assert stage.entries()[-1].state is State.WITHDRAWN


def test_only_what_was_said_last_moves() -> None:
    stage = on_table()
    stage.say(found(LF, "crack"), found(RF, "abscess"))
    assert stage.say(cmd("correct", RH)) == "Right hind abscess."
    assert stage.parts() == [found(LF, "crack"), found(RH, "abscess")]


def test_another_animals_entries_are_not_corrected() -> None:
    stage = on_table()
    stage.say(found(LF, "crack"))
    stage.say(it("Sorrel"))
    assert stage.say(cmd("correct", RH)) == "There is nothing to correct. Kept for later."
    assert stage.parts() == [found(LF, "crack")]


def test_an_entry_without_a_place_takes_the_open_one_until_the_animal_changes() -> None:
    stage = on_table()
    stage.say(at(LH))
    stage.say(found(None, "crack"), did(None, "trimmed"))
    assert stage.parts() == [found(LH, "crack"), did(LH, "trimmed")]
    stage.say(found(LF, "overgrown"), found(RF, "overgrown"))
    stage.say(did(None, "trimmed"))
    assert stage.parts()[4:] == [did(LF, "trimmed"), did(RF, "trimmed")]
    stage.say(it("Sorrel"))
    assert stage.say(did(None, "trimmed")) == "Which foot?"
    assert stage.parts("a2") == []


@pytest.mark.parametrize("finding", ["cough", "scour", "lice", "thin", "fat", "lame"])
def test_findings_of_the_whole_animal_need_no_place(finding) -> None:
    stage = on_table()
    assert stage.say(found(None, finding)) == ""
    assert stage.parts() == [found("whole animal", finding)]


def test_while_paused_only_resume_is_heard_and_nothing_is_lost() -> None:
    stage = on_table()
    stage.say(cmd("pause"))
    for parts in ([found(LH, "crack")], [cmd("done")], [cmd("scratch")], [it("Sorrel")]):
        assert stage.say(*parts) == ""
        assert [type(event) for event in stage.latest] == [RemarkKept]
    assert stage.mumble(("resume", (cmd("resume"),)), ("right hind", (at(RH),))) == ""
    assert stage.say(cmd("resume"), found(LH, "abscess")) == "Listening again."
    assert stage.parts() == [found(LH, "abscess")]
    assert len(stage.state.review) == 5


def test_talk_during_a_pause_is_let_go() -> None:
    stage = on_table()
    stage.say(cmd("pause"))
    stage.mumble()
    stage.mumble(("left hind crack", (found(LH, "crack"),)), ("thorn", (found(None, "foreign body"),)))
    assert (stage.state.review, stage.state.n_kept) == ((), 2)


def test_a_note_is_kept_with_the_animal() -> None:
    stage = on_table()
    stage.say(cmd("note", note="nervous today"))
    notes = [event for event in stage.kept if isinstance(event, Noted)]
    assert [(note.animal, note.text) for note in notes] == [("a1", "nervous today")]


def test_follow_ups_and_traits_are_recorded() -> None:
    stage = on_table()
    assert stage.say(FollowUpPart("re-trim when soft")) == ""
    assert stage.say(TraitPart("keep no daughters")) == ""
    assert stage.parts() == [FollowUpPart("re-trim when soft"), TraitPart("keep no daughters")]


@pytest.mark.parametrize(
    ("policy", "reply"),
    [
        (Policy.CAREFUL, "Left hind crack, re-check on the ninth."),
        (Policy.NORMAL, "Re-check on the ninth."),
        (Policy.QUICK, ""),
    ],
)
def test_policies(policy, reply) -> None:
    stage = on_table(policy=policy)
    assert stage.say(found(LH, "crack"), FollowUpPart("re-check", 14)) == reply


@pytest.mark.parametrize(
    ("today", "days", "words"),
    [
        (date(2026, 5, 26), 14, "on the ninth"),
        (date(2026, 12, 25), 14, "on the eighth"),
        (date(2028, 2, 20), 14, "on the fifth"),
        (date(2027, 2, 20), 14, "on the sixth"),
        (date(2026, 5, 26), 30, "on the twenty-fifth of June"),
        (date(2026, 5, 26), 365, "on the twenty-sixth of May 2027"),
        (date(2026, 2, 28), 1, "tomorrow"),
        (date(2026, 5, 26), 0, "today"),
    ],
)
def test_days_to_come_over_month_ends(today, days, words) -> None:
    """The leap-year row is worked example 13 of the trade reference: 2028-02-20 and 14 days is 2028-03-05."""
    assert on_day(today + timedelta(days=days), today) == words


# ---------------------------------------------------------------------------------------------------- at the catch


@pytest.mark.parametrize(
    ("today", "is_warned"),
    [(date(2026, 1, 30), False), (date(2026, 1, 31), True), (date(2026, 2, 10), True), (date(2026, 3, 19), True)],
)
def test_nobody_is_tipped_in_the_last_six_weeks(today, is_warned) -> None:
    """Worked examples 8 and 9 of the trade reference: mated 2025-10-20, due 2026-03-19, no tipping from 2026-01-31."""
    stage = Stage([Animal("d", name="Tansy", due=date(2026, 3, 19))])
    stage.now = START.replace(year=today.year, month=today.month, day=today.day)
    assert ("do not tip" in stage.say(it("Tansy"))) is is_warned


@pytest.mark.parametrize(
    ("visit", "reply"),
    [
        (LastVisit(milk_until=date(2026, 5, 30)), "Tansy. Withhold milk until the thirtieth."),
        (LastVisit(meat_until=date(2026, 6, 30)), "Tansy. Withhold meat until the thirtieth of June."),
        (LastVisit(milk_until=TODAY, meat_until=TODAY), "Tansy."),
        (LastVisit(parts=(measure("lameness", 3),)), "Tansy. Lame last time."),
        (LastVisit(parts=(measure("lameness", 2),)), "Tansy."),
        (LastVisit(parts=(found("whole animal", "lame"),)), "Tansy. Lame last time."),
        (LastVisit(parts=(found("whole animal", "thin"),)), "Tansy. Was thin."),
        (LastVisit(cautions=("Kicks.",)), "Tansy. Kicks."),
        (
            LastVisit(parts=(found(LF, "abscess"), found(RF, "overgrown"))),
            "Tansy. Left fore had an abscess. Right fore was overgrown.",
        ),
    ],
)
def test_what_is_said_at_the_catch(visit, reply) -> None:
    assert Stage(visits={"a1": visit}).say(it("Tansy")) == reply


def test_caught_again_after_done() -> None:
    stage = on_table()
    stage.say(cmd("done"))
    stage.say(cmd("done"))
    assert stage.say(it("Tansy")) == "Tansy. Already done."
    assert stage.state.done == ("a1",)


# ---------------------------------------------------------------------------------------- the end and the way there


def test_time_left_is_the_median_pace() -> None:
    stage = Stage(planned=("a1", "a2", "a3", "a4", "a5"))
    for name, wait_s in (("Tansy", 240), ("Sorrel", 3600), ("Bryony", 240)):
        stage.say(it(name), wait_s=wait_s)
        stage.say(cmd("done"), wait_s=30)
        stage.say(cmd("done"), wait_s=30)
    assert progress(stage.state).each_min == pytest.approx(5)
    assert stage.say(QuestionPart("who is left")) == "Yarrow and Campion. About ten minutes."


def test_finish_sums_up_and_nothing_is_taken_afterwards() -> None:
    stage = on_table(planned=("a1", "a2", "a3"))
    stage.say(*ALL_FOUR, CLEAN)
    stage.say(cmd("done"))
    stage.say(cmd("skip"), it("Sorrel"))
    stage.mumble()
    assert stage.say(cmd("finish")) == "Session finished. One done, one skipped. Left: Bryony. One remark to look at."
    assert stage.state.info is not None
    assert stage.state.info.ended == stage.now
    assert stage.say(it("Tansy")) == "The session is over. Kept for later."


@pytest.mark.parametrize("end", [lambda stage: stage.say(cmd("finish")), lambda stage: stage.put(Ended(stage.now))])
def test_the_last_animal_of_which_done_was_said_is_done_when_the_session_ends(end) -> None:
    stage = on_table()
    stage.say(found(LH, "crack"))
    assert stage.say(cmd("done")).startswith("Tansy done. Left fore,")
    assert end(stage) == "Session finished. One done."
    assert stage.state.done == ("a1",)


def test_ending_from_outside_puts_the_open_question_off() -> None:
    stage = on_table()
    stage.say(did(None, "trimmed"))
    assert stage.put(Ended(stage.now)) == ("Session finished. None done. Tansy is not done yet. One remark to look at.")
    assert stage.put(Ended(stage.now)) == ""


def test_the_last_one() -> None:
    stage = on_table(planned=("a1",))
    stage.say(cmd("done"))
    assert stage.say(cmd("done")) == "That was the last one."


def test_typed_remarks_go_the_same_way() -> None:
    stage = on_table()
    stage.put(Said(stage.remark((found(LH, "crack"),), "left hind crack", 5, None)))
    assert stage.parts() == [found(LH, "crack")]


def test_sheep_have_their_own_scales() -> None:
    stage = on_table("Fern", animals=[Animal("f", name="Fern", species=Species.SHEEP)])
    assert stage.say(measure("lameness", 0), measure("condition", 0)) == ""
    assert len(stage.parts("f")) == 2


def test_a_place_said_last_is_the_open_one() -> None:
    stage = on_table()
    stage.say(found(LH, "crack"), at(RF))
    stage.say(did(None, "trimmed"))
    assert stage.parts()[1:] == [did(RF, "trimmed")]
    assert stage.say(at(LF)) == ""
    assert stage.kind is ReplyKind.HEARD


def test_skipping_an_animal_that_is_done_leaves_it_done() -> None:
    stage = on_table()
    stage.say(cmd("done"))
    stage.say(cmd("done"))
    stage.say(it("Tansy"))
    stage.say(cmd("skip"))
    assert (stage.state.done, stage.state.skipped) == (("a1",), {})


CLOSE = [
    # how much is said back, whether another reading was close, what is said to a finding and to a measure
    (Policy.NORMAL, False, "", ""),
    (Policy.NORMAL, True, "Left hind crack, left hind trimmed.", "Five."),
    (Policy.CAREFUL, True, "Left hind crack, left hind trimmed.", "Five."),
    (Policy.QUICK, True, "", ""),
]


@pytest.mark.parametrize(("policy", "is_close", "finding", "value"), CLOSE)
def test_what_another_reading_was_close_to_is_said_back(policy, is_close, finding, value) -> None:
    stage = Stage(policy=policy)
    stage.say(it("Tansy"))
    assert stage.say(found(LH, "crack"), did(LH, "trimmed"), is_close=is_close) == finding
    assert stage.say(measure("condition", 5), is_close=is_close) == value
    assert len(stage.entries()) == 3


def test_what_is_said_to_the_animal_changes_nothing() -> None:
    """No answer, nothing to review, the place stays open, an open question as well."""
    stage = on_table()
    stage.say(found(LH, "crack"))
    stage.put(Said(aside(stage)))
    assert (stage.replies, stage.state.review) == ((), ())
    assert stage.say(did(None, "trimmed")) == ""
    assert stage.mumble(("left hind", (at(LH),)), ("left fore", (at(LF),))) == "Left hind or left fore?"
    stage.put(Said(aside(stage)))
    assert stage.replies == ()
    assert stage.state.question is not None
    assert stage.parts() == [found(LH, "crack"), did(LH, "trimmed")]


def test_typed_words_that_are_read_and_mean_nothing_are_told_so() -> None:
    stage = on_table()
    assert stage.put(Said(stage.remark((), "good girl", 20, None))) == "Nothing in that is for the record."
    assert stage.state.review == ()


def aside(stage: Stage) -> Remark:
    verdict = Verdict(Decision.ASIDE, "it is not for the record", ("good girl",))
    return stage.remark((), "good girl", 3, verdict)

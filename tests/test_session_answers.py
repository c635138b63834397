"""Questions of the session and the answers that close them."""

from __future__ import annotations

import pytest
from session_stage import Stage, at, cmd, did, found, it, measure

from assistant.session.events import QuestionAsked, RemarkKept
from assistant.session.replies import ReplyKind
from assistant.values import BETWEEN, FEET, QuestionPart, State

LF, RF, LH, RH = FEET


def on_table(**keys) -> Stage:
    stage = Stage(**keys)
    stage.say(it("Tansy"))
    return stage


HIND_OR_FORE = (
    ("left hind crack", (found(LH, "crack"),)),
    ("left fore crack", (found(LF, "crack"),)),
)

READINGS = [
    # how the question is answered: words, parts, what holds afterwards
    ("left fore crack", [found(LF, "crack")], [found(LF, "crack")]),
    ("left fore", [at(LF)], [found(LF, "crack")]),
    ("hind", [], [found(LH, "crack")]),
    ("the first", [], [found(LH, "crack")]),
    ("second one", [], [found(LF, "crack")]),
    ("the second one", [cmd("second")], [found(LF, "crack")]),
    ("no, left fore", [cmd("correct", LF)], [found(LF, "crack")]),
    ("no, right fore", [cmd("correct", RF)], [found(RF, "crack")]),
    ("no right fore", [cmd("no"), at(RF)], [found(RF, "crack")]),
    ("no", [cmd("no")], []),
]


@pytest.mark.parametrize(("words", "parts", "held"), READINGS)
def test_which_reading(words, parts, held) -> None:
    stage = on_table()
    assert stage.mumble(*HIND_OR_FORE) == "Left hind or left fore?"
    stage.say(*parts, words=words)
    assert stage.parts() == held
    assert stage.state.question is None
    assert len(stage.state.review) == (0 if held else 1)


@pytest.mark.parametrize(("answer", "held"), [("yes", [found(LH, "crack")]), ("no", [])])
def test_one_reading_is_confirmed_or_not(answer, held) -> None:
    stage = on_table()
    assert stage.mumble(HIND_OR_FORE[0]) == "Left hind crack?"
    stage.say(cmd(answer), words=answer)
    assert stage.parts() == held


def test_yes_between_two_readings_picks_none_and_it_is_asked_again() -> None:
    stage = on_table()
    asked = stage.mumble(*HIND_OR_FORE)
    assert stage.say(cmd("yes"), words="yes") == asked
    assert stage.parts() == []
    stage.say(at(LF), words="left fore")
    assert stage.parts() == [found(LF, "crack")]


def test_yes_between_two_readings_of_a_recording_is_no_answer() -> None:
    """Nobody hears the question there."""
    stage = on_table(is_attended=False)
    stage.mumble(*HIND_OR_FORE)
    stage.say(cmd("yes"), words="yes")
    assert stage.parts() == []
    assert len(stage.state.review) == 1


def test_repeat_asks_again_and_a_question_of_the_keeper_leaves_it_open() -> None:
    stage = on_table()
    asked = stage.mumble(*HIND_OR_FORE)
    assert stage.say(cmd("repeat")) == asked
    assert stage.say(QuestionPart("where am I")) == "Tansy, no place open."
    stage.say(at(LF), words="left fore")
    assert stage.parts() == [found(LF, "crack")]


def test_scratch_takes_the_question_back() -> None:
    stage = on_table()
    stage.mumble(*HIND_OR_FORE)
    assert stage.say(cmd("scratch")) == "Scratched."
    assert (stage.state.question, stage.state.review, stage.state.animal) == (None, (), "a1")


def test_an_answer_that_is_not_clear_is_asked_again() -> None:
    stage = on_table()
    asked = stage.mumble(*HIND_OR_FORE)
    assert stage.mumble(("left hind", (at(LH),)), ("left fore", (at(LF),))) == asked
    assert stage.parts() == []
    stage.say(at(LH), words="left hind")
    assert stage.parts() == [found(LH, "crack")]


def test_a_lone_doubtful_yes_is_not_taken() -> None:
    stage = on_table()
    stage.say(found(LH, "crack"))
    asked = stage.say(found(LH, "sound"))
    assert stage.mumble(("yes", (cmd("yes"),))) == asked
    assert stage.parts() == [found(LH, "crack")]


def test_a_new_remark_puts_the_question_off() -> None:
    stage = on_table()
    stage.mumble(*HIND_OR_FORE)
    first = stage.state.question.remark
    stage.say(measure("condition", 3))
    assert stage.parts() == [measure("condition", 3)]
    assert stage.state.review == (first,)


def test_a_correction_of_readings_that_differ_never_touches_the_remark_before() -> None:
    stage = on_table()
    stage.say(found(RH, "swelling"))
    stage.mumble(("left hind crack", (found(LH, "crack"),)), ("left fore abscess", (found(LF, "abscess"),)))
    assert stage.say(cmd("correct", RF), words="no, right fore") == "Kept for later."
    assert stage.parts() == [found(RH, "swelling")]
    assert len(stage.state.review) == 1


def test_a_place_picks_the_reading_that_has_it() -> None:
    stage = on_table()
    stage.mumble(("left hind crack", (found(LH, "crack"),)), ("left fore abscess", (found(LF, "abscess"),)))
    stage.say(cmd("correct", LF), words="no, left fore")
    assert stage.parts() == [found(LF, "abscess")]


def test_no_to_a_doubt_may_name_another_foot() -> None:
    stage = on_table()
    stage.say(found(LH, "crack"))
    stage.say(found(LH, "sound"))
    stage.say(cmd("correct", RH), words="no, right hind")
    assert stage.parts() == [found(LH, "crack"), found(RH, "sound")]


def test_another_animals_number_is_no_answer_to_a_question_for_a_number() -> None:
    stage = on_table()
    stage.say(measure("condition", 9))
    assert stage.say(it("417"), words="four one seven") == "Four one seven, Sorrel."
    assert len(stage.state.review) == 1


def test_a_lone_doubtful_yes_confirms_no_reading() -> None:
    stage = on_table()
    asked = stage.mumble(HIND_OR_FORE[0])
    assert stage.mumble(("yes", (cmd("yes"),))) == asked
    assert stage.parts() == []


def test_a_lone_doubtful_word_may_pick_among_readings() -> None:
    stage = on_table()
    stage.mumble(*HIND_OR_FORE)
    stage.mumble(("left fore", (at(LF),)))
    assert stage.parts() == [found(LF, "crack")]


@pytest.mark.parametrize("said", [[cmd("correct", RH)], [cmd("correct"), found(None, "crack")]])
def test_a_number_has_no_place_to_correct(said) -> None:
    stage = on_table()
    stage.say(measure("condition", 3))
    assert stage.say(*said) == "There is nothing to correct. Kept for later."
    assert stage.parts() == [measure("condition", 3)]


def test_nobody_answers() -> None:
    stage = on_table()
    stage.mumble(*HIND_OR_FORE)
    assert stage.wait() == "Kept for later."
    assert (stage.state.question, len(stage.state.review)) == (None, 1)
    assert stage.wait() == ""


NUMBERS = (("four one seven", (it("417"),)), ("four one one", (it("411"),)))


@pytest.mark.parametrize(
    ("words", "parts", "animal"),
    [
        ("seventeen", [it("17")], "a2"),
        ("eleven", [it("11")], "a3"),
        ("seven", [it("7")], "a2"),
        ("four one one", [it("411")], "a3"),
        ("sorrel", [it("Sorrel")], "a2"),
        ("seven", [], "a2"),
        ("yarrow", [it("Yarrow")], "a4"),
        ("no", [cmd("no")], None),
    ],
)
def test_which_number(words, parts, animal) -> None:
    stage = Stage()
    stage.mumble(*NUMBERS)
    stage.say(*parts, words=words)
    assert stage.state.animal == animal


@pytest.mark.parametrize(
    ("words", "parts", "animal", "reply"),
    [
        ("five oh four", [it("504")], "a9", "Five nought four, Burdock."),
        ("three", [it("3")], "a8", "Five nought three, Burdock."),
        ("neither", [cmd("no")], None, "Kept for later."),
    ],
)
def test_two_animals_of_one_name(words, parts, animal, reply) -> None:
    stage = Stage()
    assert stage.say(it("Burdock"), found(LH, "crack")) == "Five nought three or five nought four?"
    assert stage.say(*parts, words=words) == reply
    assert stage.state.animal == animal
    if animal:
        assert stage.parts(animal) == [found(LH, "crack")]


def test_an_animal_that_nobody_knows() -> None:
    stage = Stage()
    assert stage.say(it("Bramble"), found(LH, "crack")) == "I know no animal Bramble. Which animal?"
    stage.say(it("Sorrel"))
    assert stage.parts("a2") == [found(LH, "crack")]


@pytest.mark.parametrize("said", [[it("Tansy")], [cmd("next"), it("Tansy")], [cmd("correct"), it("Tansy")]])
def test_entries_while_nobody_is_on_the_table(said) -> None:
    stage = Stage()
    assert stage.say(found(LH, "crack"), did(LH, "trimmed")) == "Which animal?"
    assert stage.kind is ReplyKind.ASKING
    stage.say(*said)
    assert stage.parts() == [found(LH, "crack"), did(LH, "trimmed")]


@pytest.mark.parametrize("command", ["done", "skip"])
def test_done_and_skip_while_nobody_is_on_the_table(command) -> None:
    stage = Stage()
    assert stage.say(cmd(command)) == "Nobody is on the table. Which animal?"
    stage.say(it("Tansy"))
    assert (stage.state.animal, stage.state.skipped) == (("a1", {}) if command == "done" else (None, {"a1": ""}))


@pytest.mark.parametrize(
    ("said", "held"),
    [
        ([at(LH)], [found(LH, "crack"), did(LH, "trimmed")]),
        ([cmd("correct", LH)], [found(LH, "crack"), did(LH, "trimmed")]),
        ([at(LF), at(RF)], [found(LF, "crack"), found(RF, "crack"), did(LF, "trimmed"), did(RF, "trimmed")]),
        ([at(LH), measure("condition", 3)], [found(LH, "crack"), did(LH, "trimmed"), measure("condition", 3)]),
        ([found(LH, "crack"), did(LH, "trimmed")], [found(LH, "crack"), did(LH, "trimmed")]),
        ([cmd("no")], []),
        ([found(RF, "abscess")], [found(RF, "abscess")]),
    ],
)
def test_which_foot(said, held) -> None:
    stage = on_table()
    assert stage.say(found(None, "crack"), did(None, "trimmed")) == "Which foot?"
    stage.say(*said)
    assert stage.parts() == held


def test_what_has_a_place_is_recorded_while_the_rest_is_asked() -> None:
    stage = on_table()
    assert stage.say(found(None, "crack"), measure("condition", 3), cmd("done")) == "Which foot?"
    assert stage.parts() == [measure("condition", 3)]
    assert stage.say(at(LH)).startswith("Tansy done. Left fore, right fore, right hind")


def test_elsewhere_than_feet_it_asks_where() -> None:
    stage = on_table()
    assert stage.say(found(None, "runny eye")) == "Where?"
    stage.say(at("left eye"))
    assert stage.parts() == [found("left eye", "runny eye")]


OUT_OF_RANGE = [
    (measure("condition", 5.5), "Condition goes from one to five in halves. Say it again?"),
    (measure("condition", 2.75), "Condition goes from one to five in halves. Say it again?"),
    (measure("condition", 0), "Condition goes from one to five in halves. Say it again?"),
    (measure("lameness", 0), "Lameness of goats goes from one to five. Say it again?"),
    (measure("lameness", 2.5), "Lameness of goats goes from one to five. Say it again?"),
    (measure("weight", 900), "Weight must be 0.5 to 250 kilos. Say it again?"),
    (measure("temperature", float("nan")), "Temperature must be 30 to 45 degrees. Say it again?"),
]


@pytest.mark.parametrize(("part", "reply"), OUT_OF_RANGE)
def test_numbers_off_their_scale_are_asked_not_recorded(part, reply) -> None:
    """Worked examples 16 and 18 of the trade reference: goat gait 0, condition 2.75 and 5.5 are refused."""
    stage = on_table()
    assert stage.say(part) == reply
    assert stage.parts() == []
    good = measure(part.measure, 40 if part.measure == "temperature" else 3)
    stage.say(good)
    assert stage.parts() == [good]


def test_a_bare_number_answers_a_question_for_a_number() -> None:
    stage = on_table()
    stage.say(measure("condition", 9), found(LH, "crack"))
    assert stage.say(it("3"), words="three") == "Three."
    assert stage.parts() == [found(LH, "crack"), measure("condition", 3)]
    assert stage.state.animal == "a1"


def test_sound_after_a_finding_is_asked() -> None:
    stage = on_table()
    stage.say(found(LH, "hollow wall"))
    assert stage.say(found(LH, "sound")) == "Left hind had a hollow wall. Sound all the same?"
    stage.say(cmd("yes"))
    assert stage.parts() == [found(LH, "hollow wall"), found(LH, "sound")]
    assert stage.entries()[-1].state is State.CONFIRMED


def test_sound_after_a_finding_denied_is_not_recorded() -> None:
    stage = on_table()
    stage.say(found(LH, "hollow wall"))
    stage.say(found(LH, "sound"))
    assert stage.say(cmd("no")) == "Not recorded."
    assert stage.parts() == [found(LH, "hollow wall")]


def test_another_part_of_the_foot_may_be_sound() -> None:
    stage = on_table()
    stage.say(found(LH, "hollow wall"))
    assert stage.say(found(LH, "sound", BETWEEN)) == ""
    stage.say(found(RH, "scald"))
    assert stage.say(found(RH, "sound", BETWEEN)) == "Right hind had scald. Sound all the same?"


def test_a_finding_after_sound_keeps_both() -> None:
    stage = on_table()
    stage.say(found(LH, "sound"))
    assert stage.say(found(LH, "abscess")) == "Left hind was sound before. Both are kept."
    assert stage.parts() == [found(LH, "sound"), found(LH, "abscess")]


@pytest.mark.parametrize(
    ("said", "held"),
    [
        ([at(RH)], [found(RH, "crack")]),
        ([found(None, "abscess")], [found(LH, "abscess")]),
        ([cmd("correct", RH)], [found(RH, "crack")]),
        ([cmd("no")], [found(LH, "crack")]),
    ],
)
def test_correct_to_what(said, held) -> None:
    stage = on_table()
    stage.say(found(LH, "crack"))
    assert stage.say(cmd("correct")) == "Correct it to what?"
    stage.say(*said)
    assert stage.parts() == held


def test_unheard_is_kept_and_the_question_stays_open() -> None:
    stage = on_table()
    stage.mumble(*HIND_OR_FORE)
    assert stage.mumble() == "Not understood. Kept for later."
    assert stage.kind is ReplyKind.NOT_UNDERSTOOD
    stage.say(at(LH), words="left hind")
    assert stage.parts() == [found(LH, "crack")]


def test_words_that_found_no_place_are_kept_beside_the_entries() -> None:
    stage = on_table()
    assert (
        stage.say(found(LH, "crack"), unplaced="like a clock")
        == "Not understood: like a clock. Kept for later. Left hind crack."
    )
    assert stage.parts() == [found(LH, "crack")]
    assert any(isinstance(event, RemarkKept) for event in stage.latest)


def test_an_answer_keeps_the_first_remarks_id() -> None:
    stage = on_table()
    stage.mumble(*HIND_OR_FORE)
    asked = next(event for event in stage.latest if isinstance(event, QuestionAsked))
    stage.say(at(LH), words="left hind")
    assert stage.entries()[-1].remark == asked.question.remark


def test_all_four_sound_asks_only_about_the_doubtful_foot() -> None:
    stage = on_table()
    stage.say(found(LH, "crack"), found(RH, "crack"))
    sound = [found(foot, "sound") for foot in FEET]
    assert stage.say(*sound, cmd("done")) == "Left hind had a crack. Sound all the same?"
    assert stage.parts()[2:] == [found(LF, "sound"), found(RF, "sound")]
    assert stage.say(cmd("no")) == "Not recorded. Right hind had a crack. Sound all the same?"
    assert stage.say(cmd("yes")) == "Tansy done. Between the claws not mentioned."
    assert stage.parts()[4:] == [found(RH, "sound")]


def test_more_may_follow_an_answer() -> None:
    stage = Stage()
    stage.mumble(*NUMBERS)
    assert stage.say(it("17"), found(LH, "crack")) == "Four one seven, Sorrel."
    assert stage.parts("a2") == [found(LH, "crack")]


def test_a_second_question_puts_the_first_off() -> None:
    stage = on_table()
    stage.mumble(*HIND_OR_FORE)
    first = stage.state.question.remark
    assert stage.say(QuestionPart("last time", animal="Burdock")) == "Which animal?"
    assert stage.state.review == (first,)


def test_a_correction_off_its_scale_is_asked() -> None:
    stage = on_table()
    stage.say(measure("condition", 3))
    assert stage.say(cmd("correct"), measure("condition", 7)).endswith("Say it again?")
    assert stage.say(measure("condition", 2)) == "Two."
    assert stage.parts() == [measure("condition", 2)]


def test_gibberish_leaves_the_question_open() -> None:
    stage = on_table()
    stage.mumble(*HIND_OR_FORE)
    stage.say(words="mumble")
    assert stage.kind is ReplyKind.NOT_UNDERSTOOD
    assert stage.state.question is not None

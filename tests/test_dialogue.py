"""The dialogue in words, as keeper and assistant have it: every example of the vocabulary, every way to answer.

Real grammar, interpreter, dialogue and store; the listeners have a script. tests/test_session_transcripts.py and
tests/test_session_answers.py have the same by meaning, with more of the odd cases.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import vocabulary_forms
from live_stage import START, Stage, farm, told
from vocabulary_forms import listed

from assistant.session.events import Noted
from assistant.session.replies import ReplyKind
from assistant.session.state import Policy
from assistant.values import (
    BETWEEN,
    FEET,
    ActionPart,
    FindingPart,
    FollowUpPart,
    Grade,
    MarkPart,
    MeasurePart,
    SessionInfo,
    TraitPart,
)

LF, RF, LH, RH = FEET
TICK = ""
SLIGHT, SEVERE = Grade.SLIGHT, Grade.SEVERE


@pytest.fixture
def stage(tmp_path: Path) -> Stage:
    return Stage(tmp_path / "dialogue")


def all_feet(part_of) -> list:
    return [part_of(foot) for foot in FEET]


EXAMPLES = [
    # said before with Tansy on the table, remark, told back, recorded of Tansy by the remark
    ([], "left hind hollow wall trimmed", TICK, [FindingPart(LH, "hollow wall"), ActionPart(LH, "trimmed")]),
    (
        [],
        "left hind bad hollow wall cut out spray",
        TICK,
        [FindingPart(LH, "hollow wall", grade=SEVERE), ActionPart(LH, "cut out"), ActionPart(LH, "sprayed")],
    ),
    (
        [],
        "both fores a bit long trimmed",
        TICK,
        [
            FindingPart(LF, "overgrown", grade=SLIGHT),
            FindingPart(RF, "overgrown", grade=SLIGHT),
            ActionPart(LF, "trimmed"),
            ActionPart(RF, "trimmed"),
        ],
    ),
    ([], "all four trimmed", TICK, all_feet(lambda foot: ActionPart(foot, "trimmed"))),
    ([], "right fore fine", TICK, [FindingPart(RF, "sound")]),
    (["left hind crack"], "between the claws clean", TICK, [FindingPart(LH, "sound", BETWEEN)]),
    (
        [],
        "left fore scald between the claws sprayed",
        TICK,
        [FindingPart(LF, "scald", BETWEEN), ActionPart(LF, "sprayed")],
    ),
    ([], "check her again in a fortnight", "Re-check on the ninth.", [FollowUpPart("re-check", 14)]),
    ([], "vet to look", TICK, [FollowUpPart("vet", None)]),
    (
        ["left hind crack"],
        "too hard leave it do it when she's softened",
        TICK,
        [FindingPart(LH, "hard horn"), ActionPart(LH, "left alone"), FollowUpPart("re-trim when soft", None)],
    ),
    ([], "condition three and a half", TICK, [MeasurePart("condition", 3.5)]),
    ([], "lame score two", TICK, [MeasurePart("lameness", 2.0)]),
    ([], "split teat on the left", TICK, [FindingPart("left teat", "split teat")]),
    ([], "don't keep her daughters", TICK, [TraitPart("keep no daughters")]),
    ([], "different billy this time", TICK, [TraitPart("use another sire")]),
    ([], "watch her feed before kidding", TICK, [TraitPart("watch feed before birth")]),
    ([], "tag four one seven", "Tansy is on the table.", []),
    ([], "next is sorrel", "Sorrel.", []),
    ([], "blue mark", TICK, [MarkPart("blue")]),
    ([], "scratch that", "Scratched. Nobody is on the table.", []),
    (["left hind crack"], "scratch that", "Scratched: left hind crack.", []),
    (["left hind crack"], "correction right hind", "Right hind crack.", [FindingPart(RH, "crack")]),
    (["left hind crack"], "no left fore", "Left fore crack.", [FindingPart(LF, "crack")]),
    (
        ["left hind crack"],
        "done",
        "Tansy done. Left fore, right fore, right hind and between the claws not mentioned.",
        [],
    ),
    ([], "who's left", "Sorrel, Yarrow and Tansy.", []),
    ([], "when was she last trimmed", "Nothing is known of Tansy from before.", []),
    (["left hind crack"], "what did she have on the left hind", "Left hind: today crack.", []),
    ([], "skip her she's heavy in kid", "Tansy skipped, heavily pregnant. Two left.", []),
]


@pytest.mark.parametrize("is_spoken", [True, False], ids=["spoken", "typed"])
@pytest.mark.parametrize(("before", "remark", "reply", "parts"), EXAMPLES, ids=[row[1] for row in EXAMPLES])
def test_every_example_of_the_vocabulary(stage, before, remark, reply, parts, is_spoken) -> None:
    say = stage.hear if is_spoken else stage.type
    say("tansy")
    for line in before:
        say(line)
    outcome = say(remark)
    assert told(outcome) == reply
    assert [entry.part for entry in outcome.entries if entry.animal == "a1"] == parts


RECORDED = {
    # table of the vocabulary → what is said around its forms
    "FOOT_FINDINGS": "left hind {}",
    "BETWEEN_FINDINGS": "left hind {}",
    "ACTIONS": "left hind {}",
    "GRADES": "left hind {} crack",
    "ELSEWHERE": "{}",
    "BODY_REMARKS": "{}",
    "FOLLOW_UPS": "{}",
    "TRAITS": "{}",
    "EAR_TAGS": "{}",
    "CONDITIONS": "condition {}",
    "WEIGHTS": "weight {}",
    "TEMPERATURES": "temperature {}",
}


@pytest.mark.parametrize("table", RECORDED)
@pytest.mark.parametrize("is_spoken", [True, False], ids=["spoken", "typed"])
def test_every_form_of_the_vocabulary_comes_to_a_record(stage, table, is_spoken) -> None:
    """Each in a session of its own, with Tansy on the table; nothing is asked but what the animal must be asked."""
    for n, (form, value) in enumerate(listed(getattr(vocabulary_forms, table))):
        stage.session(f"{table} {n}")
        say = stage.hear if is_spoken else stage.type
        say("tansy")
        outcome = say(RECORDED[table].format(form))
        if table == "ELSEWHERE" and told(outcome) == "Where?":
            continue  # of a teat, horn or eye there are two
        kinds = {reply.kind for reply in outcome.replies}
        assert not kinds & {ReplyKind.ASKING, ReplyKind.NOT_UNDERSTOOD}, (form, told(outcome))
        values = {str(one).removesuffix(".0") for entry in outcome.entries for one in entry.part.flat().values()}
        assert set(value.split(": ")) <= values, (form, values)
        assert all(entry.animal == "a1" for entry in outcome.entries)


ANSWERED = {
    # what is said or asked → how the answer begins, with Tansy on the table and a crack of her left hind on record
    "done": "Tansy done.",
    "skip": "Tansy skipped.",
    "scratch": "Scratched: left hind crack.",
    "repeat": "",
    "pause": "Paused.",
    "finish": "Session finished.",
    "yes": "There is no question open.",
    "no": "",
    "who is left": "Sorrel, Yarrow and Tansy.",
    "last time": "Nothing is known of Tansy from before.",
    "last time, trimmed": "Nothing is known of Tansy from before.",
    "history, left hind": "Left hind: today crack.",
    "count, hollow wall": "",
    "count, crack": "",
    "due": "",
    "where am i": "",
}


@pytest.mark.parametrize("said", ANSWERED)
def test_every_form_of_commands_and_questions_is_answered(tmp_path, said) -> None:
    for n, (form, value) in enumerate(listed(vocabulary_forms.COMMANDS | vocabulary_forms.QUESTIONS)):
        if value != said:
            continue
        stage = Stage(tmp_path / f"{n}")  # a herd of its own: what is known from before would change the answer
        stage.hear("tansy")
        stage.hear("left hind crack")
        outcome = stage.hear(form)
        assert told(outcome).startswith(ANSWERED[said]), form
        assert outcome.replies, form
        assert outcome.replies[-1].kind is not ReplyKind.NOT_UNDERSTOOD, form


def test_an_animal_that_was_seen_and_never_trimmed(stage) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack")
    stage.session("s2")
    stage.hear("tansy")
    assert told(stage.hear("when was she last trimmed")) == "No trim of Tansy is on record."
    assert told(stage.hear("what did she have last time")) == "Tansy: left hind crack."


def test_a_pause_is_over_when_the_keeper_says_so(stage) -> None:
    """In every form; what is said meanwhile is let go."""
    for n, (form, value) in enumerate(listed(vocabulary_forms.COMMANDS)):
        if value == "resume":
            stage.session(f"resume {n}")
            for line in ("tansy", "pause", "left hind crack", form, "left fore crack"):
                stage.hear(line)
            assert stage.recorded("a1", f"resume {n}") == [FindingPart(LF, "crack")], form


# --------------------------------------------------------------------------------------------------- answering


def asked_which_reading(stage: Stage) -> None:
    stage.hear("tansy")
    outcome = stage.hear("left hind crack", second=["left fore crack"])
    assert [(reply.kind, reply.text) for reply in outcome.replies] == [(ReplyKind.ASKING, "Left hind or left fore?")]


READING_ANSWERS = [
    # answer, told back, recorded
    ("left fore", TICK, [FindingPart(LF, "crack")]),
    ("left hind", TICK, [FindingPart(LH, "crack")]),
    ("no left fore", TICK, [FindingPart(LF, "crack")]),
    ("left fore crack", TICK, [FindingPart(LF, "crack")]),
    ("the first one", TICK, [FindingPart(LH, "crack")]),
    ("the second", TICK, [FindingPart(LF, "crack")]),
    ("no", "Kept for later.", []),
    ("wrong", "Kept for later.", []),
    ("neither", "Kept for later.", []),
    ("none of them", "Kept for later.", []),
    ("yes", "Left hind or left fore?", []),
    ("say that again", "Left hind or left fore?", []),
    ("who's left", "Sorrel, Yarrow and Tansy.", []),
    ("scratch that", "Scratched.", []),
    ("right hind overgrown", TICK, [FindingPart(RH, "overgrown")]),
    ("sorrel", "Sorrel.", []),
    ("finish", None, []),
]


@pytest.mark.parametrize(("answer", "reply", "parts"), READING_ANSWERS, ids=[row[0] for row in READING_ANSWERS])
@pytest.mark.parametrize("is_spoken", [True, False], ids=["spoken", "typed"])
def test_which_of_two_readings(stage, answer, reply, parts, is_spoken) -> None:
    asked_which_reading(stage)
    outcome = (stage.hear if is_spoken else stage.type)(answer)
    assert reply is None or told(outcome) == reply
    assert stage.recorded("a1") == parts


@pytest.mark.parametrize(
    ("answer", "parts"),
    [("first", [FindingPart(LH, "crack")]), ("the second one", [FindingPart(LF, "crack")]), ("none", []), ("nope", [])],
)
def test_typed_answers_may_be_shorter(stage, answer, parts) -> None:
    asked_which_reading(stage)
    stage.type(answer)
    assert stage.recorded("a1") == parts
    assert stage.handling.state.question is None


SCALE = "Lameness of goats goes from one to five. Say it again?"
QUESTIONS = [
    # what is asked about, the question, answer, told back, recorded of Tansy
    ("crack", "Which foot?", "left fore", TICK, [FindingPart(LF, "crack")]),
    ("crack", "Which foot?", "both hinds", TICK, [FindingPart(LH, "crack"), FindingPart(RH, "crack")]),
    ("crack", "Which foot?", "no", "Kept for later.", []),
    ("crack", "Which foot?", "repeat that", "Which foot?", []),
    ("crack", "Which foot?", "scratch that", "Scratched.", []),
    ("lame score six", SCALE, "two", "Two.", [MeasurePart("lameness", 2.0)]),
    ("lame score six", SCALE, "lame score two", "Two.", [MeasurePart("lameness", 2.0)]),
    ("lame score six", SCALE, "no", "Kept for later.", []),
]


@pytest.mark.parametrize(("said", "question", "answer", "reply", "parts"), QUESTIONS)
def test_which_foot_and_which_number(stage, said, question, answer, reply, parts) -> None:
    stage.hear("tansy")
    asked = stage.hear(said)
    assert asked.replies[-1].kind is ReplyKind.ASKING
    assert told(asked) == question
    outcome = stage.type(answer) if answer == "two" else stage.hear(answer)
    assert told(outcome) == reply
    assert stage.recorded("a1") == parts


SURE = [
    ("yes", TICK, ["crack", "sound"]),
    ("that's it", TICK, ["crack", "sound"]),
    ("no", "Not recorded.", ["crack"]),
    ("wrong", "Not recorded.", ["crack"]),
]


@pytest.mark.parametrize(("answer", "reply", "findings"), SURE)
def test_is_it_so(stage, answer, reply, findings) -> None:
    stage.hear("tansy")
    stage.hear("right hind crack")
    assert stage.hear("right hind fine").replies[-1].kind is ReplyKind.ASKING
    assert told(stage.hear(answer)) == reply
    assert [part.finding for part in stage.recorded("a1")] == findings


def test_which_animal(stage) -> None:
    asked = stage.hear("four one seven", second=["four one one"])
    assert told(asked) == "Four one seven or four one one?"
    assert told(stage.hear("seventeen")) == "Four one seven, Tansy."


def test_nobody_on_the_table(stage) -> None:
    assert told(stage.hear("left hind crack")) == "Which animal?"
    stage.hear("tansy")
    assert stage.recorded("a1") == [FindingPart(LH, "crack")]


def test_still_on_tansy(stage) -> None:
    """A name that was not understood puts the table in doubt; yes or a name settles it."""
    stage.hear("tansy")
    stage.hear("sorrel", second=["tansy"])
    stage.hear(second=())
    assert stage.hear("left hind crack").replies[-1].kind is ReplyKind.ASKING
    stage.hear("yes")
    assert stage.recorded("a1") == [FindingPart(LH, "crack")]


def test_an_unanswered_question_is_put_off_and_not_repeated(stage) -> None:
    asked_which_reading(stage)
    later = stage.now.replace(minute=30)
    assert [reply.text for reply in stage.handling.time_out(later)] == ["Kept for later."]
    assert stage.handling.time_out(later) == ()
    assert len(stage.handling.state.review) == 1


def test_a_note_is_kept_with_its_animal(stage) -> None:
    stage.hear("tansy")
    assert told(stage.type("note the gate needs a hinge")) == "Noted."
    (note,) = [event for event in map(dict, stage.store.events("s1")) if event["type"] == Noted.__name__]
    assert (note["animal"], note["text"]) == ("a1", "the gate needs a hinge")


# ------------------------------------------------------------------------------------------------------ policies

REMARKS = ("left hind crack trimmed", "condition three", "check her in two weeks")
POLICIES = {
    Policy.CAREFUL: ["Left hind crack, left hind trimmed.", "Condition three.", "Re-check on the ninth."],
    Policy.NORMAL: [TICK, TICK, "Re-check on the ninth."],
    Policy.QUICK: [TICK, TICK, TICK],
}


@pytest.mark.parametrize("policy", Policy)
def test_how_much_is_said_back(stage, policy) -> None:
    handling = farm().handling(stage.store, "s2", stage.judge)
    handling.begin(SessionInfo("s2", START, planned=("a1",), source="test"), policy)
    stage.handling = handling
    stage.hear("tansy")
    assert [told(stage.hear(line)) for line in REMARKS] == POLICIES[policy]
    assert len(stage.recorded("a1", "s2")) == 4
    assert stage.hear("left fore", second=["right fore"]).replies[-1].kind is ReplyKind.ASKING, "doubt is always asked"

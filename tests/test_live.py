"""One remark from start to end: the sound kept first, then heard, understood, carried out and recorded in the store."""

from __future__ import annotations

import gc
import tracemalloc
from datetime import timedelta

import pytest
from live_stage import RATE_HZ, START, Stage, farm, told

from assistant.errors import BadStore
from assistant.live import recorded
from assistant.records.look_back import session_summary
from assistant.session.events import event_value
from assistant.session.fold import replay
from assistant.session.replies import ReplyKind
from assistant.session.state import ANSWER_S
from assistant.store.store import Store
from assistant.values import ActionPart, Decision, FindingPart, MeasurePart, State

LF, RF, LH, RH = "left fore", "right fore", "left hind", "right hind"
CRACK, TRIMMED = FindingPart(LH, "crack"), ActionPart(LH, "trimmed")
HIND_OR_FORE = (["left hind crack"], ["left fore crack"])


@pytest.fixture
def stage(tmp_path):
    stage = Stage(tmp_path)
    yield stage
    stage.store.close()


def state_in_store(stage: Stage, session: str = "s1"):
    flats = stage.store.events(session)
    return replay([event_value(flat) for flat in flats])


# ------------------------------------------------------------------------------------------------ what is accepted


def test_what_both_listeners_hear_is_recorded(stage) -> None:
    assert told(stage.hear("tansy")) == "Tansy."
    outcome = stage.hear("left hind crack trimmed")
    assert outcome.remark.verdict.decision is Decision.ACCEPTED
    assert [entry.part for entry in outcome.entries] == [CRACK, TRIMMED] == stage.recorded("a1")
    assert outcome.replies[-1].kind is ReplyKind.HEARD
    assert {entry.by for entry in outcome.entries} == {"Rowan"}
    assert stage.store.pending() == ()


def test_places_are_inherited_from_the_remark_before(stage) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack")
    stage.hear("trimmed")
    assert stage.recorded("a1") == [CRACK, TRIMMED]


def test_two_animals(stage) -> None:
    stage.hear("tansy")
    stage.hear("all four fine")
    assert told(stage.hear("done")) == "Tansy done. Between the claws not mentioned."
    assert told(stage.hear("done")) == "Two left."
    assert told(stage.hear("tag four one one")) == "Four one one, Sorrel."
    stage.hear("left hind crack")
    assert (len(stage.recorded("a1")), stage.recorded("a2")) == (4, [CRACK])
    assert stage.handling.state.done == ("a1",)


def test_a_withdrawn_entry_is_none_of_what_a_remark_put_on_record(stage) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack")
    assert stage.hear("scratch that").entries == ()
    assert stage.recorded("a1") == []
    states = [entry.state for entry in stage.store.entries("s1", live_only=False)]
    assert states == [State.HEARD, State.WITHDRAWN]


def test_what_nobody_hears_is_kept(stage) -> None:
    stage.hear("tansy")
    outcome = stage.hear(second=())
    assert outcome.remark.verdict.decision is Decision.UNHEARD
    assert told(outcome) == "Not understood. Kept for later."
    assert stage.handling.state.review == (outcome.remark.id,)
    assert len(stage.store.sound(outcome.remark.id).samples) == 2 * RATE_HZ


# ------------------------------------------------------------------------------------------------- what is asked


def test_an_answer_by_voice_picks(stage) -> None:
    stage.hear("tansy")
    first, second = HIND_OR_FORE
    outcome = stage.hear(*first, second=second)
    assert (told(outcome), outcome.entries) == ("Left hind or left fore?", ())
    answer = stage.hear("left fore")
    assert [entry.part for entry in answer.entries] == [FindingPart(LF, "crack")] == stage.recorded("a1")
    assert answer.entries[0].remark == outcome.remark.id
    assert stage.handling.state.question is None


def asked_at(stage: Stage, length_s: float = 2.0) -> None:
    """A question is open; the remark that it is about ended just now."""
    stage.hear("tansy")
    first, second = HIND_OR_FORE
    stage.hear(*first, second=second)
    stage.now += timedelta(seconds=length_s)


@pytest.mark.parametrize(("wait_s", "held"), [(ANSWER_S - 0.1, [FindingPart(LF, "crack")]), (ANSWER_S + 0.1, [])])
def test_who_does_not_answer_within_eight_seconds_finds_it_in_the_review(stage, wait_s, held) -> None:
    """The seconds count from the end of the remark that was asked about to the beginning of the answer."""
    asked_at(stage)
    stage.hear("left fore", wait_s=wait_s)
    assert stage.recorded("a1") == held
    assert len(stage.handling.state.review) == (0 if held else 1)


def test_the_clock_alone_puts_a_question_off(stage) -> None:
    asked_at(stage)
    assert stage.handling.time_out(stage.now + timedelta(seconds=ANSWER_S)) == ()
    replies = stage.handling.time_out(stage.now + timedelta(seconds=ANSWER_S + 1))
    assert [reply.text for reply in replies] == ["Kept for later."]
    assert stage.handling.time_out(stage.now + timedelta(seconds=60)) == ()
    assert state_in_store(stage) == stage.handling.state


def test_remarks_that_are_no_answer_do_not_give_more_time(stage) -> None:
    asked_at(stage)
    for _ in range(3):
        stage.hear("where am i", wait_s=2)
    assert stage.handling.state.question is not None
    stage.hear("left fore", wait_s=3)
    assert stage.recorded("a1") == []


def test_repeating_the_question_gives_time_again(stage) -> None:
    asked_at(stage)
    assert told(stage.hear("say that again", wait_s=6)) == "Left hind or left fore?"
    stage.hear("left fore", wait_s=6)
    assert stage.recorded("a1") == [FindingPart(LF, "crack")]


def test_a_typed_answer_may_take_long(stage) -> None:
    stage.type("tansy")
    assert told(stage.type("crack")) == "Which foot?"
    stage.type("left hind", wait_s=100)
    assert stage.recorded("a1") == [CRACK]


def test_a_name_that_was_not_understood_and_what_follows_it(stage) -> None:
    stage.hear("tansy")
    stage.hear("sorrel", second=["a cough"])
    assert told(stage.hear("left hind crack", wait_s=20)) == "Still on Tansy?"
    assert (stage.recorded("a1"), stage.recorded("a2")) == ([], [])
    stage.hear("sorrel", wait_s=4)
    assert (stage.recorded("a1"), stage.recorded("a2")) == ([], [CRACK])


def test_in_a_recording_nobody_answers(stage) -> None:
    """The same, but nobody hears the question: what follows is for the review, with whom it may be about."""
    handling = stage.session("s2", is_attended=False)
    stage.hear("tansy")
    stage.hear("sorrel", second=["a cough"])
    crack = stage.hear("left hind crack").remark.id
    stage.hear("left fore fine")
    stage.hear("yarrow", wait_s=3)
    stage.hear("right hind fine")
    assert [stage.recorded(key, "s2") for key in ("a1", "a2")] == [[], []]
    assert stage.recorded("a3", "s2") == [FindingPart(RH, "sound")]
    assert handling.state.proposed[crack] == ("a2", "a1")


# -------------------------------------------------------------------------------------------- nothing said is lost


def test_the_sound_is_kept_before_the_listeners_have_it(stage) -> None:
    stage.hear("tansy")
    sound = stage.broken()
    with pytest.raises(RuntimeError, match="broke"):
        stage.handling.hear(sound, stage.now + timedelta(seconds=1))
    (pending,) = stage.store.pending()
    assert len(stage.store.sound(pending.remark).samples) == len(sound.samples)
    assert state_in_store(stage) == stage.handling.state


def broken_off(stage: Stage, *sentences: str) -> None:
    """Remarks are kept, and the program is gone before it understood them; the next one has better listeners."""
    for sentence in sentences:
        sound = stage.broken()
        n = stage.n_said
        stage.now += timedelta(seconds=5)
        with pytest.raises(RuntimeError, match="broke"):
            stage.handling.hear(sound, stage.now)
        for script in stage.scripts:
            script[n] = [sentence]


def test_after_a_crash_what_was_pending_is_understood_where_it_was_said(stage) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack")
    broken_off(stage, "trimmed", "sorrel", "left hind crack")
    stage.crash()
    assert recorded.finish_pending(stage.store, farm(), stage.judge) == 3
    assert (stage.recorded("a1"), stage.recorded("a2")) == ([CRACK, TRIMMED], [CRACK])
    assert stage.store.pending() == ()
    assert recorded.finish_pending(stage.store, farm(), stage.judge) == 0


def test_what_is_understood_after_later_remarks_goes_to_the_review(stage) -> None:
    """By then another animal may be on the table."""
    stage.hear("tansy")
    broken_off(stage, "left hind crack")
    stage.hear("sorrel")
    stage.crash()
    recorded.finish_pending(stage.store, farm(), stage.judge)
    assert (stage.recorded("a1"), stage.recorded("a2")) == ([], [])
    assert len(state_in_store(stage).review) == 1


def test_what_was_pending_when_the_session_ended_goes_to_the_review(stage) -> None:
    stage.hear("tansy")
    broken_off(stage, "left hind crack")
    stage.handling.end(stage.now)
    recorded.finish_pending(stage.store, farm(), stage.judge)
    assert stage.recorded("a1") == []
    assert len(state_in_store(stage).review) == 1


def test_a_question_that_was_open_at_a_crash_can_be_answered_in_time(stage) -> None:
    asked_at(stage)
    stage.crash()
    stage.hear("left fore", wait_s=5)
    assert stage.recorded("a1") == [FindingPart(LF, "crack")]


def test_a_question_that_was_open_at_a_crash_is_put_off_in_time(stage) -> None:
    asked_at(stage)
    stage.crash()
    stage.hear("left fore", wait_s=60)
    assert stage.recorded("a1") == []
    assert len(stage.handling.state.review) == 1


def test_a_sound_without_its_session_gets_one(stage) -> None:
    """As when the store file was lost and its folder of sounds was not."""
    sound = stage.sound(["left hind crack"])
    stage.store.keep_sound("lost", sound, START)
    assert recorded.finish_pending(stage.store, farm(), stage.judge) == 1
    assert [info.id for info in stage.store.sessions()] == ["s1", "lost"]
    assert [remark.words for remark in stage.store.remarks("lost")] == ["left hind crack"]


def test_a_typed_session_has_nobody_to_hear(stage) -> None:
    handling = farm().handling(stage.store, "s1", None)
    handling.reopen("s1")
    with pytest.raises(TypeError, match="no listeners"):
        handling.hear(stage.sound(["tansy"]), stage.now)
    assert len(stage.store.pending()) == 1


def test_two_programs_on_one_session_collide(stage) -> None:
    other = farm().handling(stage.store, "s1", stage.judge)
    other.reopen("s1")
    stage.hear("tansy")
    with pytest.raises(BadStore, match="another program"):
        other.type("sorrel", stage.now)


# ------------------------------------------------------------------------------------------- voice, keyboard, replay

LINES = (
    "tansy",
    "left hind hollow wall cut out",
    "both fores overgrown trimmed",
    "right hind fine",
    "check her in two weeks",
    "condition three and a half",
    "scratch that",
    "condition two and a half",
    "done",
    "between the claws clean",
    "done",
    "next is sorrel",
    "crack",
    "left fore",
    "correction right fore",
    "who's left",
    "vet to look",
    "skip her",
    "yarrow",
    "lame score two",
    "right hind fine",
    "right hind crack",
    "right hind fine",
    "yes",
    "finish",
)


def test_typed_and_spoken_sessions_give_the_same_entries(tmp_path) -> None:
    stages = [Stage(tmp_path / name) for name in ("spoken", "typed")]
    told_by = [[told(say(line)) for line in LINES] for say in (stages[0].hear, stages[1].type)]
    assert told_by[0] == told_by[1]
    spoken, typed = ([(e.animal, e.part, e.state) for e in stage.store.entries()] for stage in stages)
    assert spoken == typed
    assert len(spoken) > 14


@pytest.mark.parametrize("is_spoken", [True, False])
def test_the_store_holds_the_session_as_it_was(stage, is_spoken) -> None:
    """After every remark the fold of what is in the store is the state of the session, choices and all."""
    stage.hear("tansy")
    for line in LINES:
        stage.hear(line, second=["left hind crack"]) if is_spoken and "fine" in line else stage.type(line)
        assert state_in_store(stage) == stage.handling.state


def test_a_session_can_be_taken_up_at_any_remark(stage) -> None:
    """A program that stops after each remark records the same as one that goes on."""
    for line in LINES:
        stage.type(line)
    stage.session("broken")
    for line in LINES:
        stage.type(line)
        stage.crash("broken")
    whole, broken = ([(e.animal, e.part) for e in stage.store.entries(key)] for key in ("s1", "broken"))
    assert whole == broken


def test_the_summary_of_a_session(stage) -> None:
    for line in LINES[:-1]:
        stage.type(line)
    stage.hear(second=())
    stage.type("finish")
    result = session_summary(stage.store)
    assert [card.animal.name for card in result.cards] == ["Tansy", "Sorrel", "Yarrow"]
    assert [card.outcome and (card.outcome.is_done, card.outcome.reason) for card in result.cards] == [
        (True, ""),
        (False, ""),
        None,
    ]
    assert [animal.name for animal in result.left] == ["Yarrow"]
    assert dict(result.findings) == {"overgrown": 2, "crack": 2, "hollow wall": 1}
    assert [(item.animal.name, item.what) for item in result.to_do] == [("Tansy", "re-check"), ("Sorrel", "vet")]
    assert len(result.review) == 1
    assert MeasurePart("condition", 2.5) in stage.recorded("a1")


def test_a_session_is_found_by_the_beginning_of_its_id(stage) -> None:
    stage.session("s22")
    assert session_summary(stage.store, "s22").session.id == "s22"
    with pytest.raises(BadStore, match="Several sessions begin with 's'"):
        session_summary(stage.store, "s")
    with pytest.raises(BadStore, match="No session begins with 'x'"):
        session_summary(stage.store, "x")


def test_there_is_no_summary_without_a_session(tmp_path) -> None:
    with Store.open(tmp_path / "herd.db") as store, pytest.raises(BadStore, match="no session yet"):
        session_summary(store)


def test_a_long_session_grows_by_little_more_than_its_record(stage) -> None:
    """What it holds of a remark is what was recorded: neither sound, nor the listeners' readings, nor old states."""

    def say(n: int) -> None:
        stage.hear(("tansy", "sorrel", "yarrow")[n // 15 % 3] if n % 15 == 0 else f"{(LF, RF, LH, RH)[n % 4]} crack")
        stage.scripts[0].clear()  # the test's own
        stage.scripts[1].clear()

    for n in range(45):
        say(n)
    gc.collect()
    tracemalloc.start()
    try:
        for n in range(45, 125):
            say(n)
        gc.collect()
        held, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert sum(map(len, stage.handling.state.entries.values())) > 100
    assert held / 80 < 2048, "bytes a remark"

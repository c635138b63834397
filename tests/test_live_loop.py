"""The loop of a live session: real store, grammar, endpointing and dialogue; sound and listeners with a script."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from live_stage import START, farm
from loop_stage import LiveStage

from assistant.errors import BadAudio, BadStore, ListenerMissing
from assistant.live import recorded
from assistant.live.happening import HeardSoFar, Kept, Noted, Ready
from assistant.session import replies
from assistant.session.replies import ReplyKind
from assistant.values import FindingPart, MeasurePart

LH, LF, RH = "left hind", "left fore", "right hind"


@pytest.fixture
def stage(tmp_path: Path) -> LiveStage:
    return LiveStage(tmp_path / "live")


def silence(seconds: float) -> list[tuple[float, float]]:
    return [(seconds, 0.0)]


def nothing(seconds: float) -> list[tuple[float, float]]:
    """No sound comes at all, as when the microphone is pulled out."""
    return [(seconds, -1.0)]


# -------------------------------------------------------------------------------------------------- a session


def test_what_is_said_is_kept_heard_and_recorded(stage) -> None:
    stage.run(silence(1), stage.says("tansy"), stage.says("left hind crack"), stage.says("condition three"))
    assert stage.words == ["tansy", "left hind crack", "condition three"]
    assert stage.recorded("a1") == [FindingPart(LH, "crack"), MeasurePart("condition", 3.0)]
    assert [what.n_waiting for what in stage.of(Kept)] == [1, 1, 1]
    assert stage.store.pending() == ()
    assert stage.source.is_closed
    first = stage.outcomes[0].remark
    assert (first.by, first.time) == ("Rowan", START + timedelta(seconds=first.start_s))
    assert 0.6 < first.start_s < 1.0, "the sound before the first word is kept"


def test_who_listens_is_told(stage) -> None:
    stage.run(silence(0.1))
    assert [what.names for what in stage.happened if isinstance(what, Ready)] == [("one", "two")]


def test_a_session_is_over_when_the_keeper_says_so(stage) -> None:
    stage.source.steps += [*stage.says("tansy"), *stage.says("finish"), *stage.says("sorrel")]
    stage.loop.run()
    assert stage.words == ["tansy", "finish"]
    assert stage.handling.state.info.ended is not None


def test_a_recording_goes_on_after_finish(tmp_path) -> None:
    stage = LiveStage(tmp_path / "recording", is_live=False)
    stage.source.steps += [*stage.says("tansy"), *stage.says("finish"), *stage.says("sorrel")]
    stage.loop.run()
    assert stage.words == ["tansy", "finish", "sorrel"]
    assert stage.outcomes[-1].replies[0].text == replies.IS_OVER


def test_stopping_still_takes_what_was_being_said(stage) -> None:
    """A remark that is cut off by leaving is kept and understood like any other, and the session is ended."""
    (speech, _) = stage.says("left hind crack")
    stage.run(stage.says("tansy"), speech)
    assert stage.recorded("a1") == [FindingPart(LH, "crack")]
    assert stage.handling.state.info.ended is not None
    assert stage.told_aside


# ------------------------------------------------------------------------------------------------ when it listens


def test_listeners_begin_before_it_is_sure_that_a_remark_is_over(stage) -> None:
    begun: list[int] = []
    speech = stage.says("tansy")[0]
    stage.run(speech, silence(0.42), lambda: begun.append(len(stage.pool.begun)), silence(0.6))
    assert begun == [1], "the listeners were at work while silence had not closed the remark"
    assert len(stage.pool.begun) == 1, "what they had begun on was what came of it"
    assert stage.words == ["tansy"]


def test_a_pause_inside_a_remark_does_not_cut_it(stage) -> None:
    """The listeners began on its first part; the verdict on the whole is what counts."""
    speech = stage.says("left hind crack")[0]
    stage.run(stage.says("tansy"), speech, silence(0.5), speech, silence(1))
    assert stage.words == ["tansy", "left hind crack"]
    lengths = [round(sound.length_s, 1) for sound in stage.pool.begun[1:]]
    assert lengths == [1.6, 3.1], "what was begun on early was let go"


def so_far(stage: LiveStage) -> list[str]:
    """What was shown of remarks that were not over yet, in order."""
    return [what.words for what in stage.happened if isinstance(what, HeardSoFar)]


def test_what_listeners_agree_on_is_shown_before_the_pause_is_over_and_nothing_of_it_recorded(stage) -> None:
    seen: list[tuple[list[str], int, int]] = []
    speech = stage.says("left hind crack")[0]

    def look() -> None:
        seen.append((so_far(stage), len(stage.of(Kept)), len(stage.recorded("a1"))))

    stage.run(stage.says("tansy"), speech, silence(0.5), look, silence(1), look)
    assert seen == [(["tansy", "left hind crack"], 1, 0), (["tansy", "left hind crack"], 2, 1)]


def test_what_was_shown_goes_when_more_is_said(stage) -> None:
    speech = stage.says("left hind crack")[0]
    stage.run(stage.says("tansy"), speech, silence(0.5), speech, silence(1))
    assert so_far(stage) == ["tansy", "left hind crack", "", "left hind crack"]


def test_what_listeners_do_not_agree_on_is_not_shown_before_it_is_asked(stage) -> None:
    stage.run(stage.says("tansy"), stage.says("left hind crack", second=["left fore crack"]))
    assert so_far(stage) == ["tansy"]


def test_nothing_is_shown_while_the_session_is_paused(stage) -> None:
    stage.run(stage.says("tansy"), stage.says("pause"), stage.says("left hind crack"), stage.says("resume"))
    assert so_far(stage) == ["tansy", "pause"]


def test_a_remark_that_nothing_can_follow_is_over_sooner(stage) -> None:
    """Two words that are both understood, the one a whole remark, the other perhaps the beginning of one."""
    n_kept: list[int] = []
    whole, begun = stage.says("say that again")[0], stage.says("left hind")[0]
    for speech in (whole, begun):
        stage.source.steps += [speech, (0.5, 0.0), lambda: n_kept.append(len(stage.of(Kept))), (0.5, 0.0)]
    stage.run(silence(0.1))
    assert n_kept == [1, 1], "the second was still open"
    assert stage.words == ["say that again", "left hind"]
    assert len(stage.pool.begun) == 2


def test_listeners_that_do_not_agree_end_no_remark_sooner(stage) -> None:
    n_kept: list[int] = []
    speech = stage.says("say that again", second=["carry on"])[0]
    stage.run(speech, silence(0.5), lambda: n_kept.append(len(stage.of(Kept))), silence(0.5))
    assert n_kept == [0]


def test_nobody_begins_early_while_remarks_wait(stage) -> None:
    stage.pool.is_slow = True
    stage.run(stage.says("tansy"), stage.says("left hind crack"), stage.pool.work)
    assert len(stage.pool.begun) == 2
    assert stage.words == ["tansy", "left hind crack"]


def test_slow_listeners_lose_and_reorder_nothing(stage) -> None:
    stage.pool.is_slow = True
    stage.run(
        stage.says("tansy"),
        stage.says("left hind crack"),
        stage.says("sorrel"),
        stage.says("right hind overgrown"),
        stage.pool.work,
        silence(0.1),
    )
    assert [what.n_waiting for what in stage.of(Kept)] == [1, 2, 3, 4]
    assert stage.recorded("a1") == [FindingPart(LH, "crack")]
    assert stage.recorded("a2") == [FindingPart(RH, "overgrown")]


def test_a_recording_waits_for_slow_listeners(tmp_path) -> None:
    """Memory does not grow with its length: sound is only taken while few remarks wait."""
    stage = LiveStage(tmp_path / "recording", is_live=False)
    stage.pool.is_slow = True
    waited = stage.pool.begin

    def begin(sound):
        assert len(stage.pool._due) <= 3
        if len(stage.pool._due) == 3:
            stage.pool.work()
        return waited(sound)

    stage.pool.begin = begin
    for _ in range(12):
        stage.source.steps += stage.says("tansy")
    stage.source.steps.append(stage.pool.work)
    stage.pool.is_slow = True
    loop_is_full = stage.loop._is_full
    stage.loop._is_full = lambda: loop_is_full() and not stage.pool.work()
    stage.loop.run()
    assert stage.words == ["tansy"] * 12
    assert max(what.n_waiting for what in stage.of(Kept)) == 3


# -------------------------------------------------------------------------------------------------- typed lines


def test_lines_are_typed_meanwhile(stage) -> None:
    stage.run(stage.says("tansy"), lambda: stage.loop.type("left hind crack"), silence(0.1), stage.says("sorrel"))
    assert stage.words == ["tansy", "left hind crack", "sorrel"]
    assert stage.recorded("a1") == [FindingPart(LH, "crack")]
    typed_at = (stage.outcomes[1].remark.time - START).total_seconds()
    assert typed_at == pytest.approx(2.0, abs=0.1)


def test_a_typed_line_has_its_turn_after_what_was_said_before(stage) -> None:
    stage.pool.is_slow = True
    stage.run(
        stage.says("tansy"), lambda: stage.loop.type("left hind crack"), silence(0.2), stage.pool.work, silence(0.1)
    )
    assert stage.words == ["tansy", "left hind crack"]
    assert stage.recorded("a1") == [FindingPart(LH, "crack")]


def test_an_empty_line_is_nothing(stage) -> None:
    stage.run(lambda: stage.loop.type("  "), silence(0.1))
    assert stage.outcomes == []


# ----------------------------------------------------------------------------------------------------- questions


def test_a_question_is_answered_by_voice(stage) -> None:
    stage.run(stage.says("tansy"), stage.says("crack"), silence(3), stage.says("left fore"))
    assert stage.recorded("a1") == [FindingPart(LF, "crack")]


def test_a_question_that_nobody_answers_is_put_off_once(stage) -> None:
    stage.run(stage.says("tansy"), stage.says("crack"), silence(25))
    assert stage.told_aside[0] == replies.KEPT_FOR_LATER
    assert stage.told_aside.count(replies.KEPT_FOR_LATER) == 1
    assert len(stage.handling.state.review) == 1
    assert stage.recorded("a1") == []


def test_an_answer_that_begins_in_time_counts_however_long_it_takes(stage) -> None:
    stage.run(stage.says("tansy"), stage.says("crack"), silence(6.2), stage.says("left fore", length_s=4))
    assert stage.recorded("a1") == [FindingPart(LF, "crack")]


def test_the_time_for_an_answer_begins_when_the_question_was_said(stage) -> None:
    stage.run(
        stage.says("tansy"),
        stage.says("crack"),
        speaking(stage, True),
        silence(7),
        speaking(stage, False),
        silence(6),
        stage.says(LF),
    )
    assert stage.recorded("a1") == [FindingPart(LF, "crack")]
    assert replies.KEPT_FOR_LATER not in stage.told_aside


def test_while_paused_only_resume_is_heard(stage) -> None:
    stage.run(
        stage.says("tansy"),
        stage.says("pause"),
        stage.says("left hind crack"),
        stage.says("right hind overgrown"),
        lambda: stage.loop.type("tansy"),
        stage.says("resume"),
        stage.says("condition three"),
    )
    assert stage.recorded("a1") == [MeasurePart("condition", 3.0)]


# ---------------------------------------------------------------------------------------------- its own voice


def speaking(stage, is_speaking: bool):
    def change() -> None:
        stage.mouth.is_speaking = is_speaking

    return change


def test_it_does_not_hear_itself(stage) -> None:
    own = stage.says("left hind crack")
    stage.run(stage.says("tansy"), speaking(stage, True), own, speaking(stage, False), stage.says("sorrel"))
    assert stage.words == ["tansy", "sorrel"]
    assert len(stage.pool.begun) == 2


def test_what_began_while_the_assistant_spoke_is_asked_about(stage) -> None:
    """It is deaf meanwhile, and the rest of a remark can be another remark."""
    (length_s, level), silent = stage.says("weight three and a half kilos")
    stage.source.steps += stage.says("tansy")
    stage.source.steps += [speaking(stage, True), (1.0, level), speaking(stage, False)]
    stage.run([(length_s, level), silent], stage.says("yes"))
    asked = stage.outcomes[1]
    assert [reply.text for reply in asked.replies] == ["Weight three and a half kilos?"]
    assert asked.entries == ()
    assert stage.recorded("a1") == [MeasurePart("weight", 3.5)], "yes was enough"


def test_what_began_after_the_assistant_spoke_is_taken_as_ever(stage) -> None:
    stage.source.steps += stage.says("tansy")
    stage.source.steps += [speaking(stage, True), (1.0, 0.0), speaking(stage, False)]
    stage.run(stage.says("weight three and a half kilos"))
    assert stage.recorded("a1") == [MeasurePart("weight", 3.5)]


def test_an_answer_that_comes_at_once_is_an_answer(stage) -> None:
    """Who is asked often begins before the question is quite over."""
    (length_s, level), silent = stage.says("left fore")
    stage.source.steps += [*stage.says("tansy"), *stage.says("left hind crack", second=["left fore crack"])]
    stage.source.steps += [speaking(stage, True), (0.3, level), speaking(stage, False)]
    stage.run([(length_s, level), silent])
    assert stage.recorded("a1") == [FindingPart(LF, "crack")]


def test_with_a_headset_it_listens_while_it_speaks_and_lets_the_keeper_speak(stage) -> None:
    stage.session_parts.hears_over_voice = True
    stage.run(stage.says("tansy"), speaking(stage, True), stage.says("left hind crack"))
    assert stage.words == ["tansy", "left hind crack"]
    assert stage.mouth.n_hushed == 1


def test_it_does_not_talk_over_the_keeper(stage) -> None:
    """The verdict on the first remark comes while the second is being said; its reply waits for the end of that."""
    stage.pool.is_slow = True
    said: list[int] = []
    first = stage.says("tansy")
    speech = stage.says("left hind crack")[0]
    stage.run(
        first, speech, stage.pool.work, speech, lambda: said.append(len(stage.mouth.said)), silence(1), stage.pool.work
    )
    assert said == [0]
    assert [reply.kind for reply in stage.mouth.said][:1] == [ReplyKind.ANIMAL_CHANGED]
    assert len(stage.mouth.said) >= 2


# ----------------------------------------------------------------------------------------------- what goes wrong


def test_a_microphone_that_vanishes_leaves_what_was_said_and_comes_back(stage) -> None:
    def noted(text: str):
        def change() -> None:
            stage.source.note = text

        return change

    speech = stage.says("left hind crack")[0]
    stage.run(
        stage.says("tansy"),
        speech,
        noted("The microphone is gone."),
        nothing(30),
        noted(""),
        stage.says("right hind overgrown"),
    )
    assert stage.words == ["tansy", "left hind crack", "right hind overgrown"]
    before, after = (outcome.remark.time for outcome in stage.outcomes[1:])
    assert 30 < (after - before).total_seconds() < 33, "the time without a microphone has passed all the same"
    assert [what.text for what in stage.of(Noted)] == ["The microphone is gone.", ""]
    assert [reply.text for reply in stage.mouth.said].count(replies.CANNOT_HEAR) == 1


def test_a_remark_cut_off_by_the_microphone_is_taken_at_once(stage) -> None:
    taken: list[int] = []
    speech = stage.says("tansy")[0]
    stage.run(speech, nothing(0.7), lambda: taken.append(len(stage.outcomes)), nothing(1))
    assert taken == [1]


def test_a_full_disk_stops_the_session_aloud_and_keeps_what_was_kept(stage, monkeypatch) -> None:
    def full(*_: object) -> str:
        raise BadStore("There is no room left on the disk.")

    with pytest.raises(BadStore, match="no room"):
        stage.run(
            stage.says("tansy"),
            stage.says("left hind crack"),
            lambda: monkeypatch.setattr(stage.store, "keep_sound", full),
            stage.says("right hind overgrown"),
            stage.says("sorrel"),
        )
    assert stage.recorded("a1") == [FindingPart(LH, "crack")]
    assert stage.mouth.said[-1].text == replies.STOPPED
    assert stage.source.is_closed


def test_listeners_that_die_leave_every_sound(stage) -> None:
    def dead(_: object):
        raise ListenerMissing("A listening process was stopped from outside.")

    with pytest.raises(ListenerMissing):
        stage.run(stage.says("tansy"), lambda: setattr(stage.pool, "_judge", dead), stage.says("left hind crack"))
    assert len(stage.store.pending()) == 1
    assert recorded.finish_pending(stage.store, farm(), stage.judge) == 1
    assert stage.store.pending() == ()


def test_a_recording_that_breaks_off_gives_what_came_before(tmp_path) -> None:
    stage = LiveStage(tmp_path / "recording", is_live=False)

    def broken() -> None:
        raise BadAudio("session.flac breaks off.")

    (speech, _) = stage.says("left hind crack")
    stage.source.steps += [*stage.says("tansy"), speech, broken]
    with pytest.raises(BadAudio, match="breaks off"):
        stage.loop.run()
    assert stage.words == ["tansy", "left hind crack"]
    assert stage.handling.state.info.ended is not None


def test_what_a_stopped_program_left_is_taken_first_and_in_silence(stage) -> None:
    stage.hear("tansy")
    sound = stage.sound(["left hind crack"])
    stage.handling.keep(sound, stage.now + timedelta(seconds=3))
    stage.session("s2")
    stage.session_parts.handling = stage.handling
    stage.session_parts.unfinished = recorded.unfinished(stage.store, farm())
    stage.run(stage.says("sorrel"))
    assert stage.recorded("a1", "s1") == [FindingPart(LH, "crack")]
    assert stage.words == ["sorrel"]
    assert stage.mouth.said[0].text.startswith("Sorrel.")
    assert stage.store.pending() == ()


def test_another_program_on_the_same_session_is_told(stage) -> None:
    def meddle() -> None:
        other = farm().handling(stage.store, "s1", stage.judge)
        other.reopen("s1")
        other.type("sorrel", START + timedelta(seconds=9))

    with pytest.raises(BadStore, match="another program"):
        stage.run(stage.says("tansy"), meddle, stage.says("left hind crack"))
    assert len(stage.store.pending()) == 1, "the remark that collided is kept"


def test_a_missing_loudspeaker_is_noted(stage) -> None:
    stage.mouth.note = "Nothing can be played: there is no loudspeaker."
    stage.run(stage.says("tansy"))
    assert [what.text for what in stage.of(Noted)] == [stage.mouth.note]
    assert stage.words == ["tansy"]


def test_the_keeper_is_told_once_when_listeners_had_to_be_started_again(stage) -> None:
    def restarted() -> None:
        stage.pool.n_restarts = 1

    stage.run(stage.says("tansy"), restarted, stage.says("left hind crack"), stage.says("condition three"))
    assert stage.told_aside.count(replies.LISTENERS_AGAIN) == 1
    assert [reply.text for reply in stage.mouth.said].count(replies.LISTENERS_AGAIN) == 1
    assert stage.words == ["tansy", "left hind crack", "condition three"]

"""What must hold for every session, whatever is said: nothing is lost, nothing is overwritten, a replay is the same."""

from __future__ import annotations

import json

from hypothesis import given, settings
from hypothesis import strategies as st
from session_stage import Stage

from assistant.session.events import (
    EVENT_TYPES,
    AnimalCaught,
    AnimalLeft,
    Ended,
    EntryMade,
    EntrySuperseded,
    Finished,
    Noted,
    Paused,
    QuestionAnswered,
    QuestionAsked,
    RemarkHeld,
    RemarkKept,
    Replied,
    Resumed,
    Said,
    event_from_flat,
    event_to_flat,
)
from assistant.session.fold import applied, replay
from assistant.session.replies import ReplyKind
from assistant.session.scale import misfit
from assistant.session.state import Policy, QuestionKind, SessionState
from assistant.values import (
    BETWEEN,
    FEET,
    ActionPart,
    AnimalPart,
    CommandPart,
    Decision,
    FindingPart,
    FollowUpPart,
    Grade,
    HeardWord,
    Hearing,
    MarkPart,
    MeasurePart,
    Part,
    PlacePart,
    QuestionPart,
    Reading,
    Remark,
    Species,
    TagPart,
    TraitPart,
    Verdict,
)

COMMANDS = ["next", "done", "skip", "scratch", "correct", "repeat", "pause", "resume", "note", "yes", "no", "dance"]

places = st.sampled_from([*FEET, "left teat", None])
parts: st.SearchStrategy[Part] = st.one_of(
    st.builds(PlacePart, st.sampled_from(FEET), st.sampled_from([None, BETWEEN])),
    st.builds(
        FindingPart,
        places,
        st.sampled_from(["sound", "crack", "abscess", "scald", "cough", "lump"]),
        st.sampled_from([None, BETWEEN]),
        st.sampled_from([None, *Grade]),
    ),
    st.builds(ActionPart, places, st.sampled_from(["trimmed", "treated"]), st.none(), st.sampled_from([None, "spray"])),
    st.builds(MeasurePart, st.sampled_from(["condition", "lameness", "weight"]), st.sampled_from([0.0, 2.5, 3.0, 9.0])),
    st.builds(FollowUpPart, st.sampled_from(["re-check", "vet"]), st.sampled_from([None, 0, 14, 400])),
    st.sampled_from([TraitPart("keep no daughters"), MarkPart("blue"), TagPart("missing")]),
    st.builds(AnimalPart, st.sampled_from(["Tansy", "417", "17", "Burdock", "Bramble", "a1", "3"])),
    st.builds(
        CommandPart,
        st.sampled_from(COMMANDS),
        st.sampled_from([None, None, *FEET]),
    ),
    st.builds(
        QuestionPart,
        st.sampled_from(["who is left", "last time", "history", "count", "due", "where am I", "why"]),
        st.sampled_from([None, *FEET]),
        st.sampled_from([None, "crack"]),
        st.none(),
        st.sampled_from([None, "Tansy", "Burdock", "Bramble"]),
    ),
)
meanings = st.lists(parts, max_size=4).map(tuple)
words = st.sampled_from(["left fore", "seven", "second", "left hind crack", "crack", ""])
accepted = st.tuples(st.just("say"), words, meanings)
mumbled = st.tuples(st.just("mumble"), st.lists(st.tuples(words, meanings), max_size=3))
remarks = st.lists(st.one_of(accepted, accepted, mumbled, st.just(("wait",)), st.just(("finish",))), max_size=14)

EFFECTS = (
    AnimalCaught,
    AnimalLeft,
    EntryMade,
    EntrySuperseded,
    QuestionAsked,
    QuestionAnswered,
    RemarkKept,
    RemarkHeld,
)
TOLD = (Noted, Paused, Resumed, Finished, Replied)


def played(script, policy: Policy = Policy.NORMAL, *, is_attended: bool = True) -> Stage:
    """A session with a script; every step is checked against a replay by the stage itself."""
    stage = Stage(planned=("a1", "a2", "a3"), policy=policy, is_attended=is_attended)
    stage.say(AnimalPart("Tansy"))
    for kind, *rest in script:
        if kind == "say":
            stage.say(*rest[1], words=rest[0])
        elif kind == "mumble":
            stage.mumble(*rest[0])
        elif kind == "wait":
            stage.wait()
        else:
            stage.say(CommandPart("finish"))
        if kind != "wait":
            check_nothing_dropped(stage)
    return stage


def check_nothing_dropped(stage: Stage) -> None:
    """A remark leads to an entry, a question, a kept remark, or an answer to the keeper."""
    if any(isinstance(event, EFFECTS) for event in stage.latest):
        return
    assert any(isinstance(event, TOLD) for event in stage.latest)


@settings(max_examples=250, deadline=None)
@given(remarks, st.sampled_from(Policy))
def test_nothing_is_dropped_and_a_replay_is_the_same(script, policy) -> None:
    played(script, policy)


@settings(max_examples=120, deadline=None)
@given(st.lists(meanings.filter(bool), min_size=1, max_size=8))
def test_every_fact_said_is_recorded_or_waits(script) -> None:
    """Facts of accepted remarks end up in an entry, in the open question, or in a remark kept for review."""
    stage = Stage()
    for said in script:
        if stage.state.is_paused:
            break
        stage.say(*said)
        facts = [p for p in said if isinstance(p, MeasurePart | TraitPart | MarkPart | TagPart | FollowUpPart)]
        recorded = [event.entry.part for event in stage.latest if isinstance(event, EntryMade | EntrySuperseded)]
        asked = [event.question for event in stage.latest if isinstance(event, QuestionAsked)]
        waiting = [p for q in asked for p in (*q.pending, *(part for c in q.choices for part in c.parts))]
        held = [p for event in stage.latest if isinstance(event, RemarkHeld) for p in event.held.parts]
        is_kept = any(isinstance(event, RemarkKept) for event in stage.latest)
        is_answer = any(isinstance(event, QuestionAnswered) for event in stage.latest)
        for fact in facts:
            assert fact in recorded or fact in waiting or fact in held or is_kept or is_answer


@settings(max_examples=150, deadline=None)
@given(remarks)
def test_records_are_only_added_to(script) -> None:
    """Ids never repeat; what is superseded was made before and is superseded once; the live view follows from both."""
    entries = played(script).entries()
    ids = [entry.id for entry in entries]
    assert len(set(ids)) == len(ids)
    replaced = [entry.supersedes for entry in entries if entry.supersedes]
    assert len(set(replaced)) == len(replaced)
    for index, entry in enumerate(entries):
        assert entry.supersedes is None or entry.supersedes in ids[:index]


@settings(max_examples=150, deadline=None)
@given(remarks)
def test_the_live_view_is_what_was_not_superseded(script) -> None:
    stage = played(script)
    entries = stage.entries()
    gone = {entry.supersedes for entry in entries}
    live = {entry.id for entry in entries if entry.id not in gone and entry.state != "withdrawn"}
    assert live == {entry.id for held in stage.state.entries.values() for entry in held}


@settings(max_examples=200, deadline=None)
@given(remarks, st.booleans())
def test_nothing_is_recorded_in_doubt_and_what_waits_is_not_lost(script, is_attended) -> None:
    """No entry while it is not sure who is on the table; each fact that waited is recorded, asked or for review."""
    stage = played(script, is_attended=is_attended)
    stage.put(Ended(stage.now))
    state, waiting = SessionState(), set()
    for event in stage.kept:
        if isinstance(event, EntryMade | EntrySuperseded):
            assert state.doubt is None
            waiting.discard(event.entry.remark)
        elif isinstance(event, RemarkKept):
            waiting.discard(event.remark)
        elif isinstance(event, QuestionAsked) and event.question.kind is not QuestionKind.STILL:
            waiting.discard(event.question.remark)
        elif isinstance(event, RemarkHeld) and any(isinstance(p, MeasurePart | TraitPart) for p in event.held.parts):
            waiting.add(event.held.remark)
        state = applied(state, event)
    assert not waiting


@settings(max_examples=100, deadline=None)
@given(remarks)
def test_events_survive_the_store(script) -> None:
    """To flat objects, through JSON text and back."""
    stage = played(script)
    loaded = []
    for event in stage.kept:
        name, payload = event_to_flat(event)
        loaded.append(event_from_flat(name, json.loads(json.dumps(payload))))
    assert loaded == stage.kept
    assert replay(loaded) == stage.state


def test_a_remark_with_its_verdict_survives_the_store() -> None:
    stage = Stage()
    hearing = Hearing("first", (Reading((HeardWord("done", 0.1, 0.5, -2.0),), -12.5),), 3.25)
    verdict = Verdict(Decision.ASK, "the listeners differ", ("done", "den"), (hearing,))
    remark = stage.remark((CommandPart("note", note="x"), FollowUpPart("vet")), "done", 1, verdict)
    event = Said(remark, {"Tansy": ("a1", "a2")}, (Remark("r", "s1", stage.now),))
    name, payload = event_to_flat(event)
    assert event_from_flat(name, json.loads(json.dumps(payload))) == event
    assert name in EVENT_TYPES


def test_the_same_remarks_give_the_same_ids() -> None:
    script = [("say", "", (FindingPart(FEET[0], "crack"),)), ("say", "", (CommandPart("scratch"),))]
    assert [entry.id for entry in played(script).entries()] == [entry.id for entry in played(script).entries()]


def test_an_unheard_remark_is_told_as_not_understood() -> None:
    stage = Stage()
    stage.mumble()
    assert stage.kind is ReplyKind.NOT_UNDERSTOOD


@settings(max_examples=150, deadline=None)
@given(remarks)
def test_every_question_is_answered_or_kept_or_open(script) -> None:
    """Questions open and close in turn: none is opened over another, and one without an answer leaves a kept remark."""
    stage = played(script)
    is_open = False
    for index, event in enumerate(stage.kept):
        if isinstance(event, QuestionAsked):
            assert not is_open
            is_open = True
        elif isinstance(event, QuestionAnswered):
            assert is_open
            is_open = False
            after = stage.kept[index + 1]
            assert event.answer or (isinstance(after, RemarkKept) and after.remark == event.remark and after.to_review)
    assert is_open is (stage.state.question is not None)


@settings(max_examples=150, deadline=None)
@given(remarks, st.sampled_from(Policy))
def test_every_entry_has_an_animal_and_a_place_and_every_reply_is_a_sentence(script, policy) -> None:
    stage = played(script, policy)
    for entry in stage.entries():
        assert stage.herd.animal(entry.animal)
        assert not isinstance(entry.part, PlacePart | CommandPart | QuestionPart | AnimalPart)
        assert not isinstance(entry.part, FindingPart | ActionPart) or entry.part.place
        assert not isinstance(entry.part, MeasurePart) or misfit(entry.part, Species.GOAT) is None
    for text in (event.text for event in stage.kept if isinstance(event, Replied) and event.text):
        assert text[0] == text[0].upper()
        assert text[-1] in ".?"
        assert "  " not in text
        assert len(text) > 2

"""What the keeper's settled remarks teach: with real sound of an odd name, and the rules of the trial as tables."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from live_stage import Stage
from test_kept_remark import events

from assistant import settings
from assistant.cli.main import ExitStatus, run
from assistant.hearing.pronunciation import Lexicon
from assistant.learning.lessons import Example, Outcome, Proposal, Tally, confusions, examples, lessons, proposals
from assistant.learning.named_remark import NamedRemark, named_remarks
from assistant.learning.own_names import OwnNames, write
from assistant.learning.words import confused_words
from assistant.live.farm import Farm
from assistant.register.register import Register
from assistant.session import deciding
from assistant.session.events import (
    AnimalCaught,
    EntryMade,
    QuestionAnswered,
    RemarkKept,
    Reviewed,
    Said,
    event_value,
    flat_event,
)
from assistant.session.review import Fact, Review, Stamp
from assistant.sound.recording import read
from assistant.store.store import Store
from assistant.values import Animal, FindingPart, MeasurePart, Remark, SessionInfo, Sound, Verdict
from assistant.values import Decision as Decided

SOUNDS = Path(__file__).parent / "own_names"
START = datetime(2026, 5, 26, 9, 0, tzinfo=UTC)
NAMES = ("Bryony", "Tansy", "Sorrel", "Campion", "Teasel", "Yarrow", "Burdock")
HERD = tuple(Animal(f"a{n}", number=str(401 + 7 * n), name=name) for n, name in enumerate(NAMES))
HOW = ["--listeners", "pocketsphinx,phonemes", "--workers", "1"]
NAMED = {"bryony": "bryony", "next": "next is yarrow"}
CRACK = FindingPart("left hind", "crack")


# ------------------------------------------------------------------------------------------------------ with real sound


def kept_sounds(held: Store, folder: Path) -> list[tuple[Path, str, datetime]]:
    """The recordings of a folder as sounds of a session, a minute apart: each with its remark's id and time."""
    held.save_animals(HERD, START)
    held.begin(SessionInfo("s1", START, planned=()))
    files = sorted(folder.glob("*.flac"))
    times = [START + timedelta(minutes=n) for n in range(len(files))]
    return [(file, held.keep_sound("s1", read(file), time), time) for file, time in zip(files, times, strict=True)]


@pytest.fixture(scope="module")
def store(tmp_path_factory) -> Path:
    """A session in which the keeper was asked each time who it was, and said."""
    path = tmp_path_factory.mktemp("own") / "herd.db"
    with Store.open(path) as held:
        farm = Farm(Register(HERD))
        for file, key, time in kept_sounds(held, SOUNDS):
            words = NAMED.get(file.stem.split("_")[0], "left hind crack")
            verdict = Verdict(Decided.ASK, "the listeners differ", (words, "green dot"))
            remark = Remark(key, "s1", time, words, farm.interpreter.heard(words), verdict)
            animal = {"bryony": "a0", "next is yarrow": "a5"}.get(words)
            after = [QuestionAnswered(time, key, "typed"), AnimalCaught(time, animal, key)] if animal else []
            held.settle(remark, [flat_event(event) for event in (Said(remark), *after)])
    return path


@pytest.fixture(scope="module")
def learnt(store):
    with Store.open(store, read_only=True) as held:
        return OwnNames(held, Farm.of(held, settings.places(store)), HOW[1].split(","), 1).learn()


def test_an_odd_way_to_say_a_name_is_learnt_and_proves_itself(learnt) -> None:
    worst = learnt.names[0]
    assert worst.name == "bryony"
    assert worst.tally.n >= 4
    assert worst.tally.right < worst.tally.n
    (lesson,) = learnt.lessons
    assert lesson.is_good
    assert lesson.proposal.word == "bryony"
    assert "OW" in lesson.proposal.phones, "bree-OH-nee, where the dictionary has B R AY AH N IY"
    assert not set(lesson.proposal.learnt) & set(lesson.proposal.held_back)
    assert lesson.before.right < lesson.after.right
    assert lesson.after.wrong == 0


def test_it_is_written_only_when_told_and_the_listeners_use_it(store, learnt, monkeypatch, capsys) -> None:
    monkeypatch.setattr(OwnNames, "learn", lambda self: learnt)
    file = store.parent / "grammars" / "pronunciations.dict"
    assert run(["--store", str(store), "learn", *HOW]) == ExitStatus.OK
    shown = capsys.readouterr()
    assert "Good." in shown.out
    assert "Nothing was changed" in shown.err
    assert not file.exists()
    assert run(["--store", str(store), "learn", "--json", "--write", *HOW]) == ExitStatus.OK
    (lesson,) = json.loads(capsys.readouterr().out)["lessons"]
    assert lesson["is_good"]
    assert Lexicon.read([file]).of("bryony")[0] == learnt.lessons[0].proposal.phones
    assert ("B", "R", "AY", "AH", "N", "IY") in Lexicon.read([file]).of("bryony")


def test_a_store_in_which_nothing_was_settled_says_how(tmp_path, capsys) -> None:
    with Store.open(tmp_path / "herd.db") as held:
        held.save_animals(HERD, START)
    assert run(["--store", str(tmp_path / "herd.db"), "learn", *HOW]) == ExitStatus.FAILED
    assert "assistant review" in capsys.readouterr().err


def test_what_stands_in_the_keepers_file_stays(tmp_path) -> None:
    (tmp_path / "pronunciations.dict").write_text("teasel T EH Z AH L")
    write([Proposal("bryony", ("B", "IY"), ("r1",), ("r2",))], tmp_path, Lexicon().of)
    sounds = Lexicon.read([tmp_path / "pronunciations.dict"])
    assert sounds.of("teasel")[0] == ("T", "EH", "Z", "AH", "L")
    assert sounds.of("bryony")[0] == ("B", "IY")


# ------------------------------------------------------------------------------------- whom the keeper said it was


@pytest.fixture
def stage(tmp_path) -> Stage:
    return Stage(tmp_path / "herd")


def settled(stage: Stage, more: Sequence[object] = ()) -> list[tuple[str, str]]:
    return [(one.remark.words, one.animal) for one in named_remarks("s1", [*events(stage), *more])]


def test_what_the_listeners_agreed_on_is_not_taken_for_granted(stage) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack")
    assert settled(stage) == []


def test_an_answer_to_who_it_is_counts(stage) -> None:
    stage.hear("tansy", second=["sorrel"])
    stage.hear("tansy")
    assert [animal for _, animal in settled(stage)] == ["a1"]


@pytest.mark.parametrize(
    ("decided", "animal"),
    [
        (lambda review, line: deciding.accepted(review, [line]), "a1"),
        (lambda review, line: deciding.changed(line, Fact("a2", CRACK)), "a2"),
        (lambda review, line: deciding.withdrawn([line]), None),
    ],
)
def test_what_is_decided_at_the_review_tells_who_it_was(stage, decided, animal) -> None:
    stage.hear("tansy")
    stage.hear("left hind crack")
    review = Review.of("s1", [event.entry for event in events(stage) if isinstance(event, EntryMade)], [])
    (line,) = review.lines
    more = review.step(decided(review, line), Stamp("seed", stage.now)).events
    assert settled(stage, more) == ([("tansy", animal)] if animal else [])


# ------------------------------------------------------------------------------------------------ words of the trade


@pytest.fixture(scope="module")
def words_store(tmp_path_factory) -> Path:
    """A session in which the keeper said "skayld", and put at the review what was not accepted."""
    path = tmp_path_factory.mktemp("words") / "herd.db"
    with Store.open(path) as held:
        farm = Farm(Register(HERD))
        for file, key, time in kept_sounds(held, SOUNDS.parent / "own_words"):
            verdict = Verdict(Decided.ASK, "the listeners differ", ("left hind heel", "left hind scald"))
            remark = Remark(key, "s1", time, "left hind heel", farm.interpreter.heard("left hind heel"), verdict)
            held.settle(remark, [flat_event(Said(remark)), flat_event(RemarkKept(time, key, "not sure"))])
            settle(held, key, FindingPart("left hind", "scald"), file.stem, time)
    return path


def settle(held: Store, remark: str, part: FindingPart, entry: str, time: datetime) -> None:
    """The keeper says at the review what a remark means."""
    history = [event_value(flat) for flat in held.events("s1")]
    decisions = [event for event in history if isinstance(event, RemarkKept | Reviewed)]
    review = Review.of("s1", [event.entry for event in history if isinstance(event, EntryMade)], decisions)
    step = review.step(deciding.reread(review, remark, "a1", [part], time, [entry]), Stamp(entry, time))
    held.append("s1", held.version("s1"), [flat_event(event) for event in step.events])


def test_an_odd_way_to_say_a_word_of_the_trade_is_learnt_and_proves_itself(words_store) -> None:
    with Store.open(words_store, read_only=True) as held:
        learnt = OwnNames(held, Farm.of(held, settings.places(words_store)), HOW[1].split(","), 1).learn()
    (lesson,) = learnt.lessons
    assert lesson.proposal.word == "scald"
    assert lesson.proposal.phones != ("S", "K", "AO", "L", "D")
    assert lesson.is_good
    assert (lesson.before.accepted, lesson.before.wrong) == (0, 0)
    assert lesson.after.accepted > 0
    assert lesson.after.wrong == 0


@pytest.mark.parametrize(
    ("heard", "names", "found"),
    [
        ([("r1", ["left hind scald"], "left hind heel")], (), [("r1", "scald")]),
        ([("r1", ["left hind scald"], ""), ("r2", ["scald"], "hot")], (), [("r1", "scald"), ("r2", "scald")]),
        ([("r1", ["left hind scald"], "")], (), []),
        ([("r1", ["next is bryony"], "next is burdock")], ("bryony",), []),
        ([("r1", [], "left hind heel")], (), []),
    ],
)
def test_the_words_for_which_others_are_heard(heard, names, found) -> None:
    assert [(one.remark, one.name) for one in confused_words(heard, names)] == found


# ------------------------------------------------------------------------------------------------- forms of their own


@pytest.fixture
def typist(stage) -> Stage:
    """A keeper who types "gone spongy" for a hollow wall."""
    stage.type("tansy")
    return stage


def typed_and_settled(stage: Stage, said: Sequence[tuple[str, str]]) -> None:
    """Lines in a session, and afterwards at the review the finding that each means, on the foot that it begins with."""
    remarks = [stage.type(text).remark for text, _ in said]
    for n, (remark, (text, finding)) in enumerate(zip(remarks, said, strict=True)):
        settle(stage.store, remark.id, FindingPart(" ".join(text.split()[:2]), finding), f"new{n}", stage.now)


def own_forms(stage: Stage) -> OwnNames:
    return OwnNames(stage.store, Farm.of(stage.store, settings.places(stage.store.path)))


def test_what_the_keeper_calls_a_finding_becomes_a_form_and_is_read_from_then_on(typist, capsys) -> None:
    typist.type("left hind crack")
    feet = ("left hind", "right hind", "left fore", "right fore")
    typed_and_settled(typist, [(f"{foot} gone spongy", "hollow wall") for foot in feet])
    (lesson,) = own_forms(typist).learn().lessons
    form = lesson.proposal
    assert (form.word, form.slot, form.value) == ("gone spongy", "finding", "hollow wall")
    assert (lesson.before, lesson.after) == (Tally(2, 0, 0, 0), Tally(2, 2, 2, 0))
    path = typist.store.path
    assert run(["--store", str(path), "learn", "--write"]) == ExitStatus.OK
    shown = capsys.readouterr()
    assert "“gone spongy” as finding hollow wall, from 2 remarks: on the others 0 of 2 right" in shown.out
    file = path.parent / "grammars" / "learnt gone spongy.jsgf"
    assert str(file) in shown.err
    assert "(gone spongy) {finding=hollow wall}" in file.read_text(encoding="utf-8")
    interpreter = Farm.of(typist.store, settings.places(path)).interpreter
    right = (FindingPart("left fore", "hollow wall"),)
    assert interpreter.typed("left fore gone spongy").parts == right
    assert interpreter.heard("left fore gone spongy").parts == right


@pytest.mark.parametrize(
    "said",
    [
        [("left hind gone spongy", "hollow wall")],
        [("left hind gone spongy", "hollow wall"), ("left fore gone spongy", "scald")],
        [("left hind spongy", "hollow wall"), ("left fore puffed", "hollow wall")],
    ],
    ids=["once", "now this, now that", "each time otherwise"],
)
def test_what_does_not_come_again_in_the_same_sense_becomes_no_form(typist, said) -> None:
    typed_and_settled(typist, said)
    assert own_forms(typist).learn().lessons == ()


# ---------------------------------------------------------------------------------------------- what may have been said


@pytest.mark.parametrize(
    ("choices", "animal", "name", "sentences"),
    [
        (["next is sorrel", "next is teasel done"], "a0", "bryony", ("next is bryony", "next is bryony done")),
        (["green dot", "bryony"], "a0", "bryony", ("bryony",)),
        (["four one seven"], "a0", None, ()),
        (["sorrel"], "unknown", None, ()),
    ],
)
def test_the_right_name_is_put_where_a_name_was_heard(choices, animal, name, sentences) -> None:
    remark = Remark("r1", "s1", START, verdict=Verdict(Decided.ASK, "", tuple(choices)))
    found = examples([NamedRemark(remark, animal)], {one.id: one for one in HERD})
    assert [(one.name, one.sentences) for one in found] == ([(name, sentences)] if name else [])


@pytest.mark.parametrize(
    ("right", "heard", "confused"),
    [
        ((CRACK,), (CRACK,), {}),
        ((CRACK,), (FindingPart("left hind", "scald"),), {("crack", "scald"): 1}),
        ((CRACK,), (), {("crack, left hind", ""): 1}),
        ((MeasurePart("condition", 2.5),), (MeasurePart("condition", 3),), {("2.5", "3"): 1}),
    ],
)
def test_what_is_taken_for_what(right, heard, confused) -> None:
    assert confusions([(right, heard)]) == confused


# ---------------------------------------------------------------------------------------------------------- the trial

RIGHT, ASKED, WRONG, SILENT = (
    Outcome(True, True, "tansy"),
    Outcome(True, False, "tansy"),
    Outcome(False, False, "dot"),
    Outcome(False, True, "dot"),
)
ONE = Proposal("tansy", ("T", "IY"), ("r0",), ("r1", "r2"))
OTHER = Proposal("sorrel", ("S", "IY"), ("r3",), ("r4",))


@pytest.mark.parametrize(
    ("before", "after", "is_good"),
    [
        ([WRONG, WRONG], [RIGHT, WRONG], True),
        ([ASKED, ASKED], [RIGHT, ASKED], True),
        ([WRONG, WRONG], [WRONG, WRONG], False),
        ([RIGHT, WRONG], [WRONG, RIGHT], False),
        ([WRONG, WRONG], [RIGHT, SILENT], False),
        ([RIGHT, WRONG], [ASKED, RIGHT], True),
    ],
)
def test_only_what_is_better_on_the_other_half_is_good(before, after, is_good) -> None:
    known = dict(zip(ONE.held_back, before, strict=True))
    (lesson,) = lessons([ONE], known, lambda tried: dict(zip(ONE.held_back, after, strict=True)))
    assert lesson.is_good == is_good
    assert (lesson.before, lesson.after) == (Tally.of(before), Tally.of(after))


def test_what_harms_another_remark_is_left_out_and_the_rest_tried_again() -> None:
    before = {"r1": WRONG, "r2": WRONG, "r4": WRONG, "r9": RIGHT}
    trials: list[list[str]] = []

    def hear_with(tried: Sequence[Proposal]) -> dict[str, Outcome]:
        words = [one.word for one in tried]
        trials.append(words)
        harm = Outcome(False, False, "next is sorrel") if "sorrel" in words else RIGHT
        return {"r1": RIGHT, "r2": RIGHT, "r4": RIGHT if "sorrel" in words else WRONG, "r9": harm}

    first, second = lessons([ONE, OTHER], before, hear_with)
    assert trials == [["tansy", "sorrel"], ["tansy"]]
    assert (first.is_good, second.is_good, second.harmed) == (True, False, ("r9",))


class Spelt:
    """A spelling listener with a script: what it hears, and that only this fits."""

    def __init__(self, heard: tuple[str, ...]) -> None:
        self.heard = heard

    def said(self, sound, sentences, word):
        return [self.heard]

    def misfits(self, sound, sentences, word, ways):
        return [0.0 if way == self.heard else 9.0 for way in ways]


@pytest.mark.parametrize(
    ("n", "outcome", "heard", "n_proposed"),
    [
        (4, WRONG, ("T", "IY"), 1),
        (3, WRONG, ("T", "IY"), 0),
        (4, RIGHT, ("T", "IY"), 0),
        (4, WRONG, ("T", "AE", "N", "Z", "IY"), 0),
    ],
)
def test_a_proposal_needs_remarks_that_are_not_heard_and_sound_otherwise(n, outcome, heard, n_proposed) -> None:
    said = [Example(f"r{k}", "a1", "tansy", ("tansy",)) for k in range(n)]
    ways = {"tansy": [("T", "AE", "N", "Z", "IY")]}
    silence = Sound([], 16000)
    found = proposals(said, {one.remark: outcome for one in said}, Spelt(heard), lambda key: silence, ways.get)
    assert len(found) == n_proposed
    assert all(len(one.learnt) == len(one.held_back) == 2 for one in found)

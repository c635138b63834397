"""Questions about mating, medicines, families and feet, typed into a session and answered from the records."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from session_stage import Stage as Flow
from session_stage import it

from assistant.husbandry import answer
from assistant.husbandry.answer import Told
from assistant.husbandry.feet import SMALL, tally
from assistant.husbandry.gestation import expected
from assistant.husbandry.medicine import Withheld
from assistant.husbandry.practice import Medicine, Practice, Recheck
from assistant.husbandry.readiness import Readiness
from assistant.live.farm import Farm
from assistant.register.register import Register
from assistant.store.outlook import Noted
from assistant.store.store import Store
from assistant.values import Animal, MeasurePart, QuestionPart, SessionInfo, Sex, Species
from assistant.values.book import Given, Mating, Settled, Settlement

F, M = Sex.FEMALE, Sex.MALE
START = datetime(2026, 5, 26, 9, 0, tzinfo=UTC)
ANIMALS = (
    Animal("b1", number="388", name="Bramble", sex=M),
    Animal("a1", number="417", name="Tansy", sex=F, dam="a4"),
    Animal("a2", number="411", name="Sorrel", sex=F, sire="b1", dam="a1"),
    Animal("a3", number="423", name="Yarrow", sex=F, species=Species.SHEEP, sire="b1"),
    Animal("a4", number="429", name="Campion", sex=F, due=date(2026, 6, 20)),
)
PRACTICE = Practice(
    rules=(Recheck(("scald",), 7),),
    medicines={"hedge drench": Medicine("hedge drench", 28, 84)},
)
FARM = Farm(Register(ANIMALS), planned=("a1", "a2"), practice=PRACTICE)


class Session:
    """A store with one earlier session, and a session that questions are typed into."""

    def __init__(self, folder: Path) -> None:
        self.store = Store.open(folder / "herd.db")
        self.store.save_animals(ANIMALS, START)
        self.now = START - timedelta(days=14)
        self.begin("s1")
        self.say("tansy", "left hind scald", "treated with hedge drench", "condition two", "sorrel", "left fore crack")
        self.now = START
        self.store.save_record(Mating("m1", ("b1",), ("a1", "a2"), date(2026, 1, 10), date(2026, 2, 21)))

    def begin(self, key: str) -> None:
        self.handling = FARM.handling(self.store, key, None)
        self.handling.begin(SessionInfo(key, self.now))

    def say(self, *lines: str) -> str:
        for line in lines:
            self.now += timedelta(seconds=20)
            self.replies = self.handling.type(line, self.now).replies
        return " ".join(reply.text for reply in self.replies)


@pytest.fixture
def session(tmp_path: Path):
    made = Session(tmp_path)
    made.begin("s2")
    yield made
    made.store.close()


ASKED = [
    (
        "who may not go to the billy and why",
        ["Tansy, has been with the male; Sorrel, has been with the male; Campion, in kid or in lamb"],
    ),
    ("who can't go to the male", ["Tansy", "Campion, in kid"]),
    ("when is tansy due", ["Tansy is due between the ninth of June and the twenty-first of July."]),
    ("when does campion kid", ["Campion is due on the twentieth, give or take five days."]),
    ("when is yarrow due", ["Neither a mating nor a day of birth is on record for Yarrow."]),
    ("is campion in kid", ["Campion is due on the twentieth, give or take five days."]),
    ("who is in kid", ["Three may give birth: Tansy, Sorrel and Campion."]),
    ("who needs trimming", ["Tansy re-check, Bramble trim"]),
    (
        "what is the withdrawal of hedge drench",
        ["Hedge drench, by the label: meat 28 days, milk 84 hours."],
    ),
    ("what's the withdrawal period", ["Of which medicine? Name one of your list."]),
    ("which feet were worst this year", ["The left fore: found on 1 of 1 looked at, mostly crack."]),
    ("until when is tansy milk withheld", ["Tansy: withhold meat until the tenth of June."]),
]


@pytest.mark.parametrize(("asked", "said"), ASKED)
def test_a_question_is_answered_in_one_sentence(session: Session, asked: str, said: list[str]) -> None:
    told = session.say(asked)
    assert all(part in told for part in said), told
    assert session.replies[-1].text.count(". ") == 0


ADVICE = [
    "what may i give her",
    "what should we give tansy for foot rot",
    "which antibiotic can i use for scald",
    "what dose of hedge drench for tansy",
    "how much hedge drench should i give her",
    "what is the dose",
]


@pytest.mark.parametrize("asked", ADVICE)
def test_what_to_give_and_how_much_is_for_vet_and_label(session: Session, asked: str) -> None:
    """No medicine, no dose, whoever asks in whatever way; and nothing is recorded."""
    session.say("yarrow")
    assert session.say(asked) == "I keep records. What to give, and how much, is for your vet or the label."
    assert session.store.entries(session="s2") == ()
    assert session.handling.state.animal == "a3"


def test_a_question_that_is_not_understood_catches_nobody(session: Session) -> None:
    session.say("yarrow")
    for asked in ("is nettle related to tansy", "when should i shear sorrel", "why is tansy thin?"):
        assert "Not understood" in session.say(asked)
        assert session.handling.state.animal == "a3"
    assert "Sorrel" in session.say("sorrel?")


def test_questions_about_her_are_about_the_one_on_the_table(session: Session) -> None:
    session.say("sorrel")
    assert session.say("is she related to tansy") == "Tansy is the dam of Sorrel."
    assert session.say("is she related to bramble") == (
        "Bramble is the sire of Sorrel; their young would be inbred 25 per cent at least."
    )
    assert session.say("how is she related to yarrow") == "Yarrow is the half sibling of Sorrel."
    assert session.say("is she related to campion") == "Campion is the granddam of Sorrel."
    assert session.say("until when is her milk withheld") == "Nothing is withheld for Sorrel by the record."
    assert "between" in session.say("when is she due")


ANY_TWO = [
    ("is tansy related to campion", "Campion is the dam of Tansy."),
    (
        "is bramble related to sorrel?",
        "Sorrel is the daughter of Bramble; their young would be inbred 25 per cent at least.",
    ),
    ("are sorrel and yarrow related", "Yarrow is the half sibling of Sorrel."),
    ("how is 411 related to number 429", "Campion is the granddam of Sorrel."),
    ("is campion related to yarrow", "Campion and Yarrow are not related as far as parents are written down."),
    ("is campion related to campion", "That is one and the same animal."),
]


@pytest.mark.parametrize(("asked", "said"), ANY_TWO)
def test_any_two_that_are_named_are_compared_and_the_table_stays_as_it_is(
    session: Session, asked: str, said: str
) -> None:
    session.say("yarrow")
    assert session.say(asked) == said
    assert session.handling.state.animal == "a3"


def test_a_contradiction_in_the_register_is_told_and_ends_nothing(tmp_path: Path) -> None:
    loop = (Animal("a1", name="Tansy", dam="a2"), Animal("a2", name="Sorrel", dam="a1"))
    with Store.open(tmp_path / "herd.db") as store:
        store.save_animals(loop, START)
        handling = Farm(Register(loop), practice=PRACTICE).handling(store, "s1", None)
        handling.begin(SessionInfo("s1", START))
        (reply,) = handling.type("is tansy related to sorrel", START).replies
        assert reply.text.startswith("By the parents written down, Tansy or one of its ancestors descends from itself.")
        assert "Tansy" in handling.type("tansy", START).replies[0].text


def test_without_an_animal_the_question_is_asked_back(session: Session) -> None:
    assert session.say("until when is her milk withheld") == "Which animal?"
    assert "Tansy: withhold meat" in session.say("tansy")
    assert "Nobody" in session.say("is she related to campion") or session.handling.state.animal == "a1"


def test_who_is_due_counts_rules_and_leaves_out_what_is_settled(session: Session) -> None:
    assert session.say("who is due") == "Tansy re-check, Bramble trim, Tansy trim and two more."
    assert session.replies[-1].lines[:2] == ("2026-05-19: Tansy, re-check", "2026-05-26: Bramble, trim")
    entry = next(e.id for e in session.store.entries(animal="a1") if e.part.flat().get("finding") == "scald")
    session.store.save_record(Settled("w", entry, Settlement.PUT_OFF, START.date(), date(2026, 6, 1)))
    assert session.say("who is due").startswith("Bramble trim"), "nobody is left out who was never trimmed on record"


def test_what_must_be_known_is_said_when_she_is_caught(session: Session) -> None:
    told = session.say("tansy")
    assert "Heavily pregnant: do not tip." in told
    assert "Withhold meat until the tenth." in told
    assert "Re-check due, left hind scald." in told
    assert session.say("yarrow") == "Yarrow."
    session.store.save_record(Given("g1", "a3", "pond water", START))
    assert "Pond water: withdrawal period not written down: ask your vet" in session.say("tansy", "yarrow")


def test_a_young_in_the_register_says_that_she_gave_birth(session: Session) -> None:
    assert "between" in session.say("when is tansy due")
    session.store.save_animals([Animal("a9", name="Clover", dam="417", born=date(2026, 5, 20))])
    session.begin("s3")
    assert session.say("when is tansy due") == "Neither a mating nor a day of birth is on record for Tansy."
    assert "Heavily pregnant" not in session.say("tansy")


def test_a_birth_that_is_recorded_ends_the_pregnancy_at_once(session: Session) -> None:
    assert "Heavily pregnant" in session.say("campion")
    session.say("kidded twins")
    assert session.say("when is she due") == "Neither a mating nor a day of birth is on record for Campion."
    assert "due on the twentieth" in session.say("scratch that", "when is she due"), "taken back, so still in kid"
    session.say("kidded twins", "tansy")
    assert "Heavily pregnant" not in session.say("campion")
    session.now += timedelta(days=10)
    session.begin("s3")
    assert "Heavily pregnant" not in session.say("campion")


BIRTHS = [
    ("kidded twins", 2),
    ("she lambed triplets", 3),
    ("she's kidded", 0),
    ("has lambed a single", 1),
    ("gave birth to 2 kids", 2),
    ("had two lambs", 2),
    ("she had a lamb", 1),
    ("kidded four", 4),
]


@pytest.mark.parametrize(("said", "young"), BIRTHS)
def test_ways_to_say_that_she_gave_birth(said: str, young: int) -> None:
    assert FARM.interpreter.typed(said).parts == (MeasurePart("young born", young),)


def test_how_many_is_asked_and_a_male_gives_no_birth(session: Session) -> None:
    assert session.say("tansy", "she's kidded") == "Young born are counted from one to eight. Say it again?"
    assert session.say("three") == "Three."
    assert session.say("bramble", "kidded twins") == "Bramble is male in the register. Say it again?"
    parts = [(entry.animal, entry.part) for entry in session.store.entries(session="s2")]
    assert parts == [("a1", MeasurePart("young born", 3))]


def test_medicines_of_the_list_are_words_that_are_heard(session: Session) -> None:
    (treated,) = session.store.treatments()
    assert (treated.animal, treated.medicine) == ("a1", "hedge drench")
    assert "hedge" in FARM.interpreter.grammar.graph("remark").words


def test_a_typed_medicine_that_is_on_no_list_is_on_record_told_and_to_be_looked_at(session: Session) -> None:
    """What it means for milk and meat is not known, and that is said as long as it may matter."""
    told = session.say("sorrel", "treated with zaprinol")
    assert told.startswith("Zaprinol is not on the list of medicines. It is on record as you typed it")
    assert [one.medicine for one in session.store.treatments() if one.animal == "a2"] == ["zaprinol"]
    assert len(session.handling.state.review) == 1
    assert "zaprinol" in session.say("until when is the milk of Sorrel withheld").casefold()
    assert session.handling.state.animal == "a2"


# ----------------------------------------------------------------------------------------- the session's own part


def test_the_session_hands_the_question_to_the_herd() -> None:
    stage = Flow()
    stage.herd.answers = {"related": Told("They are.", ("a line",)), "worst feet": Told("The left hind.")}
    stage.say(it("Tansy"))
    assert stage.say(QuestionPart("related", animal="Campion")) == "They are."
    assert stage.replies[-1].lines == ("a line",)
    assert stage.say(QuestionPart("worst feet")) == "The left hind."
    assert stage.herd.asked == [("related", "a1", "a5"), ("worst feet", "", "")]
    assert stage.say(QuestionPart("related", animal="Tansy")) == "Which animal?"
    assert stage.say(it("Campion")) == "They are."
    assert stage.say(QuestionPart("related", animal="Sorrel", other="Tansy")) == "They are."
    assert stage.herd.asked[-1] == ("related", "a2", "a1")
    assert stage.say(QuestionPart("related", animal="Sorrel", other="Burdock")) == (
        "Several animals may be Burdock. Ask by number."
    )
    assert stage.say(QuestionPart("related", animal="Nettle", other="Sorrel")) == "I know no animal Nettle."
    assert "cannot answer" in stage.say(QuestionPart("birth"))


# ------------------------------------------------------------------------------------------------------- sentences

TODAY = date(2026, 5, 26)


def name(key: str) -> str:
    return key.capitalize()


def test_sentences_of_who_may_not_go() -> None:
    reasons = ("condition 2 on 2026-05-01, below 2.5", "no trim on record")
    found = [Readiness(key, reasons) for key in ("tansy", "sorrel", "yarrow", "campion")] + [Readiness("teasel", ())]
    got = answer.shut_out(found, name)
    assert got.sentence == "Four may not: Tansy, condition 2, below 2.5; Sorrel, condition 2, below 2.5; and others."
    assert got.lines[0] == "Tansy: condition 2 on 2026-05-01, below 2.5; no trim on record"
    assert answer.shut_out(found[:1], name).sentence == "Tansy, condition 2, below 2.5."
    assert answer.shut_out(found[4:], name).sentence == "Nothing is on record against any of them."
    assert answer.shut_out([], name).sentence == "There are no females in the herd."
    held = Readiness(found[0].animal, ("still in withdrawal, free from 2026-11-30",), ())
    assert answer.shut_out([held], name).sentence == "Tansy, still in withdrawal."


def test_sentences_of_births_medicines_families_and_feet() -> None:
    assert answer.birth(expected(date(2026, 6, 20), Species.GOAT), "Tansy", TODAY).sentence == (
        "Tansy is due on the twentieth, give or take five days."
    )
    both = Withheld("a", date(2026, 6, 20), date(2026, 5, 27), None, ("pond water",))
    assert answer.withheld(both, "Tansy").sentence == (
        "Tansy: withhold milk until the twenty-seventh of May and meat until the twentieth of June; no period is "
        "written down for pond water: ask your vet, and use neither meanwhile."
    )
    assert answer.withheld(Withheld("a", unknown=("x",)), "Tansy").sentence.startswith("Tansy: no period")
    assert "not related as far as" in answer.related("", 0, "Tansy", "Sorrel", is_pair=True).sentence
    assert answer.related("", 1 / 32, "Tansy", "Burdock", is_pair=True).sentence == (
        "Tansy and Burdock have ancestors in common; their young would be inbred 3.125 per cent at least."
    )
    assert answer.worst_feet(tally([]), TODAY).sentence == "No foot is on record since the twenty-sixth of May."
    sound = tally([Noted("2026-05-26", "finding", "sound", "left fore", ["a1"])])
    assert answer.worst_feet(sound, TODAY).sentence == "Nothing was found on any foot since the twenty-sixth of May."
    assert answer.worst_feet(sound, TODAY).lines[-1] == SMALL
    assert answer.births({}, name).sentence == "Neither a mating nor a day of birth is on record for any of them."
    assert answer.withdrawal(Medicine("pond water")).sentence == (
        "Pond water: withdrawal period not written down: ask your vet, and use neither meat nor milk meanwhile."
    )
    assert answer.withdrawal(Medicine("jab", 28, from_whom="vet")).sentence == (
        "Jab, by your vet: meat 28 days, milk none written down. Ask your vet, and use neither meanwhile."
    )

"""Typed text that is no sentence of the grammar: slips, doubt, other talk. Nothing is ever guessed."""

from __future__ import annotations

import random

import pytest
from herd import grammar
from meaning_table import BETWEEN, animal, asks, did, later, mark, measure, opened, order, saw, tag, trait

from assistant.meaning.typed import MOST_WORDS, understand
from assistant.values import AnimalPart, Meaning, PlacePart, Scope

WHOLE = "whole animal"
LH = Scope(("left hind",))


@pytest.mark.parametrize(
    ("text", "mended", "expected"),
    [
        ("left hind overgrwon", "left hind overgrown", saw("LH", "overgrown")),
        ("all four trimed", "all four trimmed", did("all", "trimmed")),
        ("left hind absess, draned", "left hind abscess drained", saw("LH", "abscess") + did("LH", "drained")),
        ("right fore swolen", "right fore swollen", saw("RF", "swelling")),
        (
            "left hnd holow wall trimed",
            "left hind hollow wall trimmed",
            saw("LH", "hollow wall") + did("LH", "trimmed"),
        ),
        ("lft fore crak", "left fore crack", saw("LF", "crack")),
        ("blue mrk", "blue mark", [{"mark": "blue"}]),
    ],
)
def test_a_clear_slip_is_mended_and_told(text, mended, expected):
    found, _ = understand(text, grammar(), Scope())
    assert ([part.flat() for part in found.parts], found.mended) == (expected, mended)


@pytest.mark.parametrize("text", ["lft hin fo crack", "he said foo bar"])
def test_a_short_word_that_may_be_several_is_left_as_it_is(text):
    found, _ = understand(text, grammar(), Scope())
    assert found.mended is None
    assert found.unplaced


@pytest.mark.parametrize(
    "text",
    [
        "weight 500 kg",
        "weight five hundred kilos",
        "temperature 140",
        "condition 35",
        "condition three point seven five",
    ],
)
def test_a_number_that_goes_on_is_no_smaller_number_and_no_animal(text):
    found, _ = understand(text, grammar(), Scope())
    assert found.parts == ()
    assert found.unplaced


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("check her in 1 day", 1),
        ("check her in 35 days", 35),
        ("check her in 100 days", 100),
        ("check her in five hundred days", 500),
        ("check her in 799 days", 799),
        ("check her in 26 weeks", 182),
        ("check her in 12 months", 360),
    ],
)
def test_any_time_that_is_likely_is_counted(text, days):
    found, _ = understand(text, grammar(), Scope())
    assert [part.flat() for part in found.parts] == later("re-check", days)
    assert found.unplaced == ""


@pytest.mark.parametrize("text", ["check her in 1000 days", "check her in 99999 days", "check her in 0 days"])
def test_a_time_that_cannot_be_meant_sets_no_day_and_is_no_animal(text):
    found, _ = understand(text, grammar(), Scope())
    assert [part.flat() for part in found.parts] in ([], later("re-check", None))
    assert "days" in found.unplaced


@pytest.mark.parametrize("text", ["Tansey", "next is Sorel", "Betany"])
def test_no_slip_becomes_another_animal(text):
    found, _ = understand(text, grammar(), Scope())
    assert found.mended is None
    assert all(part.animal == text.removeprefix("tag ") for part in found.parts if isinstance(part, AnimalPart))
    assert found.unplaced or found.parts


@pytest.mark.parametrize(
    "text",
    [
        "no scald",
        "left hind isn't overgrown",
        "both fores need trimming",
        "should be trimmed",
        "did she have scald on the left hind?",
        "was the left hind trimmed",
        "the weather is nice",
        "hollow?",
    ],
)
def test_what_is_denied_asked_or_other_talk_records_nothing(text):
    found, _ = understand(text, grammar(), LH)
    assert found.unplaced
    assert not [flat for flat in (part.flat() for part in found.parts) if {"finding", "action"} & set(flat)]


@pytest.mark.parametrize(
    ("text", "about"),
    [
        ("until when is the milk of Tansy withheld", "Tansy"),
        ("until when is Tansy's milk withheld?", "Tansy"),
        ("how long is the meat of 417 withheld", "417"),
        ("is the milk and meat of Tansy withheld", "Tansy"),
        ("when can we use Tansy's milk again", "Tansy"),
        ("when can I use the milk of Tansy", "Tansy"),
        ("until when is the milk withheld", None),
    ],
)
def test_the_milk_of_an_animal_is_asked_for_by_its_name(text, about):
    found, _ = understand(text, grammar(), Scope())
    assert found.unplaced == ""
    assert [(part.question, part.animal) for part in found.parts] == [("withheld", about)]


def test_a_question_about_nobody_on_the_list_catches_nobody():
    found, _ = understand("until when is the milk of Zorro or Tansy withheld", grammar(), Scope())
    assert found.parts == ()
    assert "zorro" in found.unplaced


@pytest.mark.parametrize(
    ("text", "parts", "unplaced"),
    [
        ("treated with Zaprinol", did(WHOLE, "treated", medicine="zaprinol"), "zaprinol"),
        ("treated with some zaprinol", did(WHOLE, "treated", medicine="zaprinol"), "zaprinol"),
        ("left hind treated with zaprinol", did("LH", "treated", medicine="zaprinol"), "zaprinol"),
        (
            "left hind crack, treated with blue wonder spray, right hind fine",
            saw("LH", "crack") + did("LH", "treated", medicine="blue wonder spray") + saw("RH", "sound"),
            "blue wonder spray",
        ),
        (
            "treated with zaprinol, trimmed",
            did(WHOLE, "treated", medicine="zaprinol") + did(None, "trimmed"),
            "zaprinol",
        ),
        ("treated with zaprinol 417 ml", did(WHOLE, "treated", medicine="zaprinol"), "zaprinol four one seven ml"),
        ("treated with Alamycin 417 ml", did(WHOLE, "treated", medicine="Alamycin"), "four one seven ml"),
        ("not treated with zaprinol", [], "not treated zaprinol"),
        ("treated with nothing", did(None, "treated"), "nothing"),
        ("gave her zaprinol", [], "gave zaprinol"),
    ],
)
def test_a_medicine_on_no_list_is_kept_as_it_was_typed_and_a_dose_is_no_animal(text, parts, unplaced):
    found, _ = understand(text, grammar(), Scope())
    assert ([part.flat() for part in found.parts], found.unplaced) == (parts, unplaced)


@pytest.mark.parametrize("text", ["", "   ", "?!", "½", "...", "'", "left " * 200, "ß İ ſ", "💚 left hind", "tag 𞋰٤"])
def test_odd_text_puts_nothing_odd_on_record(text):
    found, _ = understand(text, grammar(), Scope())
    assert all(part == PlacePart("left hind") or isinstance(part, AnimalPart) for part in found.parts)


@pytest.mark.parametrize("number", ["999", "418", "4177", "41" * 20])
def test_a_number_that_no_animal_has_is_mentioned_whole(number):
    found, scope = understand(f"tag {number}", grammar(), LH)
    assert (found.parts, scope) == ((AnimalPart(number),), Scope())


def test_strange_words_are_kept():
    found, _ = understand("left hind hollow wall, xyzzy, trimmed", grammar(), Scope())
    assert [part.flat() for part in found.parts] == saw("LH", "hollow wall") + did("LH", "trimmed")
    assert found.unplaced == "xyzzy"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "left hind crack, who is left, weight fifty kilos, right hind trimmed",
            saw("LH", "crack") + asks("who is left") + measure("weight", 50) + did("RH", "trimmed"),
        ),
        (
            "okay, where are we, scratch that, left fore scald",
            asks("where am i") + order("scratch") + saw("LF", "scald"),
        ),
        (
            "sound, until when is her milk withheld, vet to look, both fores trimmed",
            saw("LH", "sound") + asks("withheld") + later("vet") + did("fores", "trimmed"),
        ),
    ],
)
def test_a_question_is_over_when_something_else_is_said(text, expected):
    found, _ = understand(text, grammar(), LH)
    assert ([part.flat() for part in found.parts], found.unplaced) == (expected, "")


def test_a_question_about_several_places_asks_about_each():
    found, _ = understand("what did she have on both fores and the left hind", grammar(), Scope())
    assert [part.flat() for part in found.parts] == [
        {"question": "history", "place": place} for place in ("left fore", "right fore", "left hind")
    ]


def test_phrases_in_any_row_have_a_meaning():
    rng = random.Random(3)
    for _ in range(150):
        phrases = [" ".join(grammar().sample(rng, rng.choice(["phrase", "remark"]))[0]) for _ in range(4)]
        found, _ = understand(", ".join(phrases), grammar(), LH)
        assert found.parts or found.unplaced


def test_a_pasted_page_is_no_remark():
    page = "trimmed " * (MOST_WORDS + 1)
    assert understand(page, grammar(), LH) == (Meaning((), page.strip()), LH)


# --------------------------------------------------------------------------------------------- as a keeper would say it


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # small words and hesitations
        ("well I've had a look and the left hind's fine", saw("LH", "sound")),
        ("erm the off fore has got a flap so I've cut it back", saw("RF", "loose horn") + did("RF", "pared back")),
        ("oh left hind crack I suppose", saw("LH", "crack")),
        ("the hinds were long but we've clipped them up", saw("hinds", "overgrown") + did("hinds", "trimmed")),
        ("left fore hollow yeah cut out", saw("LF", "hollow wall") + did("LF", "cut out")),
        ("hold on, left fore scald", saw("LF", "scald")),
        # joined words
        ("near hind's long", saw("LH", "overgrown")),
        ("Tansy's left fore has a crack", animal("Tansy") + saw("LF", "crack")),
        ("his temp's thirty nine point two", measure("temperature", 39.2)),
        ("the outer claw's long on his near fore", saw("LF", "overgrown", "outer claw")),
        # said twice, and begun twice
        ("left hind left hind crack", saw("LH", "crack")),
        ("all four um all four sound", saw("all", "sound")),
        ("right hind swo swollen", saw("RH", "swelling")),
        # taken back at once
        ("right no left fore scald", saw("LF", "scald")),
        ("right hind sorry right fore abscess", saw("RF", "abscess")),
        ("left hind abscess no I mean crack", saw("LH", "crack")),
        ("condition two no three", measure("condition", 3)),
        # everyday words
        ("both her hinds are grand", saw("hinds", "sound")),
        ("all her feet are in good nick", saw("all", "sound")),
        ("fronts no bother", saw("fores", "sound")),
        ("off fore's a tad long so I took it down", saw("RF", "overgrown", grade="slight") + did("RF", "pared back")),
        ("her backs are mucky", saw("hinds", "packed dirt")),
        ("limping a wee bit on the left fore", saw("LF", "lame", grade="slight")),
        ("a thorn stuck in the left hind, gave it some spray", saw("LH", "foreign body") + did("LH", "sprayed")),
        ("put a squirt of blue spray on the left hind", did("LH", "sprayed")),
        # what belongs where
        ("I trimmed her left hind and sprayed it", did("LH", "trimmed") + did("LH", "sprayed")),
        ("I've trimmed the left hind and the right hind is long", did("LH", "trimmed") + saw("RH", "overgrown")),
        (
            "crack in the left hind cut out and the right hind is damp between the claws",
            saw("LH", "crack") + did("LH", "cut out") + saw("RH", "damp skin", BETWEEN),
        ),
        ("a flap on the left fore and a crack on the right fore", saw("LF", "loose horn") + saw("RF", "crack")),
        # measures and what is to be done later
        ("I'd put him at a condition of about three", measure("condition", 3)),
        ("he's about a three and a half condition wise", measure("condition", 3.5)),
        ("I'd say lameness about a two", measure("lameness", 2)),
        ("we'd like to see him again in three weeks", later("re-check", 21)),
        ("remind me to check the left hind in a week", later("re-check", 7) + opened("LH")),
        ("ring the vet to see her tomorrow", later("vet", 1)),
        ("trim her once the horn's soft", later("re-trim when soft")),
        ("keep this one for breeding", trait("keep as breeder")),
        ("don't keep her daughters from her", trait("keep no daughters")),
        ("put the green mark on him", mark("green")),
        ("I've given her a new tag", tag("new")),
        ("leave him out for today", order("skip")),
        ("so who is left", asks("who is left")),
        ("how many have we got left", asks("who is left")),
        ("right next one", order("next")),
        ("this one's Tansy", animal("Tansy")),
        ("moving on to Tansy left hind crack", animal("Tansy") + saw("LH", "crack")),
        ("that's that one done", order("done")),
        ("that's her finished", order("done")),
        ("the sole's come loose on his off hind", saw("RH", "loose horn")),
        ("his toes have grown over on both fores", saw("fores", "overgrown")),
        ("near fore's split at the heel", saw("LF", "crack", "heel")),
        ("left teat's split", saw("left teat", "split teat")),
        ("he's sore in between his claws on the left fore", saw("LF", "scald", BETWEEN)),
        ("I sprayed both fores and left the hinds", did("fores", "sprayed") + did("hinds", "left alone")),
        ("I had to trim all four", did("all", "trimmed")),
        ("I gave the right hind a quick trim and sprayed it", did("RH", "trimmed") + did("RH", "sprayed")),
        ("gave his feet a good scrape out", did("all", "cleaned out")),
        ("both hinds and the right fore are long", saw("hinds", "overgrown") + saw("RF", "overgrown")),
        ("lefts are fine back two are long", saw("near", "sound") + saw("hinds", "overgrown")),
        ("okay so right fore cracked", saw("RF", "crack")),
        ("bring him back in three weeks", later("re-check", 21)),
        ("get the vet over to him tomorrow", later("vet", 1)),
        ("I'd give him a two for condition", measure("condition", 2)),
    ],
)
def test_talk_is_understood_whole(text, expected):
    found, _ = understand(text, grammar(), Scope())
    assert ([part.flat() for part in found.parts], found.unplaced) == (expected, "")


@pytest.mark.parametrize(
    "text",
    [
        "so is she lame",
        "well did he have scald on the left hind",
        "but has the left hind got a crack",
        "the left hind's not lame",
        "no crack or scald",
        "she's neither lame nor swollen, not lame or swollen",
        "I don't think there's a crack",
        "there isn't a crack in the left fore",
        "I'd trim that foot",
        "we'll trim him tomorrow",
        "let's trim her",
        "left hind is to be trimmed",
        "going to spray it",
        "hardly any scald in the left hind",
        "that's grand",
        "lovely weather today",
        "there's a perfect view up here",
        "we've been up the hill all day",
        "I was talking to the vet about hay",
        "all her feet are fine apart from the left hind",
        "keep her daughters",
        "both fores needed trimming",
        "could you check the left hind",
    ],
)
def test_talk_that_says_nothing_seen_or_done_records_nothing(text):
    found, _ = understand(text, grammar(), LH)
    told = [part.flat() for part in found.parts]
    assert not [flat for flat in told if {"finding", "action", "follow_up", "trait", "measure"} & set(flat)], told


@pytest.mark.parametrize(
    ("text", "unplaced"),
    [
        ("left hind crack like Tansy's", "tansy's"),
        ("Tansy's daughter's left hind is long", "tansy's daughter's"),
        ("left hind crack no xyzzy", "no xyzzy"),
        ("left hind hollow wall, no crack", "no crack"),
        ("the vet's drained the left hind", "vet's"),
    ],
)
def test_what_may_be_about_something_else_stays_unplaced(text, unplaced):
    found, _ = understand(text, grammar(), Scope())
    assert found.unplaced == unplaced
    assert not [part for part in found.parts if isinstance(part, AnimalPart)]


@pytest.mark.parametrize("text", ["scratch that, scratch that", "tag 411 411"])
def test_an_order_or_a_number_said_twice_counts_twice(text):
    found, _ = understand(text, grammar(), Scope())
    assert [part.flat() for part in found.parts] in (order("scratch") * 2, animal("411411"))


@pytest.mark.parametrize("text", ["he comes back from there after two weeks", "I'd call him a two and a half"])
def test_a_number_that_counts_something_is_no_animal(text):
    found, _ = understand(text, grammar(), Scope())
    assert found.parts == ()
    assert found.unplaced


def test_whom_the_rest_is_about_is_heard_after_to():
    found, _ = understand("over to Tansy left hind crack", grammar(), Scope())
    assert [part.flat() for part in found.parts] == animal("Tansy") + saw("LH", "crack")


def test_beside_a_number_oh_is_a_nought():
    found, _ = understand("tag oh four one, eh, left hind crack", grammar(), Scope())
    assert [part.flat() for part in found.parts] == animal("041") + saw("LH", "crack")


def test_a_grade_after_a_question_is_no_grade_of_what_was_done_before():
    found, _ = understand("left hind trimmed, when was she last treated, crack bad", grammar(), Scope())
    assert [part.flat() for part in found.parts] == did("LH", "trimmed") + asks(
        "last time", action="treated", finding="crack"
    )


@pytest.mark.parametrize("text", ["she weighs nine stone", "weight 45 lb", "weighs about 90 pounds", "weighed 7 lbs"])
def test_a_weight_in_another_unit_is_not_taken_for_kilos(text):
    found = understand(text, grammar(), Scope())[0]
    assert (found.parts, bool(found.unplaced)) == ((), True)


def test_a_stone_after_a_weight_is_still_a_stone():
    found = understand("weighs 45 kilos, stone in the left hind", grammar(), Scope())[0]
    assert [part.flat().get("finding") or part.flat().get("value") for part in found.parts] == [45, "foreign body"]

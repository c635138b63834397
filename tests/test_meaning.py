"""What remarks mean: the table of docs/vocabulary.md, every listed form, and laws that hold for all remarks."""

from __future__ import annotations

import random

import pytest
from farm_sentences import SENTENCES
from herd import grammar
from hypothesis import given, settings
from hypothesis import strategies as st
from meaning_table import BETWEEN, animal, asks, did, later, mark, measure, opened, order, saw, tag, trait
from vocabulary_forms import ACTIONS, FOOT_FINDINGS

from assistant.meaning.canonical import meaning_key
from assistant.meaning.meaning import meaning
from assistant.meaning.typed import understand, understand_words
from assistant.values import FindingPart, PlacePart, Scope, part_from

LH = Scope(("left hind",))
FORMS = FOOT_FINDINGS | {"foot rot": f"{FOOT_FINDINGS['foot rot']}|under-run"}
ORDERS = {
    "done": "done|she's done|all done|off you go|let her go",
    "skip": "skip|leave her out|not today",
    "scratch": "scratch|scratch that|undo|take that back",
    "repeat": "repeat|say that again|what was that",
    "pause": "pause|stop listening|hold on",
    "resume": "resume|carry on|start listening",
    "finish": "finish|that's the lot|end the session",
    "note": "note|remember",
    "yes": "yes|right|correct|that's it",
    "no": "no|wrong",
    "next": "next",
}
PLACES = {
    "left fore": "left fore|left front|near fore|near front|LF",
    "right fore": "right fore|right front|off fore|RF",
    "left hind": "left hind|left back|near hind|near back|LH",
    "right hind": "right hind|right back|off hind|off back|RH",
    "fores": "both fores|both front feet",
    "hinds": "both hinds|both back feet",
    "all": "all four|all four feet",
    "near": "near side",
    "off": "off side",
    "left udder": "left udder",
    "right udder": "right udder",
    "left teat": "left teat",
    "right teat": "right teat",
    "udder": "udder",
    "left horn": "left horn",
    "right horn": "right horn",
    "left eye": "left eye",
    "right eye": "right eye",
    "mouth": "mouth",
    "coat": "coat",
}
WHOLE = "whole animal"
PARTS = "between the claws|inner claw|outer claw|toe|heel|sole|wall|white line"
TABLE = [
    ("left hind hollow wall trimmed", saw("LH", "hollow wall") + did("LH", "trimmed")),
    ("between the claws clean", saw(None, "sound", BETWEEN)),
    ("left hind lump between the claws", saw("LH", "growth", BETWEEN)),
    ("left hind wet between the claws", saw("LH", "damp skin", BETWEEN)),
    ("left hind raw between the claws", saw("LH", "scald", BETWEEN)),
    ("left hind red between the claws", saw("LH", "scald", BETWEEN)),
    ("left hind between the claws raw", saw("LH", "scald", BETWEEN)),
    ("left hind between the claws a bit wet", saw("LH", "damp skin", BETWEEN, "slight")),
    (
        "too hard, leave it, do it when she's softened",
        saw(None, "hard horn") + did(None, "left alone") + later("re-trim when soft"),
    ),
    ("trim her when it has softened", later("re-trim when soft")),
    ("check when it has softened", later("re-trim when soft")),
    ("extra teat", saw(None, "extra teat")),
    ("double teat", saw(None, "split teat")),
    ("blind teat on the right", saw("right teat", "blind teat")),
    ("lump in the left udder", saw("left udder", "lump")),
    ("left udder hot", saw("left udder", "hot udder")),
    ("udder uneven", saw("udder", "uneven udder")),
    ("horn growing in on the left", saw("left horn", "scur or ingrown horn")),
    ("scur", saw(None, "scur or ingrown horn")),
    ("cough", saw(None, "cough")),
    ("dirty behind", saw(None, "scour")),
    ("she's got lice", saw(None, "lice")),
    ("left eye cut", saw("left eye", "wound")),
    ("wound", saw(None, "wound")),
    ("a bit thin", saw(None, "thin", grade="slight")),
    ("fat", saw(None, "fat")),
    ("right hind really bad scald", saw("RH", "scald", grade="severe")),
    ("right hind mild scald", saw("RH", "scald", grade="slight")),
    ("right hind a little long", saw("RH", "overgrown", grade="slight")),
    ("right hind badly overgrown", saw("RH", "overgrown", grade="severe")),
    ("right hind moderate scald", saw("RH", "scald", grade="moderate")),
    ("left hind treated with Alamycin", did("LH", "treated", medicine="Alamycin")),
    ("both hinds scald treated with Alamycin", saw("hinds", "scald") + did(WHOLE, "treated", medicine="Alamycin")),
    (
        "both hinds scald treated with terramycin spray",
        saw("hinds", "scald") + did("hinds", "treated", medicine="terramycin spray"),
    ),
    ("hollow wall left hind", saw("LH", "hollow wall")),
    ("scald between the claws left hind", saw("LH", "scald", BETWEEN)),
    ("hollow wall on the left hind, cut out", saw("LH", "hollow wall") + did("LH", "cut out")),
    ("trimmed both fores", did("fores", "trimmed")),
    ("trimmed left fore, sprayed right hind", did("LF", "trimmed") + did("RH", "sprayed")),
    ("left fore and right hind trimmed", did("LF", "trimmed") + did("RH", "trimmed")),
    ("left hind trimmed, done", did("LH", "trimmed") + order("done")),
    ("right hind done", did("RH", "trimmed")),
    ("between the claws clean, done", saw(None, "sound", BETWEEN) + order("done")),
    ("next is sorrel", order("next") + animal("Sorrel")),
    ("now sorrel", order("next") + animal("Sorrel")),
    ("old nell", animal("Old Nell")),
    ("nellie", animal("Nellie")),
    ("tag 417", animal("417")),
    ("four hundred and seventeen", animal("417")),
    ("seventeen", animal("17")),
    ("041", animal("041")),
    ("number oh four one", animal("041")),
    ("no, left fore", order("correct", place="left fore")),
    ("correction right hind", order("correct", place="right hind")),
    ("no I mean right hind", order("correct", place="right hind")),
    ("make that right hind", order("correct", place="right hind")),
    ("correction condition three", order("correct") + measure("condition", 3)),
    ("skip her she's heavy in kid", order("skip", reason="heavily pregnant")),
    ("scratch that, condition two and a half", order("scratch") + measure("condition", 2.5)),
    ("note she kicks with the left hind", order("note", note="she kicks with the left hind")),
    ("check her again in a fortnight", later("re-check", 14)),
    ("check her in 2 weeks", later("re-check", 14)),
    ("check her in ten days", later("re-check", 10)),
    ("check her in a month", later("re-check", 30)),
    ("check her tomorrow", later("re-check", 1)),
    ("move her tomorrow", later("move", 1)),
    ("vet to look", later("vet")),
    ("condition 3.5", measure("condition", 3.5)),
    ("BCS 2.5", measure("condition", 2.5)),
    ("condition three point five", measure("condition", 3.5)),
    ("lame score two", measure("lameness", 2)),
    ("weight forty two and a half kilos", measure("weight", 42.5)),
    ("temperature 39.5", measure("temperature", 39.5)),
    ("don't keep her daughters", trait("keep no daughters")),
    ("different billy this time", trait("use another sire")),
    ("watch her feed before kidding", trait("watch feed before birth")),
    ("do not breed", trait("do not breed")),
    ("keep as breeder", trait("keep as breeder")),
    ("blue mark", mark("blue")),
    ("tag missing", tag("missing")),
    ("who's left", asks("who is left")),
    ("until when is her milk withheld", asks("withheld")),
    ("until when is the milk of Tansy withheld", asks("withheld", animal="Tansy")),
    ("who is left", asks("who is left")),
    ("who is not done", asks("who is left")),
    ("how many to go", asks("who is left")),
    ("when was she last trimmed", asks("last time", action="trimmed")),
    ("when was Tansy last trimmed", asks("last time", animal="Tansy", action="trimmed")),
    ("what did she have last time", asks("last time")),
    ("what did she have on the left hind", asks("history", place="left hind")),
    ("how many hollow walls today", asks("count", finding="hollow wall")),
    ("who is due", asks("due")),
    ("what foot are we on", asks("where am i")),
]


def flats(text, scope=None):
    found, _ = understand(text, grammar(), scope or Scope())
    assert not found.unplaced, found
    return [part.flat() for part in found.parts]


def listed(table):
    return [(form, value) for value, forms in table.items() for form in forms.split("|")]


@pytest.mark.parametrize(("text", "expected"), TABLE + SENTENCES, ids=lambda value: value if type(value) is str else "")
def test_the_table(text, expected):
    assert flats(text) == expected


@pytest.mark.parametrize(("form", "finding"), listed(FORMS))
def test_every_form_of_a_finding(form, finding):
    assert flats(f"left hind {form}") == saw("LH", finding)
    assert flats(form, LH) == saw("LH", finding)


@pytest.mark.parametrize(("form", "action"), listed(ACTIONS))
def test_every_form_of_an_action(form, action):
    assert flats(f"all four {form}") == did("all", action)
    if form != "done":
        assert flats(form, LH) == did("LH", action)


@pytest.mark.parametrize(("form", "command"), listed(ORDERS))
def test_every_form_of_a_command(form, command):
    assert flats(form, LH) == order(command)


@pytest.mark.parametrize(("form", "place"), listed(PLACES))
def test_every_form_of_a_place(form, place):
    assert flats(form) == opened(place)
    assert flats(f"{form} fine") == saw(place, "sound")


@pytest.mark.parametrize("part", PARTS.split("|"))
def test_every_part_of_a_foot(part):
    assert flats(f"left hind {part} crack") == saw("LH", "crack", part)
    assert flats(f"{part} crack", LH) == saw("LH", "crack", part)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("split teat", "udder"),
        ("cough", "whole animal"),
        ("runny eye", "whole animal"),
        ("left hind lame", "left hind"),
        ("treated", "left hind"),
        ("treated with terramycin spray", "left hind"),
        ("treated with Alamycin", "whole animal"),
    ],
)
def test_an_open_foot_is_no_place_for_what_is_elsewhere(text, place):
    assert [flat["place"] for flat in flats(text, LH)] == [place]


@pytest.mark.parametrize("text", ["next is sorrel", "tansy", "tag 417", "done", "skip her"])
def test_another_animal_closes_the_place(text):
    assert understand(text, grammar(), LH)[1] == Scope()


def sentences(seed, n):
    rng = random.Random(seed)
    return [grammar().sample(rng)[0] for _ in range(n)]


SAMPLED = sentences(20260526, 400)


def test_every_sentence_of_the_grammar_has_a_meaning():
    for words in SAMPLED:
        found, _ = understand_words(words, grammar(), Scope())
        assert found.parts or grammar().readings(words, "aside"), words
        assert not found.unplaced, words
        assert [part_from(part.flat()) for part in found.parts] == list(found.parts), words


@pytest.mark.parametrize("n", range(0, 400, 40))
def test_case_and_punctuation_do_not_matter(n):
    for words in SAMPLED[n : n + 40]:
        if {"note", "remember"} & set(words):
            continue
        plain = understand(" ".join(words), grammar(), LH)
        assert understand(", ".join(words).upper() + "!", grammar(), LH) == plain, words


SEEN = st.sampled_from([form for form, _ in listed(FORMS)])
ACTED = st.sampled_from([form for form, _ in listed(ACTIONS) if form != "done"])
FEET_SAID = st.sampled_from(["left fore", "off hind", "both hinds", "all four", "near side"])


@given(FEET_SAID, SEEN, ACTED)
@settings(max_examples=150, deadline=None)
def test_an_open_place_is_as_good_as_one_said_again(place, seen, acted):
    _, scope = understand(place, grammar(), Scope())
    assert flats(f"{seen}, {acted}", scope) == flats(f"{place}, {seen}, {acted}")


@given(FEET_SAID, SEEN, ACTED)
@settings(max_examples=150, deadline=None)
def test_a_remark_may_be_said_in_two_breaths(place, seen, acted):
    whole, end = understand(f"{place} {seen} {acted}", grammar(), Scope())
    first, scope = understand(f"{place} {seen}", grammar(), Scope())
    second, after = understand(acted, grammar(), scope)
    assert first.parts + second.parts == whole.parts
    assert after == end


@given(FEET_SAID, SEEN, st.sampled_from(["okay, {}", "{} please", "{}, thanks", "so {}", "{} i think", "um {}"]))
@settings(max_examples=150, deadline=None)
def test_fillers_do_not_matter(place, seen, around):
    text = f"{place} {seen}"
    assert flats(around.format(text)) == flats(text)


def test_readings_and_their_meaning_agree_with_the_words():
    reading = grammar().readings(["left", "hind", "hollow", "wall"])[0]
    found, scope = meaning(reading, Scope())
    assert found.parts == (FindingPart("left hind", "hollow wall"),)
    assert scope == LH
    assert meaning_key(found.parts) == meaning_key(saw("LH", "hollow wall"))


def test_a_place_alone_is_a_part_of_its_own():
    assert understand("left hind", grammar(), Scope())[0].parts == (PlacePart("left hind"),)


@pytest.mark.parametrize(
    ("flat", "told"),
    [
        ({}, "no part has the keys"),
        ({"colour": "blue"}, "no part has the keys"),
        ({"finding": "crack", "days": 3}, "has no key 'days'"),
        ({"question": "count", "grade": "severe"}, "has no key 'grade'"),
        ({"measure": "weight"}, "has no key 'value'"),
        ({"finding": "crack", "grade": "awful"}, "awful"),
    ],
)
def test_what_is_no_part_is_refused(flat, told):
    with pytest.raises(ValueError, match=told):
        part_from(flat)

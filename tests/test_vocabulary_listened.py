"""Every form of docs/vocabulary.md is listened for, not only read when typed, and comes to its parts."""

from __future__ import annotations

from itertools import pairwise

import pytest
import vocabulary_forms as forms
from herd import grammar
from meaning_table import BETWEEN, FEET, animal, asks, did, later, mark, measure, opened, order, saw, tag, trait
from remark_sampler import remarks
from vocabulary_forms import listed

from assistant.meaning.canonical import meaning_key
from assistant.meaning.typed import understand_words
from assistant.meaning.typed_words import words_of
from assistant.values import Scope

CODES = {place: code for code, place in FEET.items()}
FOOT_PLACES = [(form, CODES[place]) for form, place in listed(forms.FEET)] + listed(forms.SETS)
FAULTS = [(form, {"finding": finding}) for form, finding in listed(forms.FOOT_FINDINGS)]
FAULTS += [(form, {"finding": finding, "part": BETWEEN}) for form, finding in listed(forms.BETWEEN_FINDINGS)]
GRADED = [card for card in FAULTS if card[1]["finding"] not in ("sound", "foreign body", "bleeding")]
AFTER = ("slight", "mild", "moderate", "severe", "bad", "really bad", "badly")
LH = "left hind"
NO_GRADE = ("too hard", "hard as rock", "raw between the claws", "red between the claws", "wet between the claws")


def heard(text):
    """The parts of a remark that listeners search; none if they do not."""
    words = words_of(text)
    assert grammar().readings(words, "remark"), f"{text!r} is not listened for"
    found, _ = understand_words(words, grammar(), Scope())
    return [part.flat() for part in found.parts]


def test_faults_of_feet():
    """With the place before, after, nowhere; at one foot and at several."""
    for form, more in FAULTS:
        assert heard(form) == saw(None, **more)
        for place in ("LH", "all", "fores", "near"):
            said = {"LH": LH, "all": "all four", "fores": "both front feet", "near": "near side"}[place]
            assert heard(f"{said} {form}") == saw(place, **more)
            assert heard(f"{form} {said}") == saw(place, **more), form
        assert heard(f"{form} on the {LH}") == saw("LH", **more)


def test_faults_with_what_was_done():
    for (form, more), (act, action) in zip(FAULTS * 3, listed(forms.ACTIONS) * 6, strict=False):
        if act == "done" or (form, act) == ("all four", "done"):
            continue
        expected = saw("LH", **more) + did("LH", action)
        assert heard(f"{LH} {form} {act}") == expected
        assert heard(f"{form} {LH} {act}") == expected
        assert heard(f"{form} on the {LH} {act}") == expected
        assert heard(f"{form} {act}") == saw(None, **more) + did(None, action)


def test_grades_before_and_after():
    for form, more in GRADED:
        if form in NO_GRADE:
            continue
        for said, grade in listed(forms.GRADES):
            if form == "hard horn" or more["finding"] != "sound":
                assert heard(f"{LH} {said} {form}") == saw("LH", **more, grade=grade)
                assert heard(f"{said} {form}") == saw(None, **more, grade=grade)
        for said in AFTER:
            grade = dict(listed(forms.GRADES))[said]
            assert heard(f"{LH} {form} {said} trimmed") == saw("LH", **more, grade=grade) + did("LH", "trimmed")


def test_actions():
    for form, action in listed(forms.ACTIONS):
        for said, place in FOOT_PLACES:
            assert heard(f"{said} {form}") == did(place, action)
        if form != "done":
            assert heard(form) == did(None, action)
            assert heard(f"{form} {LH}") == did("LH", action)


def test_two_actions():
    for (one, first), (two, second) in pairwise(listed(forms.ACTIONS)):
        if "done" in (one, two) or first in ("left alone", "isolated") or first == second:
            continue
        assert heard(f"{LH} crack {one} {two}") == saw("LH", "crack") + did("LH", first) + did("LH", second)
        assert heard(f"{LH} {one} and {two}") == did("LH", first) + did("LH", second)


def test_places():
    for said, place in FOOT_PLACES + listed(forms.BODY_PLACES):
        assert heard(said) == opened(place)
        assert heard(f"{said} fine") == saw(place, "sound")
    for said, place in FOOT_PLACES:
        assert heard(f"left front crack {said} fine") == saw("LF", "crack") + saw(place, "sound")
        assert heard(f"left front fine {said} overgrown trimmed") == saw("LF", "sound") + saw(place, "overgrown") + did(
            place, "trimmed"
        )


def test_parts_of_a_foot():
    for part in forms.PARTS.split("|"):
        assert heard(f"{LH} {part}") == opened("LH", part)
        assert heard(f"{LH} {part} crack trimmed") == saw("LH", "crack", part) + did("LH", "trimmed", part)
        assert heard(f"{part} clean") == saw(None, "sound", part)
        where = part if part == BETWEEN else f"on the {part}"
        assert heard(f"{LH} crack {where}") == saw("LH", "crack", part)


LITTERS = [("a single", 1), ("twins", 2), ("triplets", 3), ("one", 1), ("two", 2), ("three", 3)]
BODY = [(form, saw(*place.split(": "))) for form, place in listed(forms.BODY_REMARKS)]
ALONE = [(form, saw(None, finding)) for form, finding in listed(forms.ELSEWHERE)]
WHOLE = [(form, trait(name)) for form, name in listed(forms.TRAITS)]
WHOLE += [(form, tag(state)) for form, state in listed(forms.EAR_TAGS)]
WHOLE += [(f"{colour} mark", mark(colour)) for colour in forms.COLOURS.split("|")]
WHOLE += [(f"{name} {form}", measure("condition", float(value))) for form, value in listed(forms.CONDITIONS)
          for name in ("condition", "condition score", "body condition")]  # fmt: skip
WHOLE += [(f"{name} {form}", measure("lameness", value)) for name in ("lame score", "lameness", "lameness score")
          for value, form in enumerate(["nought", "one", "two", "three", "four", "five"])]  # fmt: skip
WHOLE += [(f"weight {form}", measure("weight", float(value))) for form, value in listed(forms.WEIGHTS)]
WHOLE += [(f"{verb} {form}", measure("young born", n)) for verb in ("kidded", "lambed") for form, n in LITTERS]
WHOLE += [(f"temperature {form}", measure("temperature", float(value))) for form, value in listed(forms.TEMPERATURES)]
ORDERS = [(form, order(command)) for form, command in listed(forms.COMMANDS)]
ORDERS += [(f"{form} right hind", order("correct", place="right hind")) for form in forms.CORRECTIONS.split("|")]
ORDERS += [(f"skip her {form}", order("skip", reason=reason)) for form, reason in listed(forms.SKIP_REASONS)]
ASKED = [(form, asks(name)) for form, name in listed(forms.QUESTIONS) if "," not in name]
ASKED += [(form, asks("last time", action="trimmed")) for form in forms.QUESTIONS["last time, trimmed"].split("|")]
ASKED += [(form, asks("history", place=LH)) for form in forms.QUESTIONS["history, left hind"].split("|")]
ASKED += [
    (f"when was tansy last {action}", asks("last time", animal="Tansy", action=action))
    for action in ("trimmed", "treated", "foot bathed")
]
CALLED = [
    ("tansy", animal("Tansy")),
    ("next is tansy", order("next") + animal("Tansy")),
    ("now tansy", order("next") + animal("Tansy")),
    ("tag four one five", animal("415")),
    ("four hundred and fifteen", animal("415")),
    ("four fifteen", animal("415")),
    ("tansy left hind hollow wall", animal("Tansy") + saw("LH", "hollow wall")),
    ("tansy left hind hollow wall trimmed", animal("Tansy") + saw("LH", "hollow wall") + did("LH", "trimmed")),
    ("next is tansy all four trimmed", order("next") + animal("Tansy") + did("all", "trimmed")),
    ("four one five right fore fine", animal("415") + saw("RF", "sound")),
    ("skip tansy", order("skip") + animal("Tansy")),
]
REST = [
    ("left fore and right hind trimmed", did("LF", "trimmed") + did("RH", "trimmed")),
    ("left hind crack and swollen", saw("LH", "crack") + saw("LH", "swelling")),
    ("left hind swollen hot", saw("LH", "swelling") + saw("LH", "heat")),
    ("left hind hollow wall again", saw("LH", "hollow wall")),
    ("left hind that's a crack", saw("LH", "crack")),
    ("left hind she's got a stone", saw("LH", "foreign body")),
    ("she's got an abscess", saw(None, "abscess")),
    ("there's a crack on the left hind", saw("LH", "crack")),
    ("that's fine", saw(None, "sound")),
    ("left hind just trimmed", did("LH", "trimmed")),
    ("a bit of rot", saw(None, "foot rot", grade="slight")),
    ("and the right hind fine", saw("RH", "sound")),
    ("on the left hind a crack", saw("LH", "crack")),
    ("left hind crack trimmed done", saw("LH", "crack") + did("LH", "trimmed") + order("done")),
    ("between the claws clean done", saw(None, "sound", BETWEEN) + order("done")),
    ("left hind crack check her in two weeks", saw("LH", "crack") + later("re-check", 14)),
    ("scratch that condition three", order("scratch") + measure("condition", 3)),
    ("scratch that left hind fine", order("scratch") + saw("LH", "sound")),
    ("no i mean condition three", order("correct") + measure("condition", 3)),
    ("a bit thin", saw(None, "thin", grade="slight")),
    ("she's lame", saw(None, "lame")),
    ("she's got lice", saw(None, "lice")),
    ("split teat on the left", saw("left teat", "split teat")),
    ("condition three done", measure("condition", 3) + order("done")),
]


@pytest.mark.parametrize(
    "table",
    [BODY, ALONE, WHOLE, ORDERS, ASKED, CALLED, REST],
    ids=["body", "alone", "whole", "orders", "asked", "called", "rest"],
)
def test_the_rest(table):
    wrong = [
        (text, heard(text), expected) for text, expected in table if meaning_key(heard(text)) != meaning_key(expected)
    ]
    assert not wrong


def test_follow_ups_with_every_time():
    for form, name in listed(forms.FOLLOW_UPS):
        assert heard(form) == later(name)
        for time, days in listed(forms.TIMES):
            if name != "re-trim when soft":
                assert heard(f"{form} {time}") == later(name, int(days))


def test_remarks_made_up_from_the_vocabulary():
    """Two cards of a hundred may be too long for what listeners search; none may be misread."""
    made = list(remarks(400, seed=5))
    unheard = [said for said, _ in made if not grammar().readings(words_of(said), "remark")]
    assert len(unheard) <= 4, unheard
    for said, expected in made:
        found, _ = understand_words(words_of(said), grammar(), Scope())
        assert meaning_key(found.parts) == meaning_key(expected), said

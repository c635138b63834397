"""The small pieces of a session: coverage of the feet, scales, words for numbers, events as plain objects."""

from __future__ import annotations

from datetime import date

import pytest
from session_stage import at, cmd, did, found, it, measure

from assistant.session.coverage import gaps
from assistant.session.events import event_from_flat
from assistant.session.offer import offer
from assistant.session.recording import placed, scope_after
from assistant.session.replies import ago, either, finding_clause, number, some_of, spelled, value
from assistant.session.scale import misfit
from assistant.session.state import Choice
from assistant.values import BETWEEN, FEET, FindingPart, Grade, PlacePart, Scope, Species

LF, RF, LH, RH = FEET


@pytest.mark.parametrize(
    ("parts", "missing"),
    [
        ([], (*FEET, BETWEEN)),
        ([found(LH, "crack")], (LF, RF, RH, BETWEEN)),
        ([did(foot, "trimmed") for foot in FEET], (BETWEEN,)),
        ([found(foot, "sound", BETWEEN) for foot in FEET], ()),
        ([*(did(foot, "trimmed") for foot in FEET), found(LH, "scald")], ()),
        ([*(did(foot, "trimmed") for foot in FEET), found("left teat", "split teat")], (BETWEEN,)),
        ([measure("condition", 3)], (*FEET, BETWEEN)),
    ],
)
def test_gaps(parts, missing) -> None:
    assert gaps(parts) == missing


SCALES = [
    ("condition", Species.GOAT, [1, 1.5, 2.5, 5], [0, 0.5, 2.75, 5.5, -1, float("nan"), float("inf")]),
    ("condition", Species.SHEEP, [0, 1, 3.5, 5], [0.5, 2.75, 5.5]),
    ("lameness", Species.SHEEP, [0, 1, 6], [7, -1, 2.5]),
    ("lameness", Species.GOAT, [1, 5], [0, 6, 2.5]),
    ("weight", Species.GOAT, [2.4, 80], [0, -3, 900, float("inf")]),
    ("temperature", Species.SHEEP, [39.2, 41], [20, 104]),
    ("girth", Species.GOAT, [500], []),
]


@pytest.mark.parametrize(("name", "species", "fitting", "wrong"), SCALES)
def test_scales(name, species, fitting, wrong) -> None:
    """Sheep 0–6 (Kaler et al. 2009), goats 1–5 (Deeming et al. 2018), condition in halves (Villaquiran et al.)."""
    assert [amount for amount in fitting if misfit(measure(name, amount), species)] == []
    assert [amount for amount in wrong if not misfit(measure(name, amount), species)] == []


@pytest.mark.parametrize(
    ("species", "scale", "fitting", "sentence"),
    [
        (Species.GOAT, (1, 4), [1, 4], "Lameness of goats goes from one to four."),
        (Species.SHEEP, (0, 3), [0, 3], "Lameness of sheep goes from nought to three."),
    ],
)
def test_the_holdings_own_scale_of_lameness(species, scale, fitting, sentence) -> None:
    """Sheep 0–3 (Angell et al., Vet Rec 176, 2015) and the older four points of goats are a holding's choice."""
    assert [score for score in fitting if misfit(measure("lameness", score), species, scale)] == []
    assert misfit(measure("lameness", max(fitting) + 1), species, scale) == sentence


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (number(0), "none"),
        (number(21), "twenty-one"),
        (number(40), "forty"),
        (number(417), "417"),
        (value(2.5), "two and a half"),
        (value(0), "nought"),
        (value(38.75), "38.75"),
        (value(0.5), "0.5"),
        (spelled("041"), "nought four one"),
        (spelled("UK 12"), "U K one two"),
        (some_of(["a", "b", "c", "d"]), "a, b, c and one more"),
        (some_of(["a", "b"]), "a and b"),
        (either(["tansy", "sorrel", "yarrow"]), "Tansy, sorrel or yarrow?"),
        (either(list("abcd")), "A, b or two more?"),
        (ago(date(2026, 5, 13), date(2026, 5, 26)), "thirteen days ago"),
        (ago(date(2026, 5, 12), date(2026, 5, 26)), "two weeks ago"),
        (ago(date(2026, 5, 25), date(2026, 5, 26)), "yesterday"),
        (finding_clause(FindingPart(LH, "abscess", None, Grade.SEVERE)), "had a severe abscess"),
        (finding_clause(FindingPart(LH, "overgrown", None, Grade.SLIGHT)), "was slightly overgrown"),
        (finding_clause(FindingPart(LH, "foot rot")), "had foot rot"),
    ],
)
def test_words(made, words) -> None:
    assert made == words


HOLLOW, CRACK, LONG = found(LH, "hollow wall"), found(LH, "crack"), found(LH, "overgrown")
BOTH = (found(LF, "overgrown"), found(RF, "overgrown"))
HINDS, LONG_FORE = (found(LH, "overgrown"), found(RH, "overgrown")), found(LF, "overgrown")

OFFERS = [
    # the readings, likeliest first, with their words; what is asked
    ([("left hind crack", CRACK)], "Left hind crack?"),
    ([("left fore good", found(LF, "sound")), ("left hind good", found(LH, "sound"))], "Left fore or left hind?"),
    ([("both fores long", *BOTH), ("both hinds long", *HINDS)], "Both fores or both hinds?"),
    ([("both fores long", *BOTH), ("left hind long", LONG)], "Both fores or left hind?"),
    ([("left hind crack", CRACK), ("left hind hollow", HOLLOW)], "Crack or hollow wall?"),
    # the same at several places, and at a place and a part of it
    ([("both hinds long", *HINDS), ("both hinds lame", found(LH, "lame"), found(RH, "lame"))], "Overgrown or lame?"),
    (
        [
            ("both hinds long left fore lame", *HINDS, found(LF, "lame")),
            ("both hinds long left fore long", *HINDS, LONG_FORE),
        ],
        "Left fore lame or left fore overgrown?",
    ),
    (
        [("both hinds long left fore lame", *HINDS, found(LF, "lame")), ("left fore lame", found(LF, "lame"), CRACK)],
        "Both hinds overgrown or left hind crack?",
    ),
    (
        [
            ("off hind scald between the claws sprayed", found(RH, "scald", BETWEEN), did(RH, "sprayed")),
            ("near hind scald between the claws sprayed", found(LH, "scald", BETWEEN), did(LH, "sprayed")),
        ],
        "Right hind or left hind?",
    ),
    (
        [
            ("left hind crack trimmed", CRACK, did(LH, "trimmed")),
            ("left hind crack drained", CRACK, did(LH, "drained")),
        ],
        "Trimmed or drained?",
    ),
    (
        [("left hind cleaned", FindingPart(LH, "sound", BETWEEN)), ("left hind clean", did(LH, "cleaned out"))],
        "Left hind, between the claws sound, or left hind cleaned out?",
    ),
    (
        [("weight fifty", measure("weight", 50)), ("weight thirty", measure("weight", 30))],
        "Weight fifty or weight thirty?",
    ),
    ([("done", cmd("done")), ("thorn", found(None, "foreign body"))], "Done or thorn?"),
    ([("four one seven", it("417")), ("four one one", it("411"))], "Four one seven or four one one?"),
    ([("left hind", at(LH)), ("left fore", at(LF)), ("left eye", at("left eye"))], "Left hind or left fore?"),
    ([("left hind", at(LH)), ("left hind crack", CRACK)], "Left hind or left hind crack?"),
    (
        [("left fore too hard", found(LF, "hard horn")), ("left fore toe hard", found(LF, "hard horn", "toe"))],
        "Left fore, or left fore, toe?",
    ),
    (
        [
            ("near rear nail pus thorn hinds sole nicked heat flap", *BOTH),
            ("let it out off back", did(LH, "drained"), did(RF, "drained"), did(LF, "sprayed")),
        ],
        "Not clear. Say it again?",
    ),
    (
        [("left hind crack drained", CRACK, did(LH, "drained")), ("left hind crack", CRACK)],
        "Left hind crack drained, or left hind crack?",
    ),
]


@pytest.mark.parametrize(("readings", "asked"), OFFERS)
def test_a_question_offers_what_differs(readings, asked) -> None:
    assert offer([Choice(words, tuple(parts)) for words, *parts in readings], date(2026, 5, 26)) == asked


@pytest.mark.parametrize(
    ("parts", "scope"),
    [
        ([], Scope((RH,))),
        ([measure("condition", 3)], Scope((RH,))),
        ([PlacePart(LH, BETWEEN)], Scope((LH,), BETWEEN)),
        ([PlacePart(LF), PlacePart(RF)], Scope((LF, RF))),
        ([found(LF, "crack"), found(RF, "crack"), measure("condition", 3)], Scope((LF, RF))),
        ([found(LF, "crack"), found(RF, "abscess")], Scope((RF,))),
        ([found(LF, "crack"), found("whole animal", "cough")], Scope((LF,))),
    ],
)
def test_the_place_that_stays_open(parts, scope) -> None:
    assert scope_after(parts, Scope((RH,))) == scope


@pytest.mark.parametrize(
    ("name", "payload", "message"),
    [
        ("Flown", {}, "no event 'Flown'"),
        ("TimedOut", {}, "not complete"),
        ("TimedOut", {"time": "2026-05-26T09:00:00+00:00", "odd": 1}, "no key 'odd'"),
    ],
)
def test_an_event_that_is_not_one_is_refused(name, payload, message) -> None:
    with pytest.raises(ValueError, match=message):
        event_from_flat(name, payload)


TEAT, UDDER = "left teat", "left udder"


@pytest.mark.parametrize(
    ("part", "scope", "at_places"),
    [
        (found(None, "hollow wall"), Scope((LH,)), [found(LH, "hollow wall")]),
        (found(None, "hollow wall"), Scope((TEAT,)), [found(None, "hollow wall")]),
        (found(None, "hollow wall"), Scope((TEAT, "right teat")), [found(None, "hollow wall")]),
        (found(None, "split teat"), Scope((LH,)), [found("udder", "split teat")]),
        (found(None, "cough"), Scope((LH, RH)), [found("whole animal", "cough")]),
        (found(None, "heat"), Scope((UDDER,)), [found(UDDER, "hot udder")]),
        (found(None, "sound"), Scope((LF, RF), BETWEEN), [found(LF, "sound", BETWEEN), found(RF, "sound", BETWEEN)]),
        (did(None, "trimmed"), Scope((LF, RF)), [did(LF, "trimmed"), did(RF, "trimmed")]),
        (did(None, "foot bathed"), Scope((TEAT,)), [did(None, "foot bathed")]),
        (found(RH, "crack"), Scope((TEAT,)), [found(RH, "crack")]),
        (found(None, "lame"), Scope(), [found("whole animal", "lame")]),
        (found(None, "crack"), Scope(), [found(None, "crack")]),
    ],
)
def test_the_open_place_takes_only_what_belongs_there(part, scope, at_places) -> None:
    assert list(placed(part, scope)) == at_places

"""The small pieces of a session: coverage of the feet, scales, words for numbers, events as plain objects."""

from __future__ import annotations

from datetime import date

import pytest
from session_stage import did, found, measure

from assistant.session.coverage import gaps
from assistant.session.events import event_from_flat
from assistant.session.recording import scope_after
from assistant.session.replies import ago, either, finding_clause, number, some_of, spelled, value
from assistant.session.scale import misfit
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
        (either(list("abcd")), "Four of them could be meant. Which one?"),
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

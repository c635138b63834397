"""Which male for which female, and which female may go at all."""

from __future__ import annotations

from datetime import date

import pytest
from family_stage import parents_of

from assistant.husbandry.choice import choice, family_faults, relation, unwanted_daughters
from assistant.husbandry.family import pedigree
from assistant.husbandry.gestation import expected
from assistant.husbandry.medicine import Withheld
from assistant.husbandry.practice import Practice
from assistant.husbandry.readiness import Known, readiness
from assistant.values import Animal, Sex, Species
from assistant.values.outlook import Measured, head

F, M = Sex.FEMALE, Sex.MALE
HERD = [
    Animal("b1", name="Bramble", sex=M),
    Animal("b2", name="Burdock", sex=M, sire="b1", dam="f1"),
    Animal("b3", name="Bracken", sex=M),
    Animal("f1", name="Tansy", sex=F),
    Animal("f2", name="Sorrel", sex=F, sire="b1", dam="f1"),
    Animal("f3", name="Yarrow", sex=F, sire="b1", dam="f4"),
    Animal("f4", name="Campion", sex=F),
    Animal("f5", name="Teasel", sex=F, sire="b2", dam="f2"),
    Animal("f6", name="Betony", sex=F, dam="f4", status="sold"),
]
HEADS = [head(one) for one in HERD]
PARENTS = parents_of(HERD)
OF = pedigree(PARENTS)


def test_every_female_with_every_male() -> None:
    """Full sibs 1/4, half sibs 1/8, parent and young 1/4; Teasel comes from full sibs and her sire is Burdock."""
    traits = {"f3": frozenset({"use another sire"}), "b3": frozenset({"do not breed"})}
    got = choice(OF, ["b1", "b2", "b3"], ["f1", "f2", "f3", "f4", "f5"], {}, traits)
    assert got.inbreeding.tolist() == [
        [0, 0.25, 0],
        [0.25, 0.25, 0],
        [0.25, 0.125, 0],
        [0, 0, 0],
        [0.25, 0.375, 0],
    ]
    assert got.flags == {"b3": ("do not breed",)}
    assert got.best("f4", 0.0625) == ("b1", "b2")
    assert got.best("f1", 0.0625) == ("b1",)
    assert got.best("f5", 0.5) == ("b1", "b2")
    assert not got.is_refused("f3", "b1"), "Yarrow has no young by Bramble"


def test_another_sire_means_another_than_that_of_her_young() -> None:
    got = choice(OF, ["b1", "b2"], ["f4", "f1"], {}, {"f4": frozenset({"use another sire"})})
    assert got.is_refused("f4", "b1")
    assert got.best("f4", 1) == ("b2",)
    assert got.best("f1", 1) == ("b1", "b2")


def test_a_fault_marks_the_family_on_both_sides() -> None:
    got = family_faults(OF, {"f2": ["extra teat"]})
    assert got == {
        "f2": ("extra teat",),
        "b1": ("extra teat (its young)",),
        "f1": ("extra teat (its young)",),
        "b2": ("extra teat (full sibling)",),
        "f3": ("extra teat (half sibling)",),
        "f5": ("extra teat (dam)",),
    }
    assert family_faults(OF, {"b2": ["split teat"]})["f5"] == ("split teat (sire)",)
    assert family_faults(OF, {"nobody": ["split teat"]}) == {}


def test_daughters_that_were_not_to_be_kept() -> None:
    traits = {"f4": frozenset({"keep no daughters"}), "f1": frozenset({"keep as breeder"})}
    assert unwanted_daughters(HEADS, traits, PARENTS) == (("f4", "f3"),), "Betony is sold"


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        ("f1", "f2", "dam"),
        ("b1", "f2", "sire"),
        ("f2", "f1", "young"),
        ("f2", "b2", "full sibling"),
        ("f2", "f3", "half sibling"),
        ("b1", "f5", "grandsire"),
        ("f1", "f5", "granddam"),
        ("f5", "b1", "grandchild"),
        ("f3", "f5", ""),
        ("f1", "f1", ""),
        ("f1", "nobody", ""),
    ],
)
def test_near_relations_have_a_name(one: str, other: str, said: str) -> None:
    assert relation(OF, one, other) == said


# ------------------------------------------------------------------------------------------------------- readiness

DAY = date(2026, 10, 1)
TRIMMED = {"f1": date(2026, 9, 1)}
PRACTICE = Practice(condition={Species.GOAT: (2.5, 4.0), Species.SHEEP: (2.5, 3.5)})


def condition(value: float, day: date = date(2026, 9, 1)) -> dict:
    return {"condition": {"f1": Measured(value, day)}}


def lameness(value: float, day: date = date(2026, 9, 1)) -> dict:
    return {"lameness": {"f1": Measured(value, day)}}


READINESS = [  # what is known, reasons against the male
    ({}, ()),
    (condition(2.5), ()),
    (condition(4.0), ()),
    (condition(2.0), ("condition 2 on 2026-09-01, below 2.5",)),
    (condition(4.5), ("condition 4.5 on 2026-09-01, above 4",)),
    (condition(2.0, date(2026, 2, 1)), ("condition 2 on 2026-02-01, below 2.5",)),
    (lameness(2), ()),
    (lameness(3), ("lame, score 3 on 2026-09-01",)),
    ({"lame": {"f1": date(2026, 9, 5)}}, ("lame on 2026-09-05",)),
    ({"lame": {"f1": date(2026, 8, 5)}, **lameness(1)}, ()),
    ({"lame": {"f1": date(2026, 9, 1)}, **lameness(1)}, ("lame on 2026-09-01",)),
    ({"open_feet": {"f1": ["left hind scald"]}}, ("left hind scald, nothing done since",)),
    ({"traits": {"f1": frozenset({"do not breed"})}}, ("do not breed",)),
    ({"withheld": {"f1": Withheld("f1", date(2026, 10, 2))}}, ("still in withdrawal, free from 2026-10-02",)),
    ({"withheld": {"f1": Withheld("f1", None, date(2026, 10, 1))}}, ()),
    ({"withheld": {"f1": Withheld("f1", unknown=("Jab",))}}, ("Jab, withdrawal period not written down",)),
    ({"trimmed": {}}, ("no trim on record",)),
    ({"trimmed": {"f1": date(2026, 8, 6)}}, ()),
    ({"trimmed": {"f1": date(2026, 8, 5)}}, ("not trimmed since 2026-08-05",)),
    ({"pregnancies": {"f1": expected(date(2026, 11, 1), Species.GOAT)}}, ("in kid or in lamb, due 2026-11-01",)),
    ({"pregnancies": {"f1": expected(date(2026, 9, 26), Species.GOAT)}}, ("in kid or in lamb, due 2026-09-26",)),
    ({"pregnancies": {"f1": expected(date(2026, 9, 25), Species.GOAT)}}, ()),
]


@pytest.mark.parametrize("row", READINESS)
def test_what_speaks_against_the_male(row) -> None:
    known, reasons = row
    (got,) = readiness([head(HERD[3])], Known(**{"trimmed": TRIMMED, **known}), PRACTICE, DAY)
    assert got.reasons == reasons
    assert got.is_ready == (not reasons)


def test_eight_weeks_before_the_males_go_in() -> None:
    """Males in on 2026-10-01: a trim of 2026-08-06 counts, a score of the day before does not.

    Source: a change of one condition score takes about eight weeks, Irish Farmers Journal on a Farm Advisory Service
    note; its use for feet is common practice, no source.
    """
    old = {"f1": Measured(3.0, date(2026, 8, 5))}
    (got,) = readiness([head(HERD[3])], Known(condition=old, trimmed={"f1": date(2026, 8, 6)}), PRACTICE, DAY)
    assert (got.reasons, got.unknown) == ((), ("condition last on 2026-08-05",))


def test_sheep_have_their_own_scale_and_no_trim_by_the_calendar() -> None:
    ewe = head(Animal("f1", name="Tansy", sex=F, species=Species.SHEEP))
    (got,) = readiness([ewe], Known(**lameness(2), **condition(3.5)), PRACTICE, DAY)
    assert got.reasons == ("lame, score 2 on 2026-09-01",)


def test_what_is_not_known_is_said_and_who_has_reasons_comes_first() -> None:
    old = {"f1": Measured(3.0, date(2026, 2, 1))}
    known = Known(
        condition=old, trimmed={**TRIMMED, "f4": date(2026, 9, 1)}, traits={"f4": frozenset({"do not breed"})}
    )
    first, second = readiness([head(HERD[3]), head(HERD[6])], known, PRACTICE, DAY)
    assert (first.animal, first.unknown) == ("f4", ("condition not known",))
    assert (second.animal, second.unknown, second.is_ready) == ("f1", ("condition last on 2026-02-01",), True)

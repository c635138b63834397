"""Contradictions in families, animals that sound alike, and what tells two animals apart."""

from __future__ import annotations

import time
from datetime import date
from pathlib import Path

import pytest

from assistant.errors import UnknownWord
from assistant.register.check import family_problems
from assistant.register.confusable import confusables
from assistant.register.distinction import distinction
from assistant.register.reading import animals_from_csv
from assistant.register.register import Register
from assistant.values import Animal, Sex

F, M = Sex.FEMALE, Sex.MALE
DOE = Animal("d", name="Tansy", sex=F, born=date(2020, 3, 1))
BUCK = Animal("b", name="Ragwort", sex=M, born=date(2020, 3, 1))


def kid(**keys: object) -> Animal:
    return Animal("k", **{"name": "Ivy", "dam": "Tansy", "sire": "Ragwort", "born": date(2022, 3, 1), **keys})  # type: ignore[arg-type]


FAMILIES = [
    (kid(), []),
    (kid(dam="sold years ago", sire=""), []),
    (kid(born=date(2020, 11, 18)), []),
    (kid(born=date(2020, 11, 17)), ["Tansy, the dam of Ivy, was 261 days", "Ragwort, the sire of Ivy, was 261 days"]),
    (kid(born=date(2020, 3, 1), sire=""), ["was not born before it"]),
    (kid(born=None), []),
    (kid(dam="Ragwort", sire=""), ["Ragwort, the dam of Ivy, is male"]),
    (kid(sire="Tansy", dam=""), ["Tansy, the sire of Ivy, is female"]),
    (kid(sire="Tansy"), ["both dam and sire", "is female"]),
    (kid(dam="Ivy", sire="", born=None), ["its own ancestor: Ivy is a child of Ivy"]),
]


@pytest.mark.parametrize(("child", "messages"), FAMILIES)
def test_families(child: Animal, messages: list[str]) -> None:
    found = [problem.message for problem in family_problems(Register([DOE, BUCK, child]))]
    assert len(found) == len(messages)
    assert all(part in whole for part, whole in zip(messages, found, strict=True))


def test_the_herd_of_the_demonstration_has_no_contradictions() -> None:
    """Burdock, born in April, sired a kid that was born the March after: at half a year a buck can."""
    herd = animals_from_csv((Path(__file__).parent.parent / "demo_audio" / "register.csv").read_bytes(), "demo").animals
    assert not family_problems(Register(herd))


def test_the_least_age_of_a_parent_can_be_set() -> None:
    herd = Register([DOE, BUCK, kid(born=date(2020, 11, 1))])
    assert len(family_problems(herd)) == 2
    assert not family_problems(herd, youngest_parent_days=240)


def test_a_parent_that_may_be_two_animals_is_reported() -> None:
    herd = Register([DOE, Animal("d2", name="Tansy", number="7", sex=F), kid(sire="")])
    (problem,) = family_problems(herd)
    assert problem.animals == ("k", "d", "d2")
    assert "may be Tansy or Tansy (7)" in problem.message


def test_every_circle_is_reported_once() -> None:
    ring = [Animal(f"a{n}", name=f"A{n}", dam=f"a{(n + 1) % 3}") for n in range(3)]
    tail = [Animal("t", name="Tail", dam="a0"), Animal("u", name="Under", dam="t")]
    pair = [Animal("p", name="P", sire="q"), Animal("q", name="Q", sire="p", dam="a0")]
    found = family_problems(Register([*tail, *ring, *pair]))
    assert sorted(sorted(problem.animals) for problem in found) == [["a0", "a1", "a2"], ["p", "q"]]


def test_a_long_line_of_descent_is_no_circle() -> None:
    assert not family_problems(Register(Animal(f"a{n}", name=f"N{n}", dam=f"a{n - 1}") for n in range(5000)))


SOUNDS = {
    "tansy": "T AE N Z IY",
    "pansy": "P AE N Z IY",
    "fifteen": "F IH F T IY N",
    "fifty": "F IH F T IY",
    "sorrel": "S AO R AH L",
    "laurel": "L AO R AH L",
    "yarrow": "Y AE R OW",
    "burdock": "B ER D AA K",
}


def pronounce(word: str) -> list[list[str]]:
    if word not in SOUNDS:
        raise UnknownWord(word)
    return [SOUNDS[word].split()]


PAIRS = [
    (Animal("1", name="Tansy"), Animal("2", name="Pansy"), "sound alike"),
    (Animal("1", name="Sorrel"), Animal("2", name="Laurel"), "sound alike"),
    (Animal("1", name="Fifteen"), Animal("2", name="Fifty"), "sound alike"),
    (Animal("1", name="Burdock"), Animal("2", name="burdock"), "both are called Burdock"),
    (Animal("1", name="Wxyz"), Animal("2", name="Wxyz"), "both are called Wxyz"),
    (Animal("1", name="Tansy"), Animal("2", name="Ivy", nicknames=("Pansy",)), "sound alike"),
    (Animal("1", number="415"), Animal("2", number="450"), "415 and 450 sound alike"),
    (Animal("1", number="450"), Animal("2", number="415"), "450 and 415 sound alike"),
    (Animal("1", number="B15"), Animal("2", number="50"), "15 and 50 sound alike"),
    (Animal("1", number="405"), Animal("2", number="409"), "405 and 409 sound alike"),
    (Animal("1", number="12"), Animal("2", number="12"), "both have the number 12"),
]


@pytest.mark.parametrize(("one", "other", "why"), PAIRS)
def test_pairs_that_are_confused(one: Animal, other: Animal, why: str) -> None:
    (pair,) = confusables([one, Animal("y", name="Yarrow", number="888"), other], pronounce)
    assert (pair.one, pair.other) == (one, other)
    assert why in pair.why


def test_a_session_of_unlike_animals_has_no_pairs() -> None:
    herd = [
        Animal("1", name="Tansy", number="401"),
        Animal("2", name="Yarrow", number="417"),
        Animal("3", name="Sorrel"),
    ]
    assert confusables(herd, pronounce) == ()


def test_a_session_of_a_thousand_is_compared_in_a_moment() -> None:
    names = [f"{one} {other}" for one in SOUNDS for other in SOUNDS]
    herd = [Animal(str(n), name=names[n % len(names)] if n < 64 else "", number=f"{n:04}") for n in range(1000)]
    start = time.process_time()
    found = confusables(herd, pronounce)
    assert time.process_time() - start < 2
    assert ("0015", "0050") in {(pair.one.number, pair.other.number) for pair in found}


def test_a_pair_is_listed_once_and_in_the_order_of_the_session() -> None:
    herd = [Animal("p", name="Pansy", number="15"), Animal("y", name="Yarrow"), Animal("t", name="Tansy", number="50")]
    (pair,) = confusables(herd, pronounce)
    assert (pair.one.id, pair.other.id) == ("p", "t")


BASE = Animal("a", name="Burdock", number="503", group="Ewes 1", markings="white", born=date(2021, 3, 1), sex=F)
DIFFERENCES = [
    ({"markings": "brown", "group": "Ewes 2"}, "the brown one in group Ewes 2"),
    ({"markings": "brown"}, "the brown one"),
    ({"group": "Ewes 2"}, "the one in group Ewes 2"),
    ({"sex": M, "group": "Rams"}, "the male in group Rams"),
    ({"number": "504"}, "number 504"),
    ({"born": date(2022, 5, 1)}, "born 2022"),
    ({"born": date(2021, 5, 1)}, "born 2021-05-01"),
    ({"name": "Teasel", "number": "504"}, "Teasel"),
    ({"tag": "X7"}, "tag X7"),
    ({"dam": "Sorrel"}, "the child of Sorrel"),
    ({"markings": ""}, ""),
    ({}, ""),
]


@pytest.mark.parametrize(("changes", "words"), DIFFERENCES)
def test_what_tells_two_apart(changes: dict[str, object], words: str) -> None:
    values = {name: getattr(BASE, name) for name in ("name", "number", "group", "markings", "born", "sex")}
    other = Animal("b", **{**values, **changes})  # type: ignore[arg-type]
    assert distinction(other, BASE) == words

"""Relatives in the register, and numbers held against the standards."""

from __future__ import annotations

import pytest

from assistant.register.kin import ancestors, common_ancestors, family
from assistant.register.register import Register
from assistant.register.standards import ISO_CODE, MANAGEMENT, NI_NUMBER, PAIRING, UK_NUMBER, standard_problems
from assistant.values import Animal, Sex

F, M = Sex.FEMALE, Sex.MALE


def one(name: str, dam: str = "", sire: str = "", sex: Sex = F) -> Animal:
    return Animal(name.lower(), name=name, dam=dam, sire=sire, sex=sex)


HERD = Register(
    [
        one("Bramble", sex=M),
        one("Burdock", sire="Bramble", sex=M),
        one("Tansy"),
        one("Sorrel", "Tansy", "Bramble"),
        one("Yarrow", "Tansy", "Bramble"),
        one("Teasel", "Tansy", "Burdock", M),
        one("Campion", "Ivy of elsewhere", "Bramble", Sex.UNKNOWN),
        one("Mallow", "Sorrel", "Teasel"),
    ]
)


def names(animals: tuple[Animal, ...]) -> list[str]:
    return [animal.name for animal in animals]


def test_full_and_half_siblings_are_told_apart() -> None:
    found = family(HERD, HERD.animal("sorrel"))
    assert (found.dam.name, found.sire.name) == ("Tansy", "Bramble")
    assert names(found.full_siblings) == ["Yarrow"]
    assert names(found.by_dam) == ["Teasel"]
    assert names(found.by_sire) == ["Burdock", "Campion"]


def test_young_are_listed_by_sex() -> None:
    found = family(HERD, HERD.animal("bramble"))
    assert (names(found.daughters), names(found.sons), names(found.children)) == (
        ["Sorrel", "Yarrow"],
        ["Burdock"],
        ["Campion"],
    )
    assert family(HERD, HERD.animal("campion")).dam is None


COMMON = [
    ("sorrel", "yarrow", [("Bramble", 1, 1), ("Tansy", 1, 1)]),
    ("sorrel", "teasel", [("Tansy", 1, 1), ("Bramble", 1, 2)]),
    ("mallow", "sorrel", [("Sorrel", 1, 0), ("Tansy", 2, 1), ("Bramble", 2, 1)]),
    ("campion", "tansy", []),
    ("tansy", "tansy", [("Tansy", 0, 0)]),
]


@pytest.mark.parametrize(("first", "second", "shared"), COMMON)
def test_common_ancestors_are_the_nearest_with_their_generations(first: str, second: str, shared: list) -> None:
    found = common_ancestors(HERD, HERD.animal(first), HERD.animal(second))
    assert sorted((item.animal.name, item.from_one, item.from_other) for item in found) == sorted(shared)


def test_a_circle_of_descent_ends() -> None:
    herd = Register([one("Ivy", "Fern"), one("Fern", "Ivy")])
    assert ancestors(herd, herd.animal("ivy")) == {"ivy": 0, "fern": 1}


# Rules and their sources are named in assistant/register/identity.py and standards.py; the numbers are invented.
STANDARDS = [
    ({"tag": "UK 0 123456 00001", "electronic": "826012345600001"}, []),
    ({"tag": "UK 0 123456 00001", "electronic": "826012345600002"}, [PAIRING]),
    ({"tag": "UK 0 123456 00001", "electronic": "899112345600001"}, [PAIRING]),
    ({"tag": "UK 123456 00001", "electronic": "826012345600001"}, [UK_NUMBER]),
    ({"tag": "UK 123456 00001", "electronic": "826012345600002"}, [UK_NUMBER, PAIRING]),
    ({"tag": "UK 0 123456 00001", "electronic": "982000123456789"}, [ISO_CODE]),
    ({"tag": "XI 1 123456 00001", "electronic": "899112345600001"}, []),
    ({"tag": "XI 2 123456 00001"}, [NI_NUMBER]),
    ({"tag": "UK 123456"}, [UK_NUMBER]),
    ({"tag": "UK 12"}, [UK_NUMBER]),
    ({"tag": "DE 01 234 56789"}, []),
    ({"electronic": "826999999999999"}, [ISO_CODE]),
    ({"electronic": "999000000000001"}, [ISO_CODE]),
    ({"electronic": "82601234560000"}, [ISO_CODE]),
    ({"number": "UK417"}, [MANAGEMENT]),
    ({}, []),
]


@pytest.mark.parametrize(("numbers", "rules"), STANDARDS)
def test_each_number_that_breaks_a_rule_is_told_with_the_rule(numbers: dict[str, str], rules: list[str]) -> None:
    problems = standard_problems([Animal("1", name="Tansy", **numbers)])
    assert [problem.rule for problem in problems] == rules
    assert all("Tansy" in problem.message for problem in problems)

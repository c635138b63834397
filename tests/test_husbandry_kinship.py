"""Inbreeding and relationship: textbook pedigrees, the tabular method and path counting by other hands."""

from __future__ import annotations

import time
from collections.abc import Mapping
from fractions import Fraction

import numpy as np
import pytest
from family_stage import parents_of
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import BadRegister
from assistant.husbandry.family import Parents, pedigree
from assistant.husbandry.kinship import inbreeding, kinship
from assistant.register.register import Register
from assistant.values import Animal, Sex

Table = Mapping[str, Parents]


def child(*pairs: str) -> dict[str, Parents]:
    """Each text names the animal, its sire and its dam; a dash is unknown."""
    rows = (pair.split() for pair in pairs)
    return {x: (None if s == "-" else s, None if d == "-" else d) for x, s, d in rows}


def f_of(table: Table, key: str) -> float:
    of = pedigree(table)
    return float(inbreeding(of)[of.place[key]])


SIBS = ("B P Q", "C P Q")
# Coefficients of the offspring X as textbooks give them (Falconer & Mackay, Introduction to Quantitative Genetics,
# 1996, table of regular relationships; Wright 1922): the kinship of its parents.
TEXTBOOK = {
    "parent and offspring": (("D A M", "X A D"), 1 / 4),
    "full sibs": ((*SIBS, "X B C"), 1 / 4),
    "three-quarter sibs": (("U P Q", "V P Q", "B A U", "C A V", "X B C"), 3 / 16),
    "half sibs": (("B A M", "C A N", "X B C"), 1 / 8),
    "grandparent and grandchild": (("B A M", "C B N", "X A C"), 1 / 8),
    "uncle and niece": ((*SIBS, "E N C", "X B E"), 1 / 8),
    "double first cousins": (("B P Q", "C P Q", "D R S", "E R S", "G B D", "H C E", "X G H"), 1 / 8),
    "first cousins": ((*SIBS, "G B M", "H N C", "X G H"), 1 / 16),
    "half uncle and half niece": (("B A M", "C A N", "E O C", "X B E"), 1 / 16),
    "half first cousins": (("B A M", "C A N", "G B O", "H R C", "X G H"), 1 / 32),
    "second cousins": ((*SIBS, "G B M", "H N C", "I G O", "J R H", "X I J"), 1 / 64),
    "unrelated": (("X A B",), 0),
    "one parent unknown": (("X A -",), 0),
    # Loops through an inbred ancestor: A comes from full sibs, F_A = 1/4.
    "half sibs by an inbred sire": ((*SIBS, "A B C", "D A M", "E A N", "X D E"), 5 / 32),
    "an inbred sire and his daughter": ((*SIBS, "A B C", "D A M", "X A D"), 5 / 16),
    "the inbred sire himself": ((*SIBS, "A B C", "X B C"), 1 / 4),
}


@pytest.mark.parametrize("case", TEXTBOOK)
def test_textbook_coefficients(case: str) -> None:
    rows, expected = TEXTBOOK[case]
    table = child(*rows)
    assert f_of(table, "X") == expected
    sire, dam = table["X"]
    planned = {key: value for key, value in table.items() if key != "X"}
    assert kinship(pedigree(planned), [sire or "?"], [dam or "?"])[0, 0] == expected


def test_a_printed_matrix() -> None:
    """Six animals (Mrode, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., 2014, p. 25)."""
    of = pedigree(child("1 - -", "2 - -", "3 1 2", "4 1 -", "5 4 3", "6 5 2"))
    assert inbreeding(of).tolist() == [0, 0, 0, 0, 0.125, 0.125]
    keys = "123456"
    matrix = 2 * kinship(of, keys, keys)
    assert matrix.tolist() == [
        [1, 0, 0.5, 0.5, 0.5, 0.25],
        [0, 1, 0.5, 0, 0.25, 0.625],
        [0.5, 0.5, 1, 0.25, 0.625, 0.5625],
        [0.5, 0, 0.25, 1, 0.625, 0.3125],
        [0.5, 0.25, 0.625, 0.625, 1.125, 0.6875],
        [0.25, 0.625, 0.5625, 0.3125, 0.6875, 1.125],
    ]
    assert kinship(of, ["5"], ["6"])[0, 0] == 0.34375


def paths(table: Table, a: str, b: str) -> Fraction:
    """Kinship of two animals by Wright's sum over paths through common ancestors, by plain search; nothing shared."""

    def up(key: str) -> list[tuple[str, ...]]:
        """Every line of descent from an animal back to an ancestor, itself first."""
        lines = [(key,)]
        for parent in table.get(key, (None, None)):
            lines += [(key, *line) for line in up(parent)] if parent else []
        return lines

    total = Fraction(0)
    for one in up(a):
        for other in up(b):
            if one[-1] == other[-1] and not set(one[:-1]) & set(other[:-1]) and one[-1] not in (*one[:-1], *other[:-1]):
                sire, dam = table.get(one[-1], (None, None))
                of_ancestor = paths(table, sire, dam) if sire and dam else Fraction(0)
                total += Fraction(1, 2) ** (len(one) + len(other) - 1) * (1 + of_ancestor)
    return total


def tabular(table: list[tuple[int, int]]) -> np.ndarray:
    """The relationship matrix row by row, as the tabular method is taught (Henderson 1976); -1 is unknown."""
    n = len(table)
    a = np.zeros((n + 1, n + 1))
    for i, (s, d) in enumerate(table):
        a[i, :i] = a[:i, i] = (a[s, :i] + a[d, :i]) / 2
        a[i, i] = 1 + a[s, d] / 2
        a[n] = a[:, n] = 0
    return a[:n, :n]


@st.composite
def tables(draw, n_most: int) -> list[tuple[int, int]]:
    """Random pedigrees, parents before offspring, with loops and unknown parents."""
    n = draw(st.integers(2, n_most))
    return [(draw(st.integers(-1, i - 1)), draw(st.integers(-1, i - 1))) if i else (-1, -1) for i in range(n)]


def named(rows: list[tuple[int, int]]) -> dict[str, Parents]:
    texts = [*(f"a{i}" for i in range(len(rows))), None]
    return {f"a{i}": (texts[s], texts[d]) for i, (s, d) in enumerate(rows)}


@settings(deadline=None)
@given(tables(9))
def test_kinship_is_wrights_sum_over_paths(rows) -> None:
    table = named(rows)
    keys = list(table)
    found = kinship(pedigree(table), keys, keys)
    for i, a in enumerate(keys):
        for j, b in enumerate(keys[: i + 1]):
            if i != j:
                assert found[i, j] == float(paths(table, a, b))


@settings(deadline=None)
@given(tables(40), st.randoms())
def test_kinship_is_that_of_the_tabular_method_in_any_order_of_animals(rows, chance) -> None:
    table = named(rows)
    keys = list(table)
    chance.shuffle(keys)
    of = pedigree({key: table[key] for key in keys})
    a = tabular(rows)
    order = [int(key[1:]) for key in keys]
    assert np.allclose(2 * kinship(of, keys, keys), a[np.ix_(order, order)])
    assert np.allclose(inbreeding(of), np.diag(a)[[int(key[1:]) for key in of.keys]] - 1)


def test_an_animal_cannot_descend_from_itself() -> None:
    with pytest.raises(BadRegister, match="descends from itself"):
        pedigree(child("A B M", "B C N", "C A O", "D - -"))


def test_ten_thousand_animals_take_seconds() -> None:
    """20 generations of 500, 25 sires each: every F, and half the herd against 25 males."""
    rng = np.random.default_rng(7)
    table: dict[str, Parents] = {f"g0-{i}": (None, None) for i in range(500)}
    for g in range(1, 20):
        for i in range(500):
            table[f"g{g}-{i}"] = (f"g{g - 1}-{rng.integers(25)}", f"g{g - 1}-{rng.integers(25, 500)}")
    began = time.process_time()
    of = pedigree(table)
    coefficients = inbreeding(of)
    pairs = kinship(of, [f"g19-{i}" for i in range(25)], [f"g19-{i}" for i in range(25, 500)])
    took = time.process_time() - began
    assert took < 10
    assert coefficients.max() > 0.1
    rows = [tuple(of.place[p] if p else -1 for p in table[key]) for key in of.keys[:3000]]
    assert np.allclose(coefficients[:3000], np.diag(tabular(rows)) - 1)
    assert pairs.shape == (475, 25)


# ------------------------------------------------------------------------------------------------ who is the parent

HERD = [
    Animal("a1", "HB 100001", "001", "Bramble", Sex.MALE),
    Animal("a2", "HB 100002", "002", "Tansy", Sex.FEMALE, dam="a9", sire="Old Oak"),
    Animal("a3", "HB 100003", "003", "Tansy", Sex.CASTRATED, sire="old oak"),
    Animal("a4", name="Sorrel", sex=Sex.FEMALE, dam="tansy", sire="hb100001"),
    Animal("a5", name="Yarrow", dam="002", sire="Bramble"),
    Animal("a6", name="Burdock", sex=Sex.FEMALE, nicknames=("Dot",)),
    Animal("a7", name="Burdock", sex=Sex.FEMALE, dam="DOT", electronic="826012345600001"),
    Animal("a8", name="Teasel", dam="Burdock", sire="826012345600001"),
    Animal("a9", name="Campion", dam="the  Old Queen"),
    Animal("a10", name="The Old Queen"),
]


def test_parents_are_those_of_the_register() -> None:
    register = Register(HERD)
    found = parents_of(HERD)
    for one in HERD:
        sire, dam = register.sire(one), register.dam(one)
        for mine, theirs in zip(found[one.id], (sire, dam), strict=True):
            assert (mine if mine and not mine.startswith("outside:") else None) == (theirs.id if theirs else None), one
    assert found["a2"][0] == found["a3"][0] == "outside:old oak"
    assert found["a8"] == ("a7", None), "two does are called Burdock"


def test_young_of_one_outside_sire_are_half_sibs() -> None:
    of = pedigree(parents_of(HERD))
    assert kinship(of, ["a3"], ["a2"])[0, 0] == 1 / 8

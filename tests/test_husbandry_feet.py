"""Counts of foot health by hand, and exact statistics against other hands."""

from __future__ import annotations

import builtins
from datetime import date
from math import comb

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import LibraryMissing
from assistant.husbandry import feet
from assistant.husbandry.feet import Again, Share, tally
from assistant.husbandry.statistic import interval, paired_p
from assistant.store.outlook import Noted, Scored
from assistant.values import Animal, Species
from assistant.values.outlook import head

ROWS = [
    Noted("2026-03-01", "finding", "scald", "left hind", ["a1"]),
    Noted("2026-03-01", "action", "sprayed", "left hind", ["a1"]),
    Noted("2026-03-01", "finding", "sound", "left fore", ["a1", "a2"]),
    Noted("2026-03-01", "action", "trimmed", "right hind", ["a2"]),
    Noted("2026-03-01", "finding", "scald", "left fore", ["a3"]),
    Noted("2026-05-01", "finding", "crack", "left hind", ["a1"]),
    Noted("2026-05-01", "finding", "scald", "left hind", ["a1"]),
    Noted("2026-05-01", "finding", "scald", "right hind", ["a2"]),
    Noted("2026-05-01", "finding", "sound", "left fore", ["a3"]),
    Noted("2026-05-01", "finding", "sound", "left hind", ["a4"]),
]


def test_shares_are_of_those_looked_at() -> None:
    of = tally(ROWS)
    assert feet.by_finding(of) == (Share("scald", 3, 4), Share("crack", 1, 4))
    assert feet.by_foot(of) == (
        Share("left fore", 1, 3),
        Share("right fore", 0, 0),
        Share("left hind", 1, 2),
        Share("right hind", 1, 1),
        Share("fore feet", 1, 3),
        Share("hind feet", 2, 3),
    )
    assert feet.by_foot(of, "crack")[2:4] == (Share("left hind", 1, 2), Share("right hind", 0, 1))
    assert feet.worst(feet.by_foot(of)) == Share("right hind", 1, 1)
    assert feet.worst(feet.by_foot(of, "abscess")) is None


def test_shares_by_kind_month_and_repetition() -> None:
    of = tally(ROWS, "scald")
    groups = {"a1": "milkers", "a2": "milkers", "a3": "dry", "a4": ""}
    assert feet.by_kind(of, groups.__getitem__) == (Share("milkers", 2, 2), Share("dry", 1, 1))
    assert feet.by_kind(of, groups.__getitem__, fewest=2) == (Share("milkers", 2, 2),)
    assert feet.by_month(of) == (Share("March", 2, 3), Share("May", 2, 4))
    assert feet.again(of) == (Again("a1", "left hind", 2, date(2026, 5, 1)),)
    assert feet.again(tally(ROWS, "crack")) == ()


def test_change_pairs_each_animal_with_its_visit_before() -> None:
    """a1 ill and ill, a2 sound and ill, a3 ill and sound; a4 is seen for the first time."""
    got = feet.change(tally(ROWS))
    assert got is not None
    assert (got.day, got.before, got.after, got.n_new, got.n_gone) == (
        *(date(2026, 5, 1), Share("visit before", 2, 3), Share("2026-05-01", 2, 3), 1, 1),
    )
    assert feet.change(tally(ROWS[:5])) is None
    assert feet.change(tally([])) is None


def test_lameness_counts_by_the_scale_of_the_species() -> None:
    day = date(2026, 3, 1)
    goats, sheep = Species.GOAT, Species.SHEEP
    scores = [Scored(day, goats, 2, 5), Scored(day, goats, 3, 2), Scored(day, sheep, 2, 1), Scored(day, sheep, 1, 2)]
    assert feet.lameness_course(scores) == (Share("2026-03-01", 3, 10),)


@pytest.mark.parametrize(
    ("born", "day", "said"),
    [
        ("2020-02-29", "2021-02-28", "under 1 year"),
        ("2020-02-29", "2021-03-01", "1 year"),
        ("2020-02-29", "2024-02-29", "4 years"),
        ("2020-06-01", "2026-05-31", "5 years"),
        (None, "2026-05-31", ""),
    ],
)
def test_age_in_whole_years(born: str | None, day: str, said: str) -> None:
    animal = head(Animal("a1", name="Tansy", born=born and date.fromisoformat(born)))
    assert feet.age_class(animal, date.fromisoformat(day)) == said


# ------------------------------------------------------------------------------------------------------- statistics


def tail(k: int, n: int, p: float) -> float:
    """Chance of k or more of n, by the sum itself."""
    return sum(comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(k, n + 1))


# Clopper-Pearson intervals as printed in tables: 0 of 10 has 1 - 0.025^(1/10) = 0.3085; 1 of 10 0.0025 to 0.4450;
# 5 of 10 0.1871 to 0.8129 (Clopper & Pearson 1934; any table of exact binomial confidence limits).
@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    [(0, 10, 0.0, 0.3085), (1, 10, 0.0025, 0.4450), (5, 10, 0.1871, 0.8129), (10, 10, 0.6915, 1.0), (0, 0, 0.0, 1.0)],
)
def test_intervals_of_printed_tables(k: int, n: int, low: float, high: float) -> None:
    got = interval(k, n)
    assert (got.low, got.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


@settings(deadline=None)
@given(st.integers(1, 40).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_each_bound_leaves_two_and_a_half_per_cent_outside(kn: tuple[int, int]) -> None:
    k, n = kn
    got = interval(k, n)
    assert got.low <= k / n <= got.high
    assert k == 0 or tail(k, n, got.low) == pytest.approx(0.025)
    assert k == n or 1 - tail(k + 1, n, got.high) == pytest.approx(0.025)


# Twice the smaller tail of a fair coin: 1 and 9 of 10, 2 * 11 / 1024; 0 and 5 of 5, 2 / 32.
@pytest.mark.parametrize(
    ("new", "gone", "p"), [(1, 9, 22 / 1024), (9, 1, 22 / 1024), (0, 5, 2 / 32), (3, 3, 1.0), (0, 0, 1.0)]
)
def test_the_paired_test_is_that_of_a_fair_coin(new: int, gone: int, p: float) -> None:
    assert paired_p(new, gone) == pytest.approx(p)


@settings(deadline=None)
@given(st.integers(0, 30), st.integers(0, 30))
def test_the_paired_test_against_another_hand(new: int, gone: int) -> None:
    contingency = pytest.importorskip("statsmodels.stats.contingency_tables")
    theirs = contingency.mcnemar([[7, new], [gone, 9]], exact=True).pvalue
    assert paired_p(new, gone) == pytest.approx(min(1.0, theirs))


def test_the_interval_against_another_hand() -> None:
    proportion = pytest.importorskip("statsmodels.stats.proportion")
    for n in (1, 7, 30):
        for k in range(n + 1):
            low, high = proportion.proportion_confint(k, n, method="beta")
            got = interval(k, n)
            assert (got.low, got.high) == (pytest.approx(low, abs=1e-9), pytest.approx(high, abs=1e-9))


def test_without_scipy_one_sentence_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = builtins.__import__

    def without(name: str, *rest, **keys):
        if name.startswith("scipy"):
            raise ImportError(name)
        return whole(name, *rest, **keys)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(LibraryMissing, match=r"pip install 'handling-assistant\[statistics\]'"):
        interval(1, 2)

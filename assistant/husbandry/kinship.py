"""Relationship and inbreeding from pedigrees.

The coefficient of inbreeding F of an animal is the sum over common ancestors A of its parents, and over paths through
them, of (1/2)^(n1 + n2 + 1) (1 + F_A); it equals half the element of the relationship matrix for its parents. The
tabular method gives that matrix row by row, a_ij = (a_j,sire(i) + a_j,dam(i)) / 2 and a_ii = 1 + F_i. Here the same
numbers come from its factors, T D T', one column at a time, so that a large herd needs no matrix of its square.

Source: Wright, American Naturalist 56:330-338, 1922 (paths); Henderson, Biometrics 32:69-83, 1976 (tabular method and
factors); Colleau, Genetics Selection Evolution 34:409-421, 2002 (columns by two passes over the pedigree).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.husbandry.family import Pedigree

Numbers = NDArray[np.float64]

_AT_ONCE = 64
"""Columns worked out together; more are quicker and take more memory."""


def inbreeding(of: Pedigree) -> Numbers:
    """Coefficient of inbreeding of every animal, float64, shape (n,); 0 where a parent is unknown.

    An incomplete pedigree gives a floor, not the truth.
    """
    found = _with_unknown(of.n)
    has_both = (of.sire < of.n) & (of.dam < of.n)
    children: dict[int, list[int]] = {}
    for at in np.flatnonzero(has_both).tolist():
        children.setdefault(int(of.sire[at]), []).append(at)
    for generation in range(len(of.generations)):
        sires = [at for at in children if of.generation[at] == generation]
        for start in range(0, len(sires), _AT_ONCE):
            some = sires[start : start + _AT_ONCE]
            columns = _columns(of, some, found)
            for number, sire in enumerate(some):
                ids = np.array(children[sire])
                found[ids] = columns[of.dam[ids], number] / 2
    return found[: of.n]


def kinship(of: Pedigree, males: Sequence[str], females: Sequence[str]) -> Numbers:
    """F of the young of each pair, float64, shape (females, males); a pair with an unknown animal gives 0."""
    if not males or not females:
        return np.zeros((len(females), len(males)))
    root = of.part(males)
    known = inbreeding(root)
    found = _with_unknown(of.n)
    for key, value in zip(root.keys, known, strict=True):
        found[of.place[key]] = value
    rows = np.array([of.place.get(key, of.n) for key in females])
    whole = np.zeros((len(females), len(males)))
    for start in range(0, len(males), _AT_ONCE):
        some = [of.place.get(key, of.n) for key in males[start : start + _AT_ONCE]]
        whole[:, start : start + _AT_ONCE] = _columns(of, some, found)[rows] / 2
    return whole


def _with_unknown(n: int) -> Numbers:
    """Zeros for n animals, and -1 for the unknown parent, which adds nothing to what it is half of."""
    found = np.zeros(n + 1)
    found[n] = -1.0
    return found


def _columns(of: Pedigree, places: Sequence[int], known: Numbers) -> Numbers:
    """Columns of the relationship matrix, shape (n + 1, places); the last row, the unknown parent, is 0.

    Args:
        of: the pedigree.
        places: whose columns.
        known: F of all parents of the ancestors of `places`, as of `_with_unknown`.
    """
    columns = np.zeros((of.n + 1, len(places)))
    for number, start in enumerate(places):
        share = {start: 1.0}
        for at in of.ancestry([start]):
            mine, sire, dam = share[at], int(of.sire[at]), int(of.dam[at])
            for parent in (sire, dam):
                share[parent] = share.get(parent, 0.0) + mine / 2
            columns[at, number] = mine * (1 - (1 + known[sire]) / 4 - (1 + known[dam]) / 4)
    for places_now in of.generations[1:]:
        columns[places_now] += (columns[of.sire[places_now]] + columns[of.dam[places_now]]) / 2
    return columns

"""Relationship and inbreeding from pedigrees.

The coefficient of inbreeding F of an animal is the sum over common ancestors A of its parents, and over paths through
them, of (1/2)^(n1 + n2 + 1) (1 + F_A); it equals half the element of the relationship matrix for its parents. The
tabular method gives that matrix row by row, a_ij = (a_j,sire(i) + a_j,dam(i)) / 2 and a_ii = 1 + F_i. Here the same
numbers come from its factors, T D T', some columns at a time, so that a large herd needs no matrix of its square: once
up the pedigree for T', once down for T, through no more animals than can tell.

Source: Wright, American Naturalist 56:330-338, 1922 (paths); Henderson, Biometrics 32:69-83, 1976 (tabular method and
factors); Colleau, Genetics Selection Evolution 34:409-421, 2002 (columns by two passes over the pedigree).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.husbandry.family import Pedigree, Places

Numbers = NDArray[np.float64]

_AT_ONCE = 64
"""Columns worked out together; more are quicker and take more memory."""


def inbreeding(of: Pedigree) -> Numbers:
    """Coefficient of inbreeding of every animal, float64, shape (n,); 0 where a parent is unknown.

    An incomplete pedigree gives a floor, not the truth.
    """
    found = np.zeros(of.n)
    young = np.flatnonzero((of.sire < of.n) & (of.dam < of.n))
    young = young[np.argsort(of.sire[young], kind="stable")]
    for generation in range(len(of.generations)):
        # What a sire has in common with a dam needs F of its ancestors only, and these have sires of earlier ones.
        now = young[of.generation[of.sire[young]] == generation]
        sires, sire = np.unique(of.sire[now], return_inverse=True)
        for start in range(0, len(sires), _AT_ONCE):
            theirs = slice(*np.searchsorted(sire, (start, start + _AT_ONCE)))
            dams, dam = np.unique(of.dam[now[theirs]], return_inverse=True)
            found[now[theirs]] = (
                _related(of, sires[start : start + _AT_ONCE], dams, found)[dam, sire[theirs] - start] / 2
            )
    return found


def kinship(of: Pedigree, males: Sequence[str], females: Sequence[str]) -> Numbers:
    """F of the young of each pair, float64, shape (females, males); a pair with an unknown animal gives 0."""
    root = of.part(males)
    known = np.zeros(of.n)
    known[[of.place[key] for key in root.keys]] = inbreeding(root)
    unknown = of.n
    rows = np.array([of.place.get(key, unknown) for key in females], dtype=np.int64)
    whole = np.zeros((len(females), len(males)))
    for start in range(0, len(males), _AT_ONCE):
        some = [of.place.get(key, unknown) for key in males[start : start + _AT_ONCE]]
        whole[:, start : start + _AT_ONCE] = _related(of, np.array(some, dtype=np.int64), rows, known) / 2
    return whole


def _related(of: Pedigree, some: Places, others: Places, known: Numbers) -> Numbers:
    """Elements of the relationship matrix, shape (others, some); 0 for the unknown animal.

    Args:
        of: the pedigree.
        some: places of animals, columns.
        others: places of animals, rows.
        known: F of every animal that is a parent of one of `some` or of their ancestors.
    """
    is_ancestor = of.is_ancestor(some)
    known = np.append(known, -1.0)  # the unknown parent adds nothing to what it is half of
    columns = np.zeros((of.n + 1, len(some)))
    columns[some, np.arange(len(some))] = 1.0
    for places in reversed(of.generations):
        up = places[is_ancestor[places]]
        half = columns[up] / 2
        np.add.at(columns, of.sire[up], half)
        np.add.at(columns, of.dam[up], half)
        columns[up] *= (1 - (1 + known[of.sire[up]]) / 4 - (1 + known[of.dam[up]]) / 4)[:, None]
    columns[of.n] = 0.0
    tells = of.is_ancestor(others)
    for places in of.generations[1:]:
        down = places[tells[places]]
        columns[down] += (columns[of.sire[down]] + columns[of.dam[down]]) / 2
    return columns[others]

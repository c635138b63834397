"""Exact statistics on counts, for herds in which every group is small.

Sources: Clopper & Pearson, Biometrika 26:404-413, 1934 (interval of a share); McNemar, Psychometrika 12:153-157, 1947,
in its exact form (the same animals looked at twice).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from assistant.errors import LibraryMissing

CONFIDENCE = 0.95


@dataclass(frozen=True)
class Interval:
    """Bounds of a share, both from 0 to 1, that hold the truth with at least `CONFIDENCE`."""

    low: float
    high: float


def interval(n_affected: int, n_examined: int) -> Interval:
    """Exact binomial interval of a share; from 0 to 1 if nobody was examined.

    Raises:
        LibraryMissing: scipy is not installed.
        ValueError: more affected than examined, or a negative count.
    """
    if n_examined == 0 and n_affected == 0:
        return Interval(0.0, 1.0)
    found = _binomial(n_affected, n_examined).proportion_ci(CONFIDENCE, method="exact")
    return Interval(float(found.low), float(found.high))


def paired_p(n_new: int, n_gone: int) -> float:
    """How likely a change at least this uneven is if nothing changed but by chance; two-sided, from 0 to 1.

    Args:
        n_new: animals affected now and not before.
        n_gone: animals affected before and not now.

    Raises:
        LibraryMissing: scipy is not installed.
    """
    return float(_binomial(n_new, n_new + n_gone).pvalue) if n_new + n_gone else 1.0


def _binomial(k: int, n: int) -> Any:
    try:
        from scipy.stats import binomtest
    except ImportError as error:
        raise LibraryMissing(
            "Intervals and tests need scipy. Install it with: pip install 'handling-assistant[statistics]'"
        ) from error
    return binomtest(k, n)

"""Intervals of an SD, a correlation and a share."""

from __future__ import annotations

from math import atanh, sqrt, tanh

from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from assessments.evidence.results import LEVEL

Ends = tuple[float | None, float | None]
_Z = float(stats.norm.ppf((1 + LEVEL) / 2))


def sd_ends(sd: float, freedom: int) -> Ends:
    """The chi-squared interval of an SD of normal values; unit of the SD.

    >>> [round(one, 3) for one in sd_ends(1.0, 9)]
    [0.688, 1.826]
    """
    low, high = stats.chi2.ppf([(1 + LEVEL) / 2, (1 - LEVEL) / 2], freedom)
    return sd * sqrt(freedom / low), sd * sqrt(freedom / high)


def r_squared_ends(r: float, n: int) -> Ends:
    """The interval of r² from Fisher's z of r >= 0; none below four points or for r = 1.

    >>> [round(one, 3) for one in r_squared_ends(0.8, 12)]
    [0.175, 0.887]
    """
    if n < 4 or r > 1 - 1e-12:
        return None, None
    half = _Z / sqrt(n - 3)
    return max(tanh(atanh(r) - half), 0.0) ** 2, tanh(atanh(r) + half) ** 2


def share_ends(number: int, of: int) -> Ends:
    """Wilson's interval of a share; ``of`` is at least one.

    >>> [round(one, 4) for one in share_ends(1, 29)]
    [0.0061, 0.1718]
    """
    low, high = proportion_confint(number, of, alpha=1 - LEVEL, method="wilson")
    return max(float(low), 0.0), min(float(high), 1.0)

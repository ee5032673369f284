"""Shares of cases in which assessors agree, with their intervals."""

from __future__ import annotations

from typing import Any

import numpy as np
from statsmodels.stats.proportion import proportion_confint

from assessments.evidence.agreement.ratings import NEAR, paired, ratings_array, why_not
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import LEVEL, Figure, NotComputed, Result

WILSON = "Wilson"
CLOPPER_PEARSON = "Clopper-Pearson"
_METHODS = {WILSON: "wilson", CLOPPER_PEARSON: "beta"}
_SOURCES = {
    WILSON: "Wilson 1927, J. Am. Stat. Assoc. 22:209",
    CLOPPER_PEARSON: "Clopper & Pearson 1934, Biometrika 26:404",
}


def proportion_interval(
    count: int, n: int, *, method: str = WILSON, level: float = LEVEL
) -> tuple[float, float]:
    """The interval of the share ``count / n``: Wilson's score interval or the exact one.

    Wilson: (p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n). Clopper-Pearson: quantiles of the
    beta distribution. Both by statsmodels. Shares from 0 to 1; EvidenceError for counts that
    are no counts. Source: Wilson 1927; Clopper & Pearson 1934; compared in Newcombe 1998.

    >>> [round(end, 4) for end in proportion_interval(81, 263)]
    [0.2553, 0.3662]
    """
    if method not in _METHODS:
        raise EvidenceError("method", f"Choose one of {', '.join(_METHODS)}.")
    if n < 1 or not 0 <= count <= n:
        raise EvidenceError("count", "A count from 0 to n is needed, and n of at least 1.")
    if not 0 < level < 1:
        raise EvidenceError("level", "A confidence level between 0 and 1 is needed.")
    low, high = proportion_confint(count, n, alpha=1 - level, method=_METHODS[method])
    return max(0.0, float(low)), min(1.0, float(high))


def proportion(
    key: str, title: str, count: int, n: int, *, method: str = WILSON, none: str = ""
) -> Result:
    """The share ``count / n`` (0 to 1) with its 95 % interval; ``none`` says why there is none.

    Formula and source: see ``proportion_interval``. NotComputed where ``n`` is 0.

    >>> proportion("exact", "Exact agreement", 9, 10).value
    0.9
    """
    if n == 0:
        return NotComputed(key, title, none or "There is nothing to count yet.")
    low, high = proportion_interval(count, n, method=method)
    share = count / n
    return Figure(
        key,
        title,
        share,
        min(low, share),
        max(high, share),
        interval=f"{method}, {LEVEL:.0%}",
        n=n,
        indicative=True,
        source=_SOURCES[method],
    )


def exact_agreement(
    ratings: Any, *, method: str = WILSON, key: str = "exact", title: str = "Exact agreement"
) -> Result:
    """The share of units to which all their assessors gave the same rating, 0 to 1.

    ``ratings`` is units x assessors, nan a gap; units with one rating do not count. Interval:
    ``proportion_interval``. NotComputed with fewer than two assessors or no unit rated twice.

    >>> exact_agreement([[1, 1], [1, 2], [3, 3], [2, float("nan")]]).n
    3
    """
    return _within(ratings, NEAR, method, key, title)


def adjacent_agreement(
    levels: Any,
    *,
    method: str = WILSON,
    key: str = "adjacent",
    title: str = "At most one level apart (adjacent agreement)",
) -> Result:
    """The share of units whose assessors are at most one level apart, 0 to 1.

    ``levels`` is units x assessors and holds numbers of levels (0, 1, 2...). The rest as in
    ``exact_agreement``.

    >>> adjacent_agreement([[1, 1], [1, 2], [3, 1]]).value
    0.6666666666666666
    """
    return _within(levels, 1 + NEAR, method, key, title)


def _within(ratings: Any, most: float, method: str, key: str, title: str) -> Result:
    array = ratings_array(ratings)
    missing = why_not(key, title, array)
    if missing:
        return missing
    units = paired(array)
    apart = np.nanmax(units, axis=1) - np.nanmin(units, axis=1)
    return proportion(key, title, int((apart <= most).sum()), len(units), method=method)

"""Spearman's rank correlation with an interval, or the reason why there is none."""

from collections.abc import Sequence
from math import atanh, sqrt, tanh

from scipy.stats import norm, spearmanr

from assessments.evidence.results import LEVEL, Figure, NotComputed, Result

FEWEST = 8  # below it the interval would cover nearly everything
KEY, TITLE = "practice_result", "Rank correlation of practice and score (-1 to 1)"
SOURCE = "Spearman 1904; interval: Bonett & Wright 2000, Psychometrika 65:23 (from memory)"


def rank_correlation(x: Sequence[float], y: Sequence[float]) -> Result:
    """Return Spearman's coefficient of the pairs, from -1 to 1, ties by mean ranks (scipy).

    Interval: tanh(artanh r ± z √((1 + r²/2)/(n - 3))), Bonett & Wright 2000. NotComputed under
    ``FEWEST`` pairs, and where all x or all y are the same. Where the ranks agree wholly there
    is no interval.

    >>> rank_correlation([1, 2], [2, 1]).reason
    'It needs 8 people or more with both; there are 2.'
    """
    n = len(x)
    if n < FEWEST:
        reason = f"It needs {FEWEST} people or more with both; there {_are(n)}."
        return NotComputed(KEY, TITLE, reason)
    for values, what in ((x, "practised the same time"), (y, "reached the same score")):
        if len(set(values)) == 1:
            return NotComputed(KEY, TITLE, f"All {n} people {what}: there is nothing to compare.")
    r = float(spearmanr(x, y).statistic)
    low = high = None
    if abs(r) < 1:
        half = float(norm.ppf((1 + LEVEL) / 2)) * sqrt((1 + r * r / 2) / (n - 3))
        low, high = tanh(atanh(r) - half), tanh(atanh(r) + half)
    return Figure(
        KEY,
        TITLE,
        r,
        low,
        high,
        interval="" if low is None else f"Bonett-Wright, {LEVEL:.0%}",
        n=n,
        indicative=True,
        notes=("It says whether who practised longer scored higher, not why.",),
        source=SOURCE,
    )


def _are(n: int) -> str:
    return {0: "is none", 1: "is 1"}.get(n, f"are {n}")

"""Whether a criterion goes along with the rest of the work (discrimination).

A passing standard is a fixed mark, not a race: everyone may meet a criterion, and then these
figures are not there or near 0, which is no fault. Below 0 they say that those who did the rest
of the work well tended to miss this criterion; then its words, its limits or the way in which it
is measured want a look.
"""

from __future__ import annotations

import numpy as np
from scipy import stats
from statsmodels.stats.proportion import confint_proportions_2indep

from assessments.evidence.results import LEVEL, Figure, NotComputed, Result
from assessments.evidence.review.difficulty import NEAR
from assessments.evidence.scores import Array

FEWEST = 5
GROUP = 0.27
FEWEST_IN_GROUP = 3

ITEM_REST = ("item_rest", "Correlation with the rest of the work")
UPPER_LOWER = ("upper_lower", "Upper less lower group")
BY_RESULT = ("by_result", "Met the standard less did not yet")


def rest_shares(shares: Array, weights: Array) -> Array:
    """For each trainee and criterion the weighted mean share of all other criteria.

    ``shares`` is trainees x criteria, nan where there is none; ``weights`` one for each
    criterion. nan where that criterion or all others have no share.

    >>> rest_shares(np.array([[1.0, 0.0, 0.5]]), np.array([1.0, 1.0, 1.0])).round(2).tolist()
    [[0.25, 0.75, 0.5]]
    """
    known = ~np.isnan(shares)
    weight = np.where(known, weights, 0.0)
    points = weight * np.where(known, shares, 0.0)
    left = weight.sum(axis=1, keepdims=True) - weight
    rest = points.sum(axis=1, keepdims=True) - points
    usable = known & (left > NEAR)
    found: Array = np.where(usable, rest / np.where(usable, left, 1.0), np.nan)
    return found


def item_rest(shares: Array, rest: Array) -> Result:
    """Pearson's correlation of a criterion with the rest of the work, from -1 to 1.

    The criterion itself is left out of the rest, so that it is not compared with itself
    (corrected item-total correlation; point-biserial where the criterion is met or not).
    ``shares`` and ``rest`` hold one number for each trainee, nan where there is none. Interval:
    Fisher's z. NotComputed with fewer than 5 trainees or where either is all the same. Source:
    Henrysson 1963, Psychometrika 28:211; Fisher 1921, Metron 1:3 (from memory), by scipy.

    >>> found = item_rest(np.array([0, 0, 1, 1, 1.0]), np.array([0.2, 0.5, 0.4, 0.8, 0.9]))
    >>> round(found.value, 3)
    0.665
    """
    both = ~np.isnan(shares) & ~np.isnan(rest)
    mine, other = shares[both], rest[both]
    why = _why_not(mine, other)
    if why:
        return NotComputed(*ITEM_REST, why)
    result = stats.pearsonr(mine, other)
    interval = result.confidence_interval(LEVEL)
    value = float(np.clip(result.statistic, -1, 1))
    return Figure(
        *ITEM_REST,
        value,
        min(value, float(interval.low)),
        max(value, float(interval.high)),
        interval=f"Fisher's z, {LEVEL:.0%}",
        n=int(mine.size),
        indicative=True,
        source="Henrysson 1963, Psychometrika 28:211",
    )


def upper_lower(shares: Array, rest: Array) -> Result:
    """The mean share of the upper group less that of the lower group, from -1 to 1.

    The groups are the 27 % of the trainees with the best and with the poorest rest of the work,
    and whoever ties with the last of them. ``shares`` and ``rest`` as in ``item_rest``. Interval:
    Welch's t, which does not know that the groups were picked by their ends. NotComputed where
    a group would hold fewer than 3, or ties make the groups overlap. Source: Kelley 1939,
    J. Educ. Psychol. 30:17 (from memory).

    >>> found = upper_lower(np.repeat([0.0, 1.0], 6), np.arange(12) / 12)
    >>> found.value, found.n
    (1.0, 6)
    """
    both = ~np.isnan(shares) & ~np.isnan(rest)
    mine, other = shares[both], rest[both]
    size = int(GROUP * mine.size + 0.5)
    if size < FEWEST_IN_GROUP:
        why = f"Groups of at least {FEWEST_IN_GROUP} need 10 trainees; there are {mine.size}."
        return NotComputed(*UPPER_LOWER, why)
    order = np.sort(other)
    if order[-size] - order[size - 1] < NEAR:
        return NotComputed(*UPPER_LOWER, "Too many trainees did equally well on the rest.")
    upper = mine[other >= order[-size] - NEAR]
    lower = mine[other <= order[size - 1] + NEAR]
    value = float(upper.mean() - lower.mean())
    low, high, error = _welch(upper, lower, value)
    return Figure(
        *UPPER_LOWER,
        value,
        low,
        high,
        error,
        interval=f"Welch's t, {LEVEL:.0%}" if error else "",
        n=int(upper.size + lower.size),
        indicative=True,
        source="Kelley 1939, J. Educ. Psychol. 30:17",
    )


def _welch(upper: Array, lower: Array, value: float) -> tuple[float | None, ...]:
    """The ends of the interval and the standard error; None where all in both groups agree."""
    parts = [float(group.var(ddof=1)) / group.size for group in (upper, lower)]
    error = float(np.sqrt(sum(parts)))
    if error < NEAR:
        return None, None, None
    below = sum(
        part**2 / (group.size - 1) for part, group in zip(parts, (upper, lower), strict=True)
    )
    half = float(stats.t.ppf((1 + LEVEL) / 2, sum(parts) ** 2 / below)) * error
    return max(-1.0, value - half), min(1.0, value + half), error


def by_result(met: Array, passed: Array) -> Result:
    """The share who met the criterion among those who met the standard, less among the others.

    ``met`` and ``passed`` hold 1 or 0 for each trainee, nan where there is none. This compares
    with the standard itself and not with other trainees, so it suits a fixed mark best (Brennan's
    index B). A critical criterion is met by all who met the standard: there it rises with each
    trainee who missed it. Interval: Newcombe's hybrid of two score intervals. NotComputed with
    fewer than 5 trainees, or where all or none met the standard. Source: Brennan 1972, Educ.
    Psychol. Meas. 32:289 (from memory); Newcombe 1998, Stat. Med. 17:873, by statsmodels.

    >>> by_result(np.array([1, 1, 1, 0, 1.0]), np.array([1, 1, 1, 0, 0.0])).value
    0.5
    """
    both = ~np.isnan(met) & ~np.isnan(passed)
    mine, standard = met[both], passed[both] > 0.5
    if mine.size < FEWEST:
        return NotComputed(*BY_RESULT, _few(mine.size))
    if standard.all() or not standard.any():
        word = "All" if standard.all() else "None"
        return NotComputed(*BY_RESULT, f"{word} of those scored met the standard.")
    yes, no = mine[standard], mine[~standard]
    low, high = confint_proportions_2indep(
        yes.sum(), yes.size, no.sum(), no.size, method="newcomb", compare="diff", alpha=1 - LEVEL
    )
    value = float(yes.mean() - no.mean())
    return Figure(
        *BY_RESULT,
        value,
        min(value, float(low)),
        max(value, float(high)),
        interval=f"Newcombe, {LEVEL:.0%}",
        n=int(mine.size),
        indicative=True,
        source="Brennan 1972, Educ. Psychol. Meas. 32:289",
    )


def _few(n: int) -> str:
    return f"At least {FEWEST} trainees are needed; {n} were scored."


def _why_not(mine: Array, other: Array) -> str:
    if mine.size < FEWEST:
        return _few(mine.size)
    if np.ptp(mine) < NEAR:
        return "Everyone has the same score on it, so nothing can go along with it."
    if np.ptp(other) < NEAR:
        return "Everyone did equally well on the rest of the work."
    return ""

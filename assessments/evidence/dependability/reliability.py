"""Reliability from one administration: KR-20, KR-21, alpha, and the same with a cut in mind."""

from __future__ import annotations

from math import ceil

import numpy as np

from assessments.evidence.dependability.resampling import (
    DUST,
    NOTHING,
    Kernel,
    figure,
    ratio,
    resamples,
    whole,
)
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import NotComputed, Result
from assessments.evidence.scores import Array

NO_VARIANCE = (
    "All trainees have the same total: without differences between them there is nothing to"
    " work out. Score more trainees."
)


def kr20(met: Array, *, samples: int = 1000, seed: int = 1, key: str = "kr20") -> Result:
    """KR-20 of criteria that are met or not: n/(n-1) [1 - sum pq / s2].

    ``met``: trainees x criteria of 0 and 1; p the share that meets a criterion, q = 1 - p, s2
    the variance of the number met (divisor: trainees). No unit; 1 is perfect.
    Source: Kuder & Richardson 1937, Psychometrika 2, 151-160.

    Raises EvidenceError for other values, gaps or fewer than two criteria; NotComputed without
    variance or when it comes out at zero or below.

    >>> data = np.array([[1, 0, 0], [1, 1, 0], [1, 1, 1], [0, 0, 0], [1, 1, 1]])
    >>> round(kr20(data).value, 4)
    0.7941
    """
    array = _zero_one(met)
    return _reliability(
        key,
        "Reliability of the number of criteria met (KR-20)",
        lambda counts: alpha_of(array, counts),
        len(array),
        "Kuder & Richardson 1937",
        samples,
        seed,
    )


def alpha(
    values: Array,
    *,
    weights: Array | None = None,
    samples: int = 1000,
    seed: int = 1,
    key: str = "alpha",
) -> Result:
    """Coefficient alpha of weighted scores: n/(n-1) [1 - sum of variances / variance of total].

    ``values``: trainees x criteria, in shares; ``weights``: one a criterion, 1 when left out.
    No unit; 1 is perfect. On values of 0 and 1 it is KR-20.
    Source: Cronbach 1951, Psychometrika 16, 297-334.

    Raises EvidenceError for gaps or fewer than two criteria; NotComputed as ``kr20``.

    >>> round(alpha(np.array([[0.2, 0.4], [0.5, 0.5], [0.9, 0.7]])).value, 4)
    0.8421
    """
    array = weighted(values, weights)
    return _reliability(
        key,
        "Reliability of the overall score (alpha)",
        lambda counts: alpha_of(array, counts),
        len(array),
        "Cronbach 1951",
        samples,
        seed,
    )


def kr21(
    totals: Array, criteria: int, *, samples: int = 1000, seed: int = 1, key: str = "kr21"
) -> Result:
    """KR-21, which takes all criteria as equally hard: n/(n-1) [1 - M(n-M) / (n s2)].

    ``totals``: the number of criteria met by each trainee, out of ``criteria`` (n); M and s2
    their mean and variance (divisor: trainees). No unit; 1 is perfect.
    Source: Kuder & Richardson 1937, Psychometrika 2, 151-160.

    Raises EvidenceError for totals outside 0 to n; NotComputed as ``kr20``.

    >>> round(kr21(np.array([0, 4, 2, 0, 2, 2, 1, 3, 4, 5]), 5).value, 4)
    0.6552
    """
    array = checked_totals(totals, criteria)
    return _reliability(
        key,
        "Reliability with all criteria taken as equally hard (KR-21)",
        lambda counts: kr21_of(array, criteria, counts),
        len(array),
        "Kuder & Richardson 1937",
        samples,
        seed,
    )


def livingston_k2(reliability: float, variance: float, mean: float, cut: float) -> float:
    """Livingston's k2: (r s2 + (M - C)2) / (s2 + (M - C)2), the reliability about a cut.

    ``variance``, ``mean`` and ``cut`` in the same unit (squared for the variance; divisor:
    trainees). No unit; never below the reliability, which it equals with the cut at the mean.
    Source: Livingston 1972, Journal of Educational Measurement 9, 13-26.

    Raises EvidenceError for a reliability above 1, a variance below 0, or no spread about the
    cut at all.

    >>> round(livingston_k2(0.5, 2.0, 4.0, 2.0), 4)
    0.8333
    """
    if reliability > 1:
        raise EvidenceError("reliability", "A reliability is at most 1.")
    if variance < 0:
        raise EvidenceError("variance", "A variance is at least 0.")
    spread = variance + (mean - cut) ** 2
    if spread <= DUST:
        raise EvidenceError("variance", "Every score lies on the cut: there is nothing to tell.")
    return float((reliability * variance + (mean - cut) ** 2) / spread)


def k2(
    totals: Array,
    criteria: int,
    cut: float,
    *,
    samples: int = 1000,
    seed: int = 1,
    key: str = "k2",
) -> Result:
    """Livingston's k2 of the number of criteria met, with KR-21 as the reliability.

    ``cut`` in criteria met. The same number as Phi(lambda) by the short cut (Brennan 1980).
    Source: Livingston 1972. Errors as ``kr21``.

    >>> round(k2(np.array([0, 4, 2, 0, 2, 2, 1, 3, 4, 5]), 5, 4).value, 4)
    0.8364
    """
    array = checked_totals(totals, criteria)

    def kernel(counts: Array) -> Array:
        mean, variance = moments(array, counts)
        away = (mean - cut) ** 2
        return ratio(kr21_of(array, criteria, counts) * variance + away, variance + away)

    return _reliability(
        key,
        f"Reliability about the cut of {cut:g} criteria (Livingston's k²)",
        kernel,
        len(array),
        "Livingston 1972",
        samples,
        seed,
    )


def phi_short_cut(mean: float, variance: float, criteria: int, cut: float) -> float:
    """Phi(lambda) without variance components: 1 - [X(1-X) - S2] / {(n-1) [(X-l)2 + S2]}.

    ``mean`` X, ``variance`` S2 (divisor: trainees) and ``cut`` lambda of the share of criteria
    met, ``criteria`` n; for criteria that are met or not. No unit. With the cut at the mean it
    is KR-21. Source: Brennan 1980, in Berk (ed.), Criterion-Referenced Measurement; seen in a
    secondary source.

    Raises EvidenceError for fewer than two criteria or no spread about the cut.

    >>> round(phi_short_cut(0.46, 0.1044, 5, 0.8), 4)  # the scores of k2 above, as shares
    0.8364
    """
    if criteria < 2:
        raise EvidenceError("criteria", "At least two criteria are needed.")
    spread = (mean - cut) ** 2 + variance
    if spread <= DUST:
        raise EvidenceError("variance", "Every score lies on the cut: there is nothing to tell.")
    return 1 - (mean * (1 - mean) - variance) / ((criteria - 1) * spread)


def sem_at(share: float, criteria: int) -> float:
    """The standard error of the share of criteria met of a trainee at ``share``, as a share.

    sqrt(l (1 - l) / (n - 1)): the criteria are a sample from all that could have been asked.
    Source: Lord 1957, Educational and Psychological Measurement 17, 510-521.

    Raises EvidenceError for a share outside 0 to 1 or fewer than two criteria.

    >>> round(sem_at(0.7, 22), 3)
    0.1
    """
    if not 0 <= share <= 1:
        raise EvidenceError("share", "Give a share from 0 to 1.")
    if criteria < 2:
        raise EvidenceError("criteria", "At least two criteria are needed.")
    return float(np.sqrt(share * (1 - share) / (criteria - 1)))


def cut_in_criteria(cut: float, criteria: int) -> int:
    """The smallest number of criteria met that reaches the cut.

    >>> cut_in_criteria(0.7, 10), cut_in_criteria(0.71, 10)
    (7, 8)
    """
    if not 0 < cut <= 1:
        raise EvidenceError("cut", "The cut is a share above 0, at most 1.")
    return ceil(cut * criteria - 1e-9)


def checked_totals(totals: Array, criteria: int) -> Array:
    """The totals as an array of at least two, each a whole number from 0 to ``criteria``."""
    array = np.asarray(totals, dtype=float)
    if criteria < 2:
        raise EvidenceError("criteria", "At least two criteria are needed.")
    if array.ndim != 1 or len(array) < 2:
        raise EvidenceError("totals", "Give one total for each of at least two trainees.")
    if not np.isfinite(array).all() or array.min() < 0 or array.max() > criteria:
        raise EvidenceError("totals", f"Totals run from 0 to {criteria}.")
    if (array != np.round(array)).any():
        raise EvidenceError("totals", "Totals count criteria: give whole numbers.")
    return array


def weighted(values: Array, weights: Array | None) -> Array:
    """Trainees x criteria, each criterion times its weight, weights adding up to 1."""
    array = np.asarray(values, dtype=float)
    if array.ndim != 2 or min(array.shape) < 2:
        raise EvidenceError("values", "Give at least two trainees x two criteria.")
    if not np.isfinite(array).all():
        raise EvidenceError("values", "There are gaps: leave those trainees out.")
    shares = np.ones(array.shape[1]) if weights is None else np.asarray(weights, dtype=float)
    if shares.shape != array.shape[1:] or (shares < 0).any() or shares.sum() <= 0:
        raise EvidenceError("weights", "Give one weight of at least 0 for each criterion.")
    found: Array = array * (shares / shares.sum())
    return found


def moments(totals: Array, counts: Array) -> tuple[Array, Array]:
    """Mean and variance (divisor: trainees) of the totals in each resample."""
    people = len(totals)
    middle = totals.mean()
    away = totals - middle
    shift = counts @ away / people
    variance = np.maximum(counts @ away**2 / people - shift**2, 0.0)
    mean: Array = middle + shift
    return mean, np.where(variance <= DUST, 0.0, variance)


def alpha_of(values: Array, counts: Array) -> Array:
    """Coefficient alpha in each resample; nan without variance."""
    people, criteria = values.shape
    away = values - values.mean(axis=0)
    each = counts @ away**2 / people - (counts @ away / people) ** 2
    _, total = moments(values.sum(axis=1), counts)
    found: Array = criteria / (criteria - 1) * (1 - ratio(each.sum(axis=1), total))
    return found


def kr21_of(totals: Array, criteria: int, counts: Array) -> Array:
    """KR-21 in each resample; nan without variance."""
    mean, variance = moments(totals, counts)
    chance = ratio(mean * (criteria - mean), criteria * variance)
    found: Array = criteria / (criteria - 1) * (1 - chance)
    return found


def _zero_one(met: Array) -> Array:
    weighted(met, None)
    array = np.asarray(met, dtype=float)
    if not np.isin(array, (0, 1)).all():
        raise EvidenceError("met", "Give 1 for met and 0 for not met.")
    return array


def _reliability(
    key: str, title: str, kernel: Kernel, people: int, source: str, samples: int, seed: int
) -> Result:
    value = float(kernel(whole(people))[0])
    if np.isnan(value):
        return NotComputed(key, title, NO_VARIANCE)
    if value <= NOTHING:
        return NotComputed(
            key,
            title,
            f"It comes out at {min(round(value, 2), 0) + 0.0:.2f}: trainees differ from each other"
            " by no more than chance would make them. Score more trainees.",
        )
    drawn = kernel(resamples(people, samples, seed))
    return figure(key, title, value, drawn, seed=seed, n=people, source=source)

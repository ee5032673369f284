"""Intraclass correlation and standard error of measurement of scores on a scale."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any, Literal, get_args

import numpy as np
from scipy.stats import f as fisher

from assessments.evidence.agreement.ratings import paired, ratings_array, why_not
from assessments.evidence.agreement.resampling import (
    bootstrap_words,
    percentile_interval,
    resample_indices,
)
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import LEVEL, Figure, NotComputed, Result
from assessments.evidence.scores import Array

Form = Literal["1,1", "1,k", "C,1", "C,k", "A,1", "A,k"]
SOURCE = "McGraw & Wong 1996, Psychol. Methods 1:30; Shrout & Fleiss 1979, Psychol. Bull. 86:420"
SEM_SOURCE = "Shrout & Fleiss 1979, Psychol. Bull. 86:420 (variance components)"
ALIKE = (
    "The scores do not vary from attempt to attempt, so there is nothing for assessors to tell "
    "apart: double-score attempts of unlike quality."
)
LEVEL_MEANS = (
    "On average over the assessors all attempts have the same score: double-score attempts of "
    "unlike quality."
)
TINY = 1e-12


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """Analysis of variance of targets x assessors: mean squares and how many of each.

    ``between`` targets and ``within`` them (one way); ``raters`` and ``error`` (two way) are nan
    where there are gaps, and ``raters_each`` is then the n₀ of the unbalanced analysis.
    """

    between: float
    within: float
    raters: float
    error: float
    targets: int
    raters_each: float
    within_df: int


def mean_squares(scores: Any) -> MeanSquares:
    """The mean squares of scores (targets x assessors, nan a gap; units of score squared).

    One way with gaps: n₀ = (N - Σ kᵢ²/N)/(n-1). EvidenceError with fewer than two targets or a
    target that has one score only. Source: Shrout & Fleiss 1979; Searle 1971 (unbalanced).

    >>> squares = mean_squares([[9, 2], [6, 1], [8, 4], [7, 1]])
    >>> squares.raters, squares.targets
    (60.5, 4)
    """
    x = ratings_array(scores)
    each = (~np.isnan(x)).sum(axis=1)
    if len(x) < 2 or (each < 2).any():
        raise EvidenceError("scores", "Two targets or more, each with two scores or more.")
    n, total = len(x), int(each.sum())
    means = np.nanmean(x, axis=1)
    grand = np.nansum(x) / total
    between = float((each * (means - grand) ** 2).sum() / (n - 1))
    inside = float(np.nansum((x - means[:, None]) ** 2))
    within = inside / (total - n)
    if np.isnan(x).any():
        n0 = float((total - (each**2).sum() / total) / (n - 1))
        return MeanSquares(between, within, np.nan, np.nan, n, n0, total - n)
    k = x.shape[1]
    raters = float(n * ((x.mean(axis=0) - grand) ** 2).sum() / (k - 1))
    error = max(0.0, (inside - raters * (k - 1)) / ((n - 1) * (k - 1)))
    return MeanSquares(between, within, raters, error, n, k, total - n)


def icc(
    scores: Any, *, form: Form = "A,1", key: str = "icc", title: str = "Agreement on scores (ICC)"
) -> Result:
    """The intraclass correlation of scores (targets x assessors), at most 1.

    A: two-way random, absolute agreement; C: two-way, consistency; 1: one-way (assessors differ
    from target to target; gaps allowed, the interval then being approximate). "1" after the
    comma: of one assessor's score, "k": of the mean of all. With mean squares B (between), W, J
    (assessors), E, of n targets and k assessors: ICC(1,1) = (B-W)/(B+(k-1)W), ICC(C,1) =
    (B-E)/(B+(k-1)E), ICC(A,1) = (B-E)/(B+(k-1)E+k(J-E)/n); of the mean by Spearman-Brown. The
    intervals rest on F. EvidenceError for a form that is none of these or that takes no gaps;
    NotComputed without two assessors, two targets or variance. Source: McGraw & Wong 1996.

    >>> data = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
    >>> round(icc(data).value, 4)
    0.2898
    """
    if form not in get_args(Form):
        raise EvidenceError("form", f"Choose one of {'; '.join(get_args(Form))}.")
    units = _two_or_more(scores, key, title)
    if isinstance(units, NotComputed):
        return units
    if np.isnan(units).any() and form != "1,1":
        raise EvidenceError("scores", "With gaps only the form 1,1 can be computed.")
    squares = mean_squares(units)
    if squares.between + squares.within <= TINY:
        return NotComputed(key, title, ALIKE)
    value = _single(squares, form[0])
    ends = _ends(squares, form[0], value) if value is not None else None
    if form.endswith("k") and value is not None:
        k = squares.raters_each
        value = _of_mean(value, k)
        # Below what one score can have, the mean of k has no bound: cut off at -1.
        ends = ends and tuple(max(-1.0, _of_mean(end, k) or -1.0) for end in ends)
    if value is None:
        return NotComputed(key, title, LEVEL_MEANS)
    low, high = (None, None) if ends is None else (min(ends[0], value), max(ends[1], value))
    notes = () if value >= 0 else ("Below 0: the attempts differ less than the assessors do.",)
    return Figure(
        key,
        title,
        value,
        low,
        high,
        interval="none: too few differences to take it from" if ends is None else "F, 95%",
        n=len(units),
        indicative=True,
        notes=notes,
        source=SOURCE,
    )


def _two_or_more(scores: Any, key: str, title: str) -> Array | NotComputed:
    """The targets that two assessors scored, two of them at least; or why there are none."""
    array = ratings_array(scores)
    missing = why_not(key, title, array)
    if missing:
        return missing
    units = paired(array)
    if len(units) < 2:
        return NotComputed(
            key, title, "Only one attempt was scored by two assessors: double-score more."
        )
    return units


def _of_mean(value: float, k: float) -> float | None:
    """Spearman-Brown; None where it goes below every bound."""
    below = 1 + (k - 1) * value
    return None if below <= TINY else k * value / below


def _parts(squares: MeanSquares, kind: str) -> tuple[float, float]:
    """The mean square of the error, and what the assessors' levels add below the line (A)."""
    noise = squares.within if kind == "1" else squares.error
    extra = squares.raters_each * (squares.raters - noise) / squares.targets if kind == "A" else 0.0
    return noise, extra


def _single(squares: MeanSquares, kind: str) -> float | None:
    """ICC of a single assessor's score; None where targets and assessors are all alike."""
    noise, extra = _parts(squares, kind)
    below = squares.between + (squares.raters_each - 1) * noise + extra
    return None if below <= TINY else (squares.between - noise) / below


def _ends(squares: MeanSquares, kind: str, value: float) -> tuple[float, ...] | None:
    """The ends of its interval; None where there is no error, or no finite interval."""
    n, k = squares.targets, squares.raters_each
    noise, _ = _parts(squares, kind)
    b, j = squares.between, squares.raters
    if noise <= TINY:
        return None
    df = squares.within_df if kind == "1" else int((n - 1) * (k - 1))
    tail = (1 + LEVEL) / 2
    if kind != "A":
        low, high = (
            b / noise / float(fisher.ppf(tail, n - 1, df)),
            b / noise * float(fisher.ppf(tail, df, n - 1)),
        )
        return (low - 1) / (low + k - 1), (high - 1) / (high + k - 1)
    a = k * value / (n * (1 - value))
    c = 1 + k * value * (n - 1) / (n * (1 - value))
    spread = (a * j) ** 2 / (k - 1) + (c * noise) ** 2 / df
    if spread <= TINY**2:
        return None
    v = (a * j + c * noise) ** 2 / spread
    f_low, f_high = float(fisher.ppf(tail, n - 1, v)), float(fisher.ppf(tail, v, n - 1))
    if not (isfinite(f_low) and isfinite(f_high)):
        return None
    rest = k * j + (k * n - k - n) * noise
    below = f_low * rest + n * b, rest + n * f_high * b
    if min(below) <= TINY:
        return None
    least = -1 / (k - 1)
    low, high = n * (b - f_low * noise) / below[0], n * (f_high * b - noise) / below[1]
    return max(least, low), max(least, high)


def standard_error_of_measurement(
    scores: Any,
    *,
    samples: int = 1000,
    seed: int = 1,
    key: str = "sem",
    title: str = "Standard error of measurement between assessors",
) -> Result:
    """How far one assessor's score lies from the mean over assessors, in the units of ``scores``.

    √(σ²_assessors + σ²_error), σ²_assessors = max(0, (J-E)/n) and σ²_error = E, from the two-way
    analysis of scores (targets x assessors); √W where there are gaps. The interval is a
    percentile bootstrap over targets. NotComputed without two assessors, or with one target
    scored twice. Source: the variance components of Shrout & Fleiss 1979.

    >>> round(standard_error_of_measurement([[0.6, 0.7], [0.5, 0.5], [0.8, 0.7]]).value, 4)
    0.0707
    """
    units = _two_or_more(scores, key, title)
    if isinstance(units, NotComputed):
        return units
    value = float(_errors(units[None])[0])
    ends = percentile_interval(_errors(units[resample_indices(len(units), samples, seed)]))
    low, high = (None, None) if ends is None else (min(ends[0], value), max(ends[1], value))
    return Figure(
        key,
        title,
        value,
        low,
        high,
        interval="none: resampling shows no spread"
        if ends is None
        else bootstrap_words(samples, seed),
        n=len(units),
        indicative=True,
        source=SEM_SOURCE,
    )


def _errors(x: Array) -> Array:
    """The standard error of measurement of each of samples x targets x assessors."""
    known = ~np.isnan(x)
    each = known.sum(axis=2)
    filled = np.where(known, x, 0.0)
    means = filled.sum(axis=2) / each
    inside = (np.where(known, x - means[:, :, None], 0.0) ** 2).sum(axis=(1, 2))
    if not known.all():
        found: Array = np.sqrt(inside / (each - 1).sum(axis=1))
        return found
    n, k = x.shape[1], x.shape[2]
    grand = x.mean(axis=(1, 2))
    j = n * ((x.mean(axis=1) - grand[:, None]) ** 2).sum(axis=1) / (k - 1)
    e = np.maximum(inside - j * (k - 1), 0.0) / ((n - 1) * (k - 1))
    two_way: Array = np.sqrt(np.maximum((j - e) / n, 0.0) + e)
    return two_way

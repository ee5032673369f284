"""Krippendorff's alpha: any number of assessors, gaps, and any kind of scale."""

from __future__ import annotations

from typing import Any, Literal, get_args

import numpy as np

from assessments.evidence.agreement.ratings import counts, distinct, paired, ratings_array, why_not
from assessments.evidence.agreement.resampling import (
    bootstrap_words,
    percentile_interval,
    resample_counts,
)
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Figure, NotComputed, Result
from assessments.evidence.scores import Array

Scale = Literal["nominal", "ordinal", "interval", "ratio"]
SOURCE = "Krippendorff 2011, Computing Krippendorff's Alpha-Reliability; 2004, chapter 11"
ONE_VALUE = (
    "Every rating is the same, so agreement cannot be told from chance: "
    "double-score attempts of unlike quality."
)


def krippendorff_alpha(
    ratings: Any,
    *,
    scale: Scale = "nominal",
    samples: int = 1000,
    seed: int = 1,
    key: str = "alpha",
    title: str = "Agreement beyond chance (alpha)",
) -> Result:
    """Krippendorff's alpha of ratings (units x assessors, nan a gap); at most 1.

    α = 1 - D_o/D_e = 1 - (n-1) Σ o_ck δ²_ck / Σ n_c n_k δ²_ck, o the coincidences of values within
    units, n_c how often a value was given in units rated at least twice. δ² is 1 for any two
    values (nominal), the square of their distance in ranks between them (ordinal), (c-k)²
    (interval) or ((c-k)/(c+k))² (ratio). The interval is a percentile bootstrap over units.
    EvidenceError for a scale that is none of these, or values below 0 on a ratio scale;
    NotComputed with fewer than two assessors, no unit rated twice, or one value throughout.
    Source: Krippendorff 2011.

    >>> two = [[0, 1], [1, 1], [0, 1], [0, 0], [0, 0], [0, 1], [0, 0], [0, 0], [1, 0], [0, 0]]
    >>> round(krippendorff_alpha(two).value, 4)
    0.0952
    """
    if scale not in get_args(Scale):
        raise EvidenceError("scale", f"Choose one of {', '.join(get_args(Scale))}.")
    array = ratings_array(ratings)
    missing = why_not(key, title, array)
    if missing:
        return missing
    units = paired(array)
    values = distinct(units)
    if scale == "ratio" and values.min() < 0:
        raise EvidenceError("ratings", "A ratio scale has no values below 0.")
    given = counts(units, values)
    value = float(alpha_of_samples(given, values, scale, np.ones((1, len(given))))[0])
    if np.isnan(value):
        return NotComputed(key, title, ONE_VALUE)
    drawn = alpha_of_samples(given, values, scale, resample_counts(len(given), samples, seed))
    ends = percentile_interval(drawn)
    low, high = (None, None) if ends is None else (min(ends[0], value), max(ends[1], value))
    return Figure(
        key,
        title,
        value,
        low,
        high,
        interval="none: resampling shows no spread"
        if ends is None
        else bootstrap_words(samples, seed, "units"),
        n=len(units),
        indicative=True,
        source=SOURCE,
    )


def alpha_of_samples(given: Array, values: Array, scale: Scale, weights: Array) -> Array:
    """Alpha for each row of ``weights`` (samples x units); nan where all values are the same.

    ``given`` is units x values: how many gave the unit each of the ``values`` (rising).
    """
    each = given.sum(axis=1)
    often = weights @ given
    total = often.sum(axis=1)
    if scale == "ordinal":
        # The distance in ranks is that between the middles of the ranks each value takes up,
        # which differ from sample to sample.
        middle = often.cumsum(axis=1) - often / 2
        squares = middle**2 @ given.T
        within = 2 * squares - 2 * ((middle @ given.T) ** 2 - squares) / (each - 1)
        seen = (weights * within).sum(axis=1)
        chance = 2 * (total * (often * middle**2).sum(axis=1) - (often * middle).sum(axis=1) ** 2)
    else:
        apart = _distances(values, scale)
        seen = weights @ (((given @ apart) * given).sum(axis=1) / (each - 1))
        chance = ((often @ apart) * often).sum(axis=1)
    varied = (often > 0).sum(axis=1) > 1
    found: Array = np.where(varied, 1 - (total - 1) * seen / np.where(varied, chance, 1), np.nan)
    return found


def _distances(values: Array, scale: Scale) -> Array:
    """The squares of the distances between values."""
    apart: Array = np.subtract.outer(values, values)
    if scale == "nominal":
        unlike: Array = (apart != 0).astype(float)
        return unlike
    if scale == "ratio":
        both = np.add.outer(values, values)
        apart = np.divide(apart, both, out=np.zeros_like(apart), where=both != 0)
    squared: Array = apart**2
    return squared

"""Bootstrap intervals: whole trainees drawn again with replacement, all samples at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import LEVEL
from assessments.evidence.scores import Array

LEAST_DEFINED = 0.5


def resample_indices(n: int, samples: int, seed: int) -> NDArray[np.int64]:
    """Samples x n indices from 0 to n - 1, drawn with replacement from ``seed``.

    EvidenceError for fewer than 100 samples: an interval needs more.
    """
    if samples < 100:
        raise EvidenceError("samples", "Draw at least 100 samples; 1000 is usual.")
    if n < 1:
        raise EvidenceError("n", "There is nothing to draw from.")
    return np.random.default_rng(seed).integers(0, n, size=(samples, n))


def resample_counts(n: int, samples: int, seed: int) -> Array:
    """Samples x n: how often each of the n was drawn.

    >>> resample_counts(4, 100, seed=1).sum(axis=1).min()
    np.float64(4.0)
    """
    indices = resample_indices(n, samples, seed)
    places = indices + np.arange(samples)[:, None] * n
    found = np.bincount(places.ravel(), minlength=samples * n).reshape(samples, n)
    return found.astype(float)


def percentile_interval(values: Array, level: float = LEVEL) -> tuple[float, float] | None:
    """The percentile interval of resampled values, leaving out nan (samples without the figure).

    None where fewer than half of the samples have the figure, or where none differs from the
    others. Source: Efron & Tibshirani 1993, An Introduction to the Bootstrap, chapter 13.
    """
    known = values[~np.isnan(values)]
    if known.size < LEAST_DEFINED * values.size or np.ptp(known) <= 1e-12:
        return None
    low, high = np.quantile(known, [(1 - level) / 2, (1 + level) / 2])
    return float(low), float(high)


def bootstrap_words(samples: int, seed: int, over: str = "attempts") -> str:
    """How such an interval is described."""
    return f"bootstrap over {over}, percentile, {LEVEL:.0%}, {samples} samples, seed {seed}"

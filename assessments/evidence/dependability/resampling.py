"""Intervals by resampling trainees: all resamples at once, as how often each trainee was drawn."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import LEVEL, Figure
from assessments.evidence.scores import Array

# Below this a variance of shares or of counts is rounding, not a difference between trainees.
DUST = 1e-14
# A reliability of no more than this is none; with rounding, 0 can come out on either side.
NOTHING = 1e-12
# Below this number of trainees the interval says that it is rough (our own mark).
FEW = 12
Kernel = Callable[[Array], Array]


def whole(people: int) -> Array:
    """The cohort as it is: one row in which each trainee counts once."""
    return np.ones((1, people))


def resamples(people: int, samples: int, seed: int) -> Array:
    """How often each trainee is drawn: an array of samples x people, each row sums to people.

    Drawing people with replacement and counting them is one multinomial draw, so a statistic
    that is a weighted sum over trainees needs no loop over resamples.
    Source: Efron & Tibshirani 1993, An Introduction to the Bootstrap, chapter 6.

    Raises EvidenceError for fewer than one trainee or fewer than 100 samples.

    >>> drawn = resamples(5, 100, seed=1)
    >>> drawn.shape, set(drawn.sum(axis=1).tolist())
    ((100, 5), {5.0})
    """
    if people < 1:
        raise EvidenceError("people", "At least one trainee is needed to resample.")
    if samples < 100:
        raise EvidenceError("samples", "Take at least 100 resamples for an interval.")
    rng = np.random.default_rng(seed)
    return rng.multinomial(people, np.full(people, 1 / people), size=samples).astype(float)


def ratio(upper: Array, lower: Array) -> Array:
    """``upper / lower``, nan where the lower part is no more than rounding."""
    upper, lower = np.broadcast_arrays(upper, lower)
    found = np.full(upper.shape, np.nan)
    np.divide(upper, lower, out=found, where=np.abs(lower) > DUST)
    return found


def bounds(drawn: Array, level: float = LEVEL) -> tuple[float | None, float | None]:
    """The percentile interval of the resamples that have a value; none below half of them."""
    known = drawn[np.isfinite(drawn)]
    if known.size * 2 < drawn.size:
        return None, None
    low, high = np.quantile(known, [(1 - level) / 2, (1 + level) / 2])
    return float(low), float(high)


def figure(
    key: str,
    title: str,
    value: float,
    drawn: Array,
    *,
    seed: int,
    n: int,
    source: str,
    notes: tuple[str, ...] = (),
    indicative: bool = True,
) -> Figure:
    """A figure with its percentile interval, and with how that was come by."""
    known = drawn[np.isfinite(drawn)]
    low, high = bounds(drawn)
    interval = f"percentiles of {drawn.size} resamples of trainees, seed {seed}"
    if missing := drawn.size - known.size:
        notes = (*notes, f"{missing} of {drawn.size} resamples have no such figure.")
    if low is None:
        interval = "none: fewer than half of the resamples have such a figure"
    elif low == high:
        low = high = None
        interval = "none: the resamples differ too little from each other"
    elif n < FEW:
        notes = (*notes, f"With {n} trainees the interval is rough.")
    spread = None if low is None else float(known.std(ddof=1))
    return Figure(
        key=key,
        title=title,
        value=value,
        low=low,
        high=high,
        standard_error=spread,
        interval=interval,
        n=n,
        indicative=indicative,
        notes=notes,
        source=source,
    )

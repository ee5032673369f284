"""Where two normal curves cross: the score at which both groups are equally dense."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from assessments.evidence.judging.centre import TINY
from assessments.evidence.scores import Array


@dataclass(frozen=True, slots=True)
class Normal:
    """A group as a normal distribution; the SD is above 0."""

    mean: float
    sd: float


def normal_crossings(lower: Normal, upper: Normal, share: float = 0.5) -> tuple[float, ...]:
    """Every score at which share x upper's density equals (1 - share) x lower's, rising.

    ``share`` is the upper group's part of all, between 0 and 1. None, one or two roots of the
    quadratic that the logarithms give; unit of the means. Livingston & Zieky 1982, Passing
    Scores (contrasting groups); the quadratic is elementary.

    >>> [round(one, 3) for one in normal_crossings(Normal(50, 8), Normal(70, 6))]
    [60.745, 130.684]
    """
    square = 1 / (2 * upper.sd**2) - 1 / (2 * lower.sd**2)
    linear = lower.mean / lower.sd**2 - upper.mean / upper.sd**2
    rest = (
        upper.mean**2 / (2 * upper.sd**2)
        - lower.mean**2 / (2 * lower.sd**2)
        + log(upper.sd / lower.sd)
        + log((1 - share) / share)
    )
    if abs(square) <= 1e-12 * (1 / lower.sd**2 + 1 / upper.sd**2):
        return () if linear == 0 else (-rest / linear,)
    under = linear**2 - 4 * square * rest
    if under < 0:
        return ()
    # The stable form: the two parts of the larger root never cancel.
    half = -0.5 * (linear + np.copysign(np.sqrt(under), linear))
    roots = {half / square} | ({rest / half} if half != 0 else set())
    return tuple(sorted(float(root) for root in roots))


def between(lower: Normal, upper: Normal, share: float = 0.5) -> float | None:
    """The crossing between the means; None where there is none there.

    There are never two: from the lower mean to the upper one, the density of the lower group
    falls and that of the upper one rises.
    """
    if upper.mean - lower.mean <= TINY:
        return None
    roots = normal_crossings(lower, upper, share)
    return next((root for root in roots if lower.mean <= root <= upper.mean), None)


def resampled(low: Array, high: Array, equal: bool, samples: int, seed: int) -> Array:
    """The crossing between the means in samples drawn with replacement within each group.

    A sample without spread, or without a crossing between the means, is left out.
    """
    draw = np.random.default_rng(seed)
    share = 0.5 if equal else len(high) / (len(low) + len(high))
    lows = low[draw.integers(len(low), size=(samples, len(low)))]
    highs = high[draw.integers(len(high), size=(samples, len(high)))]
    found = [
        between(Normal(one, two), Normal(three, four), share)
        for one, two, three, four in zip(
            lows.mean(axis=1).tolist(),
            lows.std(axis=1, ddof=1).tolist(),
            highs.mean(axis=1).tolist(),
            highs.std(axis=1, ddof=1).tolist(),
            strict=True,
        )
        if two > 1e-9 and four > 1e-9
    ]
    return np.array([one for one in found if one is not None])

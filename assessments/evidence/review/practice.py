"""How a criterion worked on the day: left out, time taken, decisions that it made alone."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from assessments.evidence.agreement.proportions import proportion
from assessments.evidence.results import LEVEL, Figure, NotComputed, Result
from assessments.evidence.scores import Array

Flags = NDArray[np.bool_]
MINUTES = ("minutes", "Minutes taken (median)")


def missing_share(shares: Array, applies: Flags, ended: Flags) -> Result:
    """The share of ended attempts in which the criterion applied but nobody scored it.

    ``shares`` holds one share for each trainee, nan where there is none; ``applies`` and
    ``ended`` are flags for each trainee. Interval: Wilson 1927, J. Am. Stat. Assoc. 22:209.

    >>> missing_share(np.array([1, np.nan]), np.array([True, True]), np.array([True, True])).value
    0.5
    """
    counted = applies & ended
    gaps = int(np.count_nonzero(np.isnan(shares) & counted))
    return proportion(
        "missing",
        "Left without a score",
        gaps,
        int(np.count_nonzero(counted)),
        none="It applied in no attempt that has ended.",
    )


def median_minutes(minutes: Array) -> Result:
    """The median of the minutes taken, nan where not known.

    Interval: the two order statistics that hold the median by the binomial distribution; there
    is one from 6 times on. Source: Conover 1999, Practical Nonparametric Statistics, section 3.2
    (from memory), by scipy.

    >>> found = median_minutes(np.array([4, 5, 6, 7, 8, 30.0]))
    >>> found.value, found.low, found.high
    (6.5, 4.0, 30.0)
    """
    known = minutes[~np.isnan(minutes)]
    n = int(known.size)
    if n == 0:
        return NotComputed(*MINUTES, "No time was taken.")
    value = float(np.median(known))
    interval = stats.quantile_test(known, q=value, p=0.5).confidence_interval(LEVEL)
    found = bool(np.isfinite(interval.low) and np.isfinite(interval.high))
    return Figure(
        *MINUTES,
        value,
        float(interval.low) if found else None,
        float(interval.high) if found else None,
        interval=f"Order statistics, at least {LEVEL:.0%}" if found else "",
        n=n,
        indicative=True,
        source="Conover 1999, Practical Nonparametric Statistics, section 3.2" if found else "",
    )


def alone_share(alone: Flags, not_yet: Flags) -> Result:
    """The share of the decisions 'not yet met' that the criterion made alone.

    ``alone`` marks the trainees who would have met the standard without it, ``not_yet`` those
    who have not yet met it. Interval: Wilson 1927, J. Am. Stat. Assoc. 22:209.

    >>> alone_share(np.array([True, False, False]), np.array([True, True, False])).value
    0.5
    """
    return proportion(
        "alone",
        "Decided alone",
        int(np.count_nonzero(alone & not_yet)),
        int(np.count_nonzero(not_yet)),
        none="Nobody has not yet met the standard.",
    )

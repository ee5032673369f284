"""How hard a criterion was: who met it, and the share of its points that was reached."""

from __future__ import annotations

import numpy as np
from scipy import stats

from assessments.evidence.agreement.proportions import proportion
from assessments.evidence.results import LEVEL, Figure, NotComputed, Result
from assessments.evidence.scores import Array

NEAR = 1e-9


def share_met(shares: Array, needed: float) -> Result:
    """The share of the trainees scored who met the criterion, with Wilson's interval.

    ``shares`` holds one share from 0 to 1 for each trainee, nan where there is none; ``needed``
    is the share from which the criterion is met. Formula: p = met / scored, the difficulty index
    of a test item. Source: Crocker & Algina 1986, Introduction to Classical and Modern Test
    Theory, ch. 14 (from memory); interval: Wilson 1927, J. Am. Stat. Assoc. 22:209.

    >>> share_met(np.array([1, 1, 0, np.nan]), 1.0).value
    0.6666666666666666
    """
    known = shares[~np.isnan(shares)]
    met = int(np.count_nonzero(known >= needed - NEAR))
    return proportion("met", "Share who met it", met, known.size, none="Nobody was scored on it.")


def mean_share(shares: Array, key: str = "mean", title: str = "Mean share") -> Result:
    """The mean of the shares, with the interval of Student's t where they differ.

    ``shares`` as in ``share_met``. Mean ± t(n - 1) s / √n, cut off at 0 and 1. Source: Student
    1908, Biometrika 6:1; the distribution by scipy.

    >>> found = mean_share(np.array([0.2, 0.4, 0.6]))
    >>> round(found.value, 3), round(found.low, 3), round(found.high, 3)
    (0.4, 0.0, 0.897)
    """
    known = shares[~np.isnan(shares)]
    n = int(known.size)
    if n == 0:
        return NotComputed(key, title, "Nobody was scored on it.")
    mean = float(np.clip(known.mean(), 0, 1))
    spread = float(known.std(ddof=1)) if n > 1 else 0.0
    if spread < NEAR:
        note = "All have the same share, so there is no interval."
        return Figure(key, title, mean, n=n, indicative=True, notes=(note,) if n > 1 else ())
    error = spread / float(np.sqrt(n))
    half = float(stats.t.ppf((1 + LEVEL) / 2, n - 1)) * error
    return Figure(
        key,
        title,
        mean,
        max(0.0, mean - half),
        min(1.0, mean + half),
        error,
        interval=f"Student's t, {LEVEL:.0%}",
        n=n,
        indicative=True,
        source="Student 1908, Biometrika 6:1",
    )

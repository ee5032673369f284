"""The score at which competent and not competent are equally likely, by logistic regression."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt
from typing import Literal

import numpy as np
import statsmodels.api as sm
from numpy.typing import NDArray

from assessments.evidence.scores import Array

# Per SD of the scores: a slope below this is what rounding leaves of none.
_FLAT = 1e-6


@dataclass(frozen=True, slots=True)
class Logistic:
    """log odds of competent = intercept + slope x score; units follow from those of the score."""

    intercept: float
    slope: float
    slope_error: float
    cut: float
    cut_error: float

    def probability(self, score: float) -> float:
        """The fitted probability of being held competent."""
        return 1 / (1 + exp(-(self.intercept + self.slope * score)))


def separation(competent: NDArray[np.bool_], scores: Array) -> Literal["rising", "falling", "none"]:
    """Whether a score parts the groups wholly (they may touch); then there is no finite fit.

    Albert & Anderson 1984, Biometrika 71:1. Both groups have at least one score.
    """
    low, high = scores[~competent], scores[competent]
    if low.max() <= high.min():
        return "rising"
    return "falling" if high.max() <= low.min() else "none"


def logistic(competent: NDArray[np.bool_], scores: Array) -> Logistic | None:
    """The maximum-likelihood fit to groups that overlap; None where it is flat or does not settle.

    The cut is where the probability is one half, -intercept / slope; its standard error is that
    of the delta method, sqrt(V00 + 2 cut V01 + cut^2 V11) / |slope| with V the covariance of the
    coefficients. statsmodels; Agresti, Categorical Data Analysis, 3rd ed. 2013, section 5.1.

    >>> found = logistic(np.array([0, 0, 1, 0, 1, 1]) > 0, np.array([1, 2, 3, 4, 5, 6.0]))
    >>> round(found.cut, 3), round(found.cut_error, 3)
    (3.5, 0.93)
    """
    scale = float(scores.std())
    centred = (scores - scores.mean()) / scale
    fit = sm.Logit(competent.astype(float), sm.add_constant(centred)).fit(
        disp=0, maxiter=200, warn_convergence=False
    )
    if not fit.mle_retvals["converged"]:
        return None
    constant, slope = (float(one) for one in fit.params)
    if abs(slope) < _FLAT:
        return None
    variance = np.asarray(fit.cov_params())
    place = -constant / slope
    square = variance[0, 0] + 2 * place * variance[0, 1] + place**2 * variance[1, 1]
    mean = float(scores.mean())
    return Logistic(
        constant - slope * mean / scale,
        slope / scale,
        sqrt(float(variance[1, 1])) / scale,
        mean + scale * place,
        scale * sqrt(float(square)) / abs(slope),
    )

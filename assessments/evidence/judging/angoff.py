"""The modified Angoff method: a share for each criterion, from each judge."""

from __future__ import annotations

from collections.abc import Sequence

from numpy.typing import ArrayLike

from assessments.evidence.judging.estimates import Estimates, checked, shares
from assessments.evidence.judging.panel import recommend
from assessments.evidence.judging.recommendation import Recommendation

_SOURCE = "Angoff 1971"


def angoff(
    estimates: ArrayLike,
    weights: ArrayLike,
    *,
    judges: Sequence[str],
    items: Sequence[str],
    statistic: str = "mean",
    trim: float = 0.2,
    previous: ArrayLike | None = None,
    samples: int = 10_000,
    seed: int = 1,
) -> Recommendation:
    """The cut from estimates of how many masons who just meet the standard meet each criterion.

    ``estimates`` is J judges x I criteria of shares from 0 to 1, nan where there is none;
    ``weights`` I numbers of 0 or more; ``previous`` the estimates of the round before. A judge's
    cut is sum(weight x estimate) / sum(weight); the panel's is the mean, median or trimmed mean
    (``trim`` at each end) of the judges who estimated every criterion, a share of the overall
    score. Its standard error for the mean is SD / sqrt(J), the criteria as fixed; ``centre``
    says those of the others. The interval is cut ± t x standard error, which is also the band.
    Fewer than two judges without a gap: the cut is not computed. EvidenceError for shares out of
    range, wrong shapes and an unknown statistic.

    Angoff 1971, in Thorndike (ed.), Educational Measurement, 2nd ed., p. 508; Brennan & Lockwood
    1980, Appl. Psychol. Meas. 4:219; MacCann & Stanley 2004, Pract. Assess. Res. Eval. 9(5).

    >>> found = angoff([[0.6, 0.8], [0.7, 0.9]], [1, 3], judges=["A", "B"], items=["Bed", "Face"])
    >>> round(found.cut.value, 4), round(found.cut.standard_error, 4)
    (0.8, 0.05)
    """
    given = checked(estimates, weights, judges, items)
    before = None
    if previous is not None:
        before = Estimates(
            shares(previous, judges, items, "previous"), given.weights, given.judges, given.items
        )
    return recommend(
        "angoff",
        "The passing standard by the modified Angoff method",
        _SOURCE,
        given,
        statistic,
        trim=trim,
        samples=samples,
        seed=seed,
        before=before,
    )

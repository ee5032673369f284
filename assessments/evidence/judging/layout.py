"""Where the differences between estimates come from: judges, criteria, and the rest."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from assessments.evidence.scores import Array


@dataclass(frozen=True, slots=True)
class Layout:
    """Variance components and standard errors of the mean, in squared shares and shares."""

    judge: float
    criterion: float
    residual: float
    fixed: float
    random: float
    negative: tuple[str, ...]


def layout(estimates: Array) -> Layout:
    """The two-way layout judges x criteria, one estimate a cell, criteria unweighted.

    With mean squares MS: residual = MS_r; judge = (MS_j - MS_r) / I; criterion =
    (MS_i - MS_r) / J; a negative component is held at zero and named. Standard error of the mean
    with the criteria fixed: sqrt(MS_j / (J I)), which is SD / sqrt(J) of the judges' means;
    with the criteria taken as a sample of more: the root of its square plus criterion / I.
    Brennan & Lockwood 1980, Appl. Psychol. Meas. 4:219; MacCann & Stanley 2004, Pract. Assess.
    Res. Eval. 9(5). Needs at least two judges and two criteria, without gaps.

    >>> import numpy as np
    >>> found = layout(np.array([[0.6, 0.8], [0.7, 0.9]]))
    >>> round(found.judge, 6), round(found.criterion, 6), abs(round(found.residual, 6))
    (0.005, 0.02, 0.0)
    """
    judges, items = estimates.shape
    grand = estimates.mean()
    by_judge, by_item = estimates.mean(axis=1), estimates.mean(axis=0)
    judge_square = items * float(((by_judge - grand) ** 2).sum()) / (judges - 1)
    item_square = judges * float(((by_item - grand) ** 2).sum()) / (items - 1)
    rest = estimates - by_judge[:, None] - by_item[None, :] + grand
    residual = float((rest**2).sum()) / ((judges - 1) * (items - 1))
    judge, criterion = (judge_square - residual) / items, (item_square - residual) / judges
    negative = tuple(
        name
        for name, size in (("variance_judge", judge), ("variance_criterion", criterion))
        if size < -1e-15
    )
    cells = judges * items
    return Layout(
        max(judge, 0.0),
        max(criterion, 0.0),
        residual,
        sqrt(judge_square / cells),
        sqrt(judge_square / cells + max(criterion, 0.0) / items),
        negative,
    )

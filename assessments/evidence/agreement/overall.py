"""Overall scores of attempts: how far assessors lie apart, and whether they would decide alike."""

from __future__ import annotations

import numpy as np

from assessments.evidence.agreement.icc import icc, standard_error_of_measurement
from assessments.evidence.agreement.proportions import proportion
from assessments.evidence.agreement.ratings import paired
from assessments.evidence.results import NotComputed, Result, Table
from assessments.evidence.scores import Array, Scores

WHOLE = (
    "No attempt was scored on every criterion by two assessors: let two assessors score the same "
    "attempts in full, each alone."
)


def overall_scores(scores: Scores) -> Array:
    """Trainees x assessors: the overall score that one assessor's scores alone give, as a share.

    The weighted mean over the criteria that apply; nan where that assessor left one of them out,
    or where none that applies has a weight.
    """
    weights = np.where(scores.applies, scores.weights, 0.0)[:, :, None]
    gap = np.isnan(scores.values)
    whole = ~(gap & scores.applies[:, :, None]).any(axis=1)
    total = weights.sum(axis=1)
    sums = (np.where(gap, 0.0, scores.values) * weights).sum(axis=1)
    known = whole & (total > 0)
    found: Array = np.where(known, sums / np.where(total > 0, total, 1.0), np.nan)
    return found


def scored_in_full(scores: Scores) -> Array:
    """The overall scores of the attempts that two assessors or more scored in full."""
    units = paired(overall_scores(scores))
    found: Array = units[:, ~np.isnan(units).all(axis=0)]
    return found


def score_results(scores: Scores, *, samples: int, seed: int) -> tuple[Result, ...]:
    """ICC of one assessor's overall score and of the mean of all, and the error in percentage
    points.

    Where the same assessors scored every such attempt: ICC(A,1) and ICC(A,k). Where they differ
    from attempt to attempt: ICC(1,1), and the mean is NotComputed, as it has no fixed number.
    """
    single = ("icc_single", "Agreement on the overall score, one assessor")
    mean = ("icc_mean", "Agreement on the overall score, mean of the assessors")
    error = ("sem", "Standard error of one assessor's overall score, percentage points")
    units = scored_in_full(scores)
    if not len(units):
        return tuple(NotComputed(key, title, WHOLE) for key, title in (single, mean, error))
    sem = standard_error_of_measurement(
        units * 100, samples=samples, seed=seed, key=error[0], title=error[1]
    )
    if np.isnan(units).any():
        reason = (
            "The assessors differ from attempt to attempt, so their mean has no fixed number of "
            "scores: let the same assessors score all attempts that are scored twice."
        )
        return (
            icc(units, form="1,1", key=single[0], title=f"{single[1]}, ICC(1,1)"),
            NotComputed(*mean, reason),
            sem,
        )
    return (
        icc(units, form="A,1", key=single[0], title=f"{single[1]}, ICC(A,1)"),
        icc(units, form="A,k", key=mean[0], title=f"{mean[1]}, ICC(A,k)"),
        sem,
    )


def decisions(scores: Scores) -> tuple[Result, Table | None]:
    """The share of attempts on which each assessor's scores alone lead to the same side of the cut.

    Only the overall cut and the weights are looked at: not critical criteria, hold points or
    minimums of outcomes. Wilson interval. NotComputed without a cut or an attempt scored in full
    by two assessors. The table counts the attempts.
    """
    key, title = "decisions", "Same side of the overall cut, whichever assessor scored"
    if scores.cut is None:
        reason = "The standard has no overall cut: its criteria decide, and those are above."
        return NotComputed(key, title, reason), None
    units = scored_in_full(scores)
    if not len(units):
        return NotComputed(key, title, WHOLE), None
    known = ~np.isnan(units)
    reached = ((units >= scores.cut - 1e-12) & known).sum(axis=1)
    everyone, nobody = int((reached == known.sum(axis=1)).sum()), int((reached == 0).sum())
    rows = (
        ("Every assessor's scores reach the cut", everyone),
        ("No assessor's scores reach the cut", nobody),
        ("They differ", len(units) - everyone - nobody),
    )
    table = Table(
        "agreement_decisions",
        "What each assessor's scores alone would lead to",
        ("Overall scores", "Attempts"),
        rows,
    )
    return proportion(key, title, everyone + nobody, len(units)), table

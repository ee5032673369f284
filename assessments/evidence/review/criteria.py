"""Each criterion with all that is known of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assessments.evidence.results import Result
from assessments.evidence.review.advice import advice
from assessments.evidence.review.difficulty import NEAR, mean_share, share_met
from assessments.evidence.review.discrimination import (
    by_result,
    item_rest,
    rest_shares,
    upper_lower,
)
from assessments.evidence.review.practice import alone_share, median_minutes, missing_share
from assessments.evidence.scores import Item, Scores


@dataclass(frozen=True, slots=True)
class CriterionReview:
    """A criterion: difficulty, discrimination, how it worked on the day, and what to do."""

    item: Item
    met: Result
    mean: Result
    item_rest: Result
    upper_lower: Result
    by_result: Result
    missing: Result
    minutes: Result
    alone: Result
    advice: tuple[str, ...]


def review_criteria(scores: Scores) -> tuple[CriterionReview, ...]:
    """The criteria in their order; each share is the mean over the assessors who scored.

    What does not apply to a trainee counts neither as a score nor as a gap.
    """
    shares = np.where(scores.applies, scores.combined(), np.nan)
    rest = rest_shares(shares, scores.weights)
    results = np.array(scores.results, dtype=object)
    ended = results != ""
    not_yet = results == "not_yet_met"
    passed = np.where(results == "met", 1.0, np.where(not_yet, 0.0, np.nan))
    found = []
    for number, item in enumerate(scores.items):
        mine = shares[:, number]
        met_or_not = np.where(np.isnan(mine), np.nan, (mine >= item.met_share - NEAR) * 1.0)
        met = share_met(mine, item.met_share)
        correlation = item_rest(mine, rest[:, number])
        missing = missing_share(mine, scores.applies[:, number], ended)
        alone = alone_share(scores.alone[:, number], not_yet)
        found.append(
            CriterionReview(
                item=item,
                met=met,
                mean=mean_share(mine),
                item_rest=correlation,
                upper_lower=upper_lower(mine, rest[:, number]),
                by_result=by_result(met_or_not, passed),
                missing=missing,
                minutes=median_minutes(scores.minutes[:, number]),
                alone=alone,
                advice=advice(
                    critical=item.critical,
                    met=met,
                    item_rest=correlation,
                    missing=missing,
                    alone=alone,
                ),
            )
        )
    return tuple(found)

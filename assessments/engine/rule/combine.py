"""One result of a criterion from those of its assessors.

Where something is still open, a criterion has two scores: ``low`` when all that is open falls
badly, ``high`` when it falls well. What holds for both is decided; the rest is undecided.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from assessments.engine.kinds import CriterionResult, Result
from assessments.engine.numbers import Exact, tidy, to_fraction
from assessments.engine.standard import Criterion, PassRule


class Combined(NamedTuple):
    """A criterion's result over all assessors; scores are None where it does not count.

    ``sure``: met however the open parts fall; ``possible``: met if they fall well.
    """

    result: Result
    low: Exact | None
    high: Exact | None
    sure: bool
    possible: bool
    assessors: int


def combine(criterion: Criterion, results: list[CriterionResult], rule: PassRule) -> Combined:
    """Join the assessors' results by the pass rule.

    - Fewer complete observations than the assessors required: missing.
    - Not applicable when every assessor says so. When they differ, the scores that there are
      count; under ``agreement`` the criterion is open.
    - ``mean``: the mean score; ``lower``: the lowest; ``agreement``: open between the lowest
      and the highest. Met is a score of at least the criterion's threshold.
    - Within the guard band counts as not met; where the standard says ``undecided`` it is open
      as long as only one assessor has measured.
    """
    if len(results) == 1 and rule.required == 1:
        # The usual case, which the rest would only take longer for.
        result, score, _, _ = results[0]
        if score is not None and result != "within_guard_band":
            return _alone(result, score, criterion.rule.threshold)
    complete = [each for each in results if each.result != "missing"]
    count = len(complete)
    if count < rule.required:
        return Combined("missing", None, None, False, False, count)
    scored = [each for each in complete if each.score is not None]
    if not scored:
        return Combined("not_applicable", None, None, True, True, count)
    threshold = criterion.rule.threshold
    agreement = rule.combine == "agreement"
    if agreement and len(scored) < count:
        return Combined("disagreed", 0, 1, False, True, count)
    low = _join([_score(each, 0) for each in scored], rule, best=False)
    band_counts = 1 if rule.guard_band == "undecided" and count < 2 else 0
    high = _join([_score(each, band_counts) for each in scored], rule, best=agreement)
    sure, possible = low >= threshold, high >= threshold
    if sure:
        called: Result = "met"
    elif _join([_score(each, 1) for each in scored], rule, best=agreement) < threshold:
        called = "not_met"
    elif any(each.result == "within_guard_band" for each in scored):
        called = "within_guard_band"
    else:
        called = "disagreed"
    return Combined(called, low, high, sure, possible, count)


@lru_cache(maxsize=1024)
def _alone(result: Result, score: Exact, threshold: Exact) -> Combined:
    """One assessor's score, with nothing open."""
    met = score >= threshold
    return Combined(result, score, score, met, met, 1)


def _score(result: CriterionResult, band: int) -> Exact:
    """A score, with what is within the guard band counted as so much."""
    if result.result == "within_guard_band":
        return band
    assert result.score is not None
    return result.score


def _join(scores: list[Exact], rule: PassRule, *, best: bool) -> Exact:
    if len(scores) == 1:
        return scores[0]
    if best:
        return max(scores)
    if rule.combine == "mean":
        return tidy(to_fraction(sum(scores)) / len(scores))
    return min(scores)

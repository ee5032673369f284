"""The review of criteria against general-purpose libraries, recomputed here in another way."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest
from scipy import stats

from assessments.evidence.results import Figure, Result
from assessments.evidence.review import review_criteria
from assessments.evidence.review.difficulty import share_met
from assessments.evidence.review.discrimination import by_result, item_rest, upper_lower
from assessments.evidence.review.practice import median_minutes
from tests.evidence.review.builders import cohort


def figure(result: Result) -> Figure:
    assert isinstance(result, Figure), result
    return result


@pytest.fixture
def pingouin() -> Any:
    """pingouin warns of what other packages do when it is imported."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pingouin

        return pingouin


def shares_of(number: int) -> tuple[Any, Any]:
    """The shares of a criterion and the weighted mean of the others, trainee by trainee."""
    scores = cohort()
    mine, rest = [], []
    for trainee in range(len(scores.trainees)):
        given = {
            criterion: np.nanmean(scores.values[trainee, criterion])
            for criterion in range(len(scores.items))
            if scores.applies[trainee, criterion]
            and not np.isnan(scores.values[trainee, criterion]).all()
        }
        if number in given:
            mine.append(given.pop(number))
            rest.append(np.average(list(given.values())))
    return np.array(mine), np.array(rest)


@pytest.mark.parametrize("number", range(14))
def test_item_rest_correlation_by_pingouin(pingouin: Any, number: int) -> None:
    """pingouin.corr, Pearson with its 95 % interval (recomputed)."""
    found = figure(review_criteria(cohort())[number].item_rest)
    mine, rest = shares_of(number)
    expected = pingouin.corr(mine, rest).iloc[0]
    assert found.n == expected["n"]
    assert found.value == pytest.approx(expected["r"], abs=1e-9)
    low, high = expected["CI95"] if "CI95" in expected else expected["CI95%"]
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.006)


def test_a_criterion_met_or_not_is_a_point_biserial() -> None:
    """scipy.stats.pointbiserialr (recomputed)."""
    draw = np.random.default_rng(3)
    rest = draw.random(30)
    met = np.where(rest + draw.normal(0, 0.4, 30) > 0.5, 1.0, 0.0)
    expected = stats.pointbiserialr(met, rest).statistic
    assert figure(item_rest(met, rest)).value == pytest.approx(expected)


def test_the_mean_by_scipy() -> None:
    """scipy.stats.ttest_1samp and its interval (recomputed)."""
    mine, _ = shares_of(2)
    found = figure(review_criteria(cohort())[2].mean)
    low, high = stats.ttest_1samp(mine, 0.5).confidence_interval(0.95)
    assert (found.value, found.low, found.high) == pytest.approx((mine.mean(), low, high))
    assert found.standard_error == pytest.approx(stats.sem(mine))


def test_groups_by_scipy() -> None:
    """scipy.stats.ttest_ind of the two groups, unequal variances (recomputed)."""
    draw = np.random.default_rng(5)
    rest = draw.random(40)
    mine = np.clip(rest + draw.normal(0, 0.3, 40), 0, 1)
    ranked = mine[np.argsort(rest)]
    upper, lower = ranked[-11:], ranked[:11]
    low, high = stats.ttest_ind(upper, lower, equal_var=False).confidence_interval(0.95)
    found = figure(upper_lower(mine, rest))
    assert found.value == pytest.approx(upper.mean() - lower.mean())
    assert (found.low, found.high) == pytest.approx((low, high))


def test_the_share_who_met_it_by_hand_from_wilson() -> None:
    """Newcombe 1998, Stat. Med. 17:857, table I: 81 of 263 by Wilson is 0.2553 to 0.3662
    (value from memory)."""
    found = figure(share_met(np.repeat([1.0, 0.0], [81, 182]), 1.0))
    assert found.low == pytest.approx(0.2553, abs=5e-5)
    assert found.high == pytest.approx(0.3662, abs=5e-5)


def test_two_shares_by_newcombe() -> None:
    """Newcombe 1998, Stat. Med. 17:873, table II: 56/70 less 48/80 by method 10 is 0.0524 to
    0.3339 (value from memory)."""
    met = np.repeat([1.0, 0.0, 1.0, 0.0], [56, 14, 48, 32])
    passed = np.repeat([1.0, 0.0], [70, 80])
    found = figure(by_result(met, passed))
    assert found.value == pytest.approx(0.2)
    assert (found.low, found.high) == pytest.approx((0.0524, 0.3339), abs=5e-5)


@pytest.mark.parametrize(("n", "rank"), [(6, 1), (9, 2), (12, 3), (20, 6), (30, 10)])
def test_order_statistics_of_the_median(n: int, rank: int) -> None:
    """Ranks of the 95 % interval of a median in tables of the sign test: for n = 6, 9, 12, 20
    and 30 the interval runs from the 1st, 2nd, 3rd, 6th and 10th value to those from above
    (values from memory; recomputed by the binomial distribution)."""
    assert stats.binom.cdf(rank - 1, n, 0.5) <= 0.025 < stats.binom.cdf(rank, n, 0.5)
    found = figure(median_minutes(np.arange(1.0, n + 1)))
    assert (found.low, found.high) == (rank, n + 1 - rank)

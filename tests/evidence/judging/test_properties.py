"""What holds for every panel and every cohort."""

from __future__ import annotations

from math import isnan, nan
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from assessments.evidence.judging import borderline_regression, contrasting_groups, hofstee
from assessments.evidence.judging.centre import STATISTICS, Centre, centre
from assessments.evidence.judging.crossing import Normal, normal_crossings
from assessments.evidence.judging.estimates import checked
from assessments.evidence.judging.panel import criteria_table
from assessments.evidence.results import Figure
from tests.evidence.judging.builders import panel

# Shares as people give them.
SHARES = st.integers(0, 100).map(lambda whole: whole / 100)
SHAPES = st.tuples(st.integers(2, 6), st.integers(1, 5))
WHOLE = SHAPES.flatmap(lambda shape: arrays(float, shape, elements=SHARES))
GAPS = SHAPES.flatmap(lambda shape: arrays(float, shape, elements=st.one_of(SHARES, st.just(nan))))


def cuts_of(estimates: Any, weights: Any) -> Any:
    """The judges' cuts, named by their places."""
    judges, items = ([str(one) for one in range(size)] for size in estimates.shape)
    return checked(estimates, weights, judges, items).cuts()


@given(WHOLE, st.sampled_from(STATISTICS), st.data())
def test_cut_lies_among_the_judges_and_order_does_not_matter(
    estimates: Any, statistic: str, data: st.DataObject
) -> None:
    weights = data.draw(arrays(float, estimates.shape[1], elements=st.integers(1, 5).map(float)))
    cuts = cuts_of(estimates, weights)
    found = centre(cuts, statistic, samples=50)
    assert isinstance(found, Centre)
    assert cuts.min() - 1e-9 <= found.value <= cuts.max() + 1e-9
    assert cuts.min() >= estimates.min() - 1e-9
    other = centre(cuts[data.draw(st.permutations(range(len(cuts))))], statistic, samples=50)
    assert isinstance(other, Centre)
    assert other.value == pytest.approx(found.value)
    if statistic != "median":
        assert (other.standard_error or 0.0) == pytest.approx(found.standard_error or 0.0)


@given(WHOLE, st.sampled_from(STATISTICS), st.integers(1, 30))
def test_adding_to_every_estimate_moves_the_cut_alone(
    estimates: Any, statistic: str, more: int
) -> None:
    lower = estimates * 0.7
    weights = np.ones(estimates.shape[1])
    one = centre(cuts_of(lower, weights), statistic, samples=50)
    other = centre(cuts_of(lower + more / 100, weights), statistic, samples=50)
    assert isinstance(one, Centre)
    assert isinstance(other, Centre)
    assert other.value == pytest.approx(one.value + more / 100)
    assert (other.standard_error or 0.0) == pytest.approx(one.standard_error or 0.0, abs=1e-9)


@given(GAPS)
def test_gaps_are_never_filled_in(estimates: Any) -> None:
    judges, items = ([str(one) for one in range(size)] for size in estimates.shape)
    found = checked(estimates, np.ones(len(items)), judges, items)
    gaps = found.gaps()
    assert {row[:2] for row in gaps.rows} == {
        (str(judge), str(item))
        for judge, row in enumerate(estimates)
        for item, share in enumerate(row)
        if isnan(share)
    }
    for judge, cut in enumerate(found.cuts()):
        assert isnan(cut) == np.isnan(estimates[judge]).any()
    for item, row in enumerate(criteria_table(found).rows):
        known = estimates[:, item][~np.isnan(estimates[:, item])]
        assert row[2] == len(known)
        assert row[3] == (pytest.approx(known.mean()) if len(known) else None)


@settings(max_examples=15, deadline=None)
@given(GAPS, st.sampled_from(STATISTICS))
def test_every_panel_gets_an_answer(estimates: Any, statistic: str) -> None:
    judges, items = ([str(one) for one in range(size)] for size in estimates.shape)
    found = panel(estimates, np.ones(len(items)), judges=judges, items=items, statistic=statistic)
    whole = estimates[~np.isnan(estimates).any(axis=1)]
    assert isinstance(found.cut, Figure) == (len(whole) >= 2)
    if isinstance(found.cut, Figure):
        assert found.cut.n == len(whole)
        means = whole.mean(axis=1)
        assert means.min() - 1e-9 <= found.cut.value <= means.max() + 1e-9


COHORTS = st.lists(st.tuples(st.integers(1, 5), SHARES), max_size=12)


@settings(max_examples=30, deadline=None)
@given(COHORTS)
def test_borderline_answers_within_the_scale_or_says_why(cohort: list[tuple[int, float]]) -> None:
    ratings, scores = [row[0] for row in cohort], [row[1] for row in cohort]
    cut = borderline_regression(ratings, scores).cut
    if isinstance(cut, Figure):
        slope, intercept = np.polyfit(ratings, scores, 1)
        assert slope > 0
        assert cut.value == pytest.approx(intercept + 3 * slope, abs=1e-9)
        assert 0 <= cut.value <= 1
    else:
        assert cut.reason


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.booleans(), SHARES), max_size=12))
def test_groups_answer_within_the_scale_or_say_why(cohort: list[tuple[bool, float]]) -> None:
    held, scores = [row[0] for row in cohort], [row[1] for row in cohort]
    cut = contrasting_groups(held, scores, samples=20).cut
    if not isinstance(cut, Figure):
        assert cut.reason
        return
    assert 0 <= cut.value <= 1
    above = [score for one, score in cohort if one]
    below = [score for one, score in cohort if not one]
    parted = max(below) <= min(above)
    assert (cut.standard_error is None) == parted


@settings(max_examples=30, deadline=None)
@given(st.lists(SHARES, min_size=1, max_size=15), st.integers(0, 60), st.integers(1, 39))
@example([0.0], 2, 1)  # 0.03 - 0.02 falls short of 0.01 as a float
def test_sense_check_is_the_first_cut_over_the_line(
    scores: list[float], least: int, width: int
) -> None:
    assume(least + width <= 100)
    low, high = least / 100, (least + width) / 100
    cut = hofstee(scores, low, high, 0.1, 0.5, samples=20).cut

    def over(hundredths: int) -> bool:
        failing = sum(score * 100 < hundredths - 1e-6 for score in scores) / len(scores)
        return failing >= 0.5 - 0.4 * (hundredths - least) / width - 1e-9

    first = next((one for one in range(least, least + width + 1) if over(one)), None)
    too_many = sum(score * 100 < least - 1e-6 for score in scores) / len(scores) > 0.5 + 1e-9
    if first is None or too_many:
        assert not isinstance(cut, Figure)
    else:
        assert isinstance(cut, Figure)
        assert cut.value == pytest.approx(first / 100)


@given(*[st.floats(0.01, 1.0)] * 4, st.floats(0.01, 0.99))
def test_curves_cross_once_at_most_between_their_means(
    low: float, low_sd: float, more: float, high_sd: float, share: float
) -> None:
    roots = normal_crossings(Normal(low, low_sd), Normal(low + more, high_sd), share)
    assert len([root for root in roots if low <= root <= low + more]) <= 1
    for root in roots:
        # Far out both densities are nought to any accuracy, so their logarithms are compared.
        lower, upper = (
            stats.norm.logpdf(root, mean, sd) for mean, sd in ((low, low_sd), (low + more, high_sd))
        )
        assert np.log(share) + upper == pytest.approx(np.log(1 - share) + lower, rel=1e-6, abs=1e-6)

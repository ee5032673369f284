"""The statistics of agreement: what cannot be computed, and input that cannot be used."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from assessments.evidence.agreement.ac1 import brennan_prediger, gwet_ac1
from assessments.evidence.agreement.alpha import krippendorff_alpha
from assessments.evidence.agreement.icc import icc, mean_squares, standard_error_of_measurement
from assessments.evidence.agreement.kappa import agreement_weights, cohen_kappa
from assessments.evidence.agreement.proportions import (
    adjacent_agreement,
    exact_agreement,
    proportion,
    proportion_interval,
)
from assessments.evidence.agreement.ratings import cross_table, ratings_array
from assessments.evidence.agreement.resampling import percentile_interval, resample_counts
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Figure, NotComputed
from tests.evidence.agreement.cohorts import NAN

EVERY: list[Any] = [
    exact_agreement,
    adjacent_agreement,
    gwet_ac1,
    brennan_prediger,
    krippendorff_alpha,
    icc,
    standard_error_of_measurement,
]


@pytest.mark.parametrize("statistic", EVERY)
@pytest.mark.parametrize(
    ("ratings", "words"),
    [
        (np.empty((0, 2)), "Fewer than two assessors"),
        ([[1], [2]], "Fewer than two assessors"),
        ([[1, NAN], [2, NAN]], "Fewer than two assessors"),
        ([[1, NAN], [NAN, 2]], "Nothing was scored by two assessors"),
    ],
)
def test_nothing_scored_twice(statistic: Any, ratings: Any, words: str) -> None:
    found = statistic(ratings)
    assert isinstance(found, NotComputed)
    assert words in found.reason
    assert "let " in found.reason, "it says what would help"


@pytest.mark.parametrize("statistic", EVERY)
@pytest.mark.parametrize(
    "ratings", [[1, 2], [[1, 2], [3]], [["a", "b"]], [[1, float("inf")]], [[[1, 2]]]]
)
def test_ratings_that_are_none(statistic: Any, ratings: Any) -> None:
    with pytest.raises(EvidenceError, match="ratings"):
        statistic(ratings)


def test_one_category_throughout() -> None:
    same = [[2, 2]] * 5
    kappa = cohen_kappa([[5, 0], [0, 0]])
    alpha = krippendorff_alpha(same)
    for found in (kappa, alpha, icc(same)):
        assert isinstance(found, NotComputed)
        assert "attempts of unlike quality" in found.reason
    known = gwet_ac1(same, categories=[0, 1, 2])
    assert isinstance(known, Figure)
    assert known.value == 1
    assert known.low is None
    alone = gwet_ac1(same)
    assert isinstance(alone, NotComputed)
    assert "name the categories" in alone.reason


def test_kappa_of_an_empty_table() -> None:
    found = cohen_kappa([[0, 0], [0, 0]])
    assert isinstance(found, NotComputed)
    assert "double-score" in found.reason


def test_perfect_kappa_claims_no_certainty() -> None:
    found = cohen_kappa([[3, 0], [0, 4]])
    assert isinstance(found, Figure)
    assert (found.value, found.low, found.standard_error) == (1, None, None)
    assert "never differed" in found.interval


def test_intervals_stay_within_what_can_be() -> None:
    for found in (cohen_kappa([[2, 1], [0, 1]]), gwet_ac1([[0, 0], [1, 1], [0, 1]])):
        assert isinstance(found, Figure)
        assert found.low is not None
        assert found.high is not None
        assert -1 <= found.low < found.value < found.high <= 1


@pytest.mark.parametrize(
    "table", [[[1, 2]], [[1]], [[1, -1], [0, 2]], [[1, NAN], [0, 2]], [["x", 1], [1, 1]]]
)
def test_tables_that_are_none(table: Any) -> None:
    with pytest.raises(EvidenceError, match="table"):
        cohen_kappa(table)


@pytest.mark.parametrize(
    "weights",
    [
        "cubic",
        [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
        [[1, 2], [2, 1]],
        [[1, -0.5], [-0.5, 1]],
        [[0.5, 0], [0, 1]],
        [[1, 0.5], [0, 1]],
        [[1, 1], [1, 1]],
    ],
)
def test_weights_that_are_none(weights: Any) -> None:
    with pytest.raises(EvidenceError, match="weights"):
        cohen_kappa([[3, 1], [1, 3]], weights=weights)


def test_weights_need_two_categories() -> None:
    with pytest.raises(EvidenceError, match="size"):
        agreement_weights("linear", 1)


def test_ratings_outside_the_categories() -> None:
    with pytest.raises(EvidenceError, match="categories"):
        gwet_ac1([[0, 1], [1, 1]], categories=[1, 2])
    with pytest.raises(EvidenceError, match="categories"):
        cross_table([0, 1], [1, 2], [0, 1])
    with pytest.raises(EvidenceError, match="second"):
        cross_table([0, 1], [1], [0, 1])


def test_categories_that_nobody_gave_count() -> None:
    ratings = [[0, 0], [0, 1], [1, 1], [1, 1]]
    two, four = (gwet_ac1(ratings, categories=range(n)) for n in (2, 4))
    assert isinstance(two, Figure)
    assert isinstance(four, Figure)
    assert two.value < four.value


def test_gaps_leave_units_out_of_pairs() -> None:
    whole = exact_agreement([[1, 1], [1, 2]])
    gaps = exact_agreement([[1, 1, NAN], [1, NAN, 2], [NAN, 3, NAN]])
    assert isinstance(whole, Figure)
    assert isinstance(gaps, Figure)
    assert (gaps.value, gaps.n) == (whole.value, whole.n) == (0.5, 2)


def test_three_assessors_agree_when_all_do() -> None:
    ratings = [[1, 1, 1], [1, 1, 2], [0, 1, 2]]
    exact, adjacent = exact_agreement(ratings), adjacent_agreement(ratings)
    assert isinstance(exact, Figure)
    assert isinstance(adjacent, Figure)
    assert (exact.value, adjacent.value) == pytest.approx((1 / 3, 2 / 3))


@pytest.mark.parametrize(("count", "n"), [(-1, 3), (4, 3), (0, 0)])
def test_counts_that_are_none(count: int, n: int) -> None:
    with pytest.raises(EvidenceError, match="count"):
        proportion_interval(count, n)


def test_interval_that_there_is_not() -> None:
    with pytest.raises(EvidenceError, match="method"):
        proportion_interval(1, 3, method="Wald")
    with pytest.raises(EvidenceError, match="level"):
        proportion_interval(1, 3, level=1)


def test_share_of_nothing() -> None:
    found = proportion("share", "Share", 0, 0, none="Score something first.")
    assert isinstance(found, NotComputed)
    assert found.reason == "Score something first."


def test_scale_of_alpha() -> None:
    with pytest.raises(EvidenceError, match="scale"):
        krippendorff_alpha([[1, 2], [1, 1]], scale="circular")  # type: ignore[arg-type]
    with pytest.raises(EvidenceError, match="below 0"):
        krippendorff_alpha([[-1, 2], [1, 1]], scale="ratio")
    zero = krippendorff_alpha([[0, 0], [1, 2], [2, 2]], scale="ratio")
    assert isinstance(zero, Figure)
    assert 0 < zero.value < 1


def test_alpha_with_its_interval() -> None:
    ratings = np.random.default_rng(1).integers(0, 3, (25, 2)).astype(float)
    ratings[:18, 1] = ratings[:18, 0]
    found = krippendorff_alpha(ratings, scale="ordinal", samples=500, seed=7)
    assert isinstance(found, Figure)
    assert found.low is not None
    assert found.high is not None
    assert found.low < found.value < found.high <= 1
    assert "500 samples, seed 7" in found.interval
    assert found == krippendorff_alpha(ratings, scale="ordinal", samples=500, seed=7)
    assert found != krippendorff_alpha(ratings, scale="ordinal", samples=500, seed=8)


def test_icc_with_gaps_is_one_way() -> None:
    gaps = [[0.5, 0.6, NAN], [0.9, NAN, 0.8], [NAN, 0.2, 0.3], [0.6, 0.6, 0.7]]
    with pytest.raises(EvidenceError, match="gaps"):
        icc(gaps, form="A,1")
    found = icc(gaps, form="1,1")
    assert isinstance(found, Figure)
    assert 0.8 < found.value < 1
    # n0 of the unbalanced analysis by hand: (9 - (4+4+4+9)/9)/3
    assert mean_squares(gaps).raters_each == pytest.approx((9 - 21 / 9) / 3)


def test_icc_of_assessors_apart_by_a_constant() -> None:
    apart = [[0.3, 0.4], [0.5, 0.6], [0.8, 0.9]]
    consistent, absolute = icc(apart, form="C,1"), icc(apart, form="A,1")
    assert isinstance(consistent, Figure)
    assert isinstance(absolute, Figure)
    assert consistent.value == pytest.approx(1)
    assert absolute.value < 0.95
    assert absolute.low is None
    assert absolute.interval.startswith("none")


def test_icc_below_zero_says_so() -> None:
    found = icc([[0.1, 0.9], [0.8, 0.2], [0.5, 0.4], [0.9, 0.2]])
    assert isinstance(found, Figure)
    assert found.value < 0
    assert "Below 0" in found.notes[0]


def test_icc_without_anything_to_tell_apart() -> None:
    crossed = [[0.0, 1.0], [1.0, 0.0]]
    for form in ("A,1", "A,k", "1,k", "C,k"):
        found = icc(crossed, form=form)
        assert isinstance(found, NotComputed), form
        assert "same score" in found.reason
    one = icc([[0.5, 0.6]])
    assert isinstance(one, NotComputed)
    assert "Only one attempt" in one.reason
    with pytest.raises(EvidenceError, match="form"):
        icc(crossed, form="B,1")  # type: ignore[arg-type]


def test_mean_squares_need_two_of_each() -> None:
    for scores in ([[1, 2]], [[1], [2]], [[1, 2], [3, NAN]]):
        with pytest.raises(EvidenceError, match="scores"):
            mean_squares(scores)


def test_sem_of_one_attempt_and_of_perfect_agreement() -> None:
    one = standard_error_of_measurement([[0.5, 0.6]])
    assert isinstance(one, NotComputed)
    assert "double-score more" in one.reason
    none = standard_error_of_measurement([[0.5, 0.5], [0.7, 0.7]])
    assert isinstance(none, Figure)
    assert (none.value, none.low) == (0, None)


def test_sem_with_gaps_is_the_spread_within() -> None:
    found = standard_error_of_measurement([[0.5, 0.7, NAN], [0.4, NAN, 0.4]])
    assert isinstance(found, Figure)
    assert found.value**2 == pytest.approx((0.01 + 0.01) / 2)


def test_resampling_by_its_bounds() -> None:
    assert (resample_counts(5, 200, seed=1).sum(axis=1) == 5).all()
    with pytest.raises(EvidenceError, match="samples"):
        resample_counts(5, 99, seed=1)
    with pytest.raises(EvidenceError, match="n"):
        resample_counts(0, 100, seed=1)


def test_percentiles_leave_undefined_samples_out() -> None:
    assert percentile_interval(np.array([NAN, 0.0, 1.0])) == pytest.approx((0.025, 0.975))
    assert percentile_interval(np.array([NAN, NAN, NAN, 0.0, 1.0])) is None
    assert percentile_interval(np.array([0.5, 0.5])) is None
    assert percentile_interval(np.array([NAN])) is None


def test_lists_become_arrays() -> None:
    assert ratings_array([(1, 2), (3, NAN)]).shape == (2, 2)

"""How judgements become a cut, against values from outside and by second roads.

Seen: read in the source or in what its publisher ships. From memory: the source was not at hand.
Constructed: our own numbers, worked out by hand and with a general-purpose library.
"""

from __future__ import annotations

from itertools import product
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import scipy.stats
import statsmodels.api as sm
from sklearn.linear_model import LinearRegression, LogisticRegression

from assessments.evidence.judging import (
    DIFFICULTY,
    RELEVANCE,
    angoff,
    borderline_regression,
    contrasting_groups,
    ebel,
    ebel_counts,
    hofstee,
)
from assessments.evidence.judging.centre import Centre, centre
from assessments.evidence.judging.crossing import Normal, normal_crossings
from assessments.evidence.judging.layout import layout
from assessments.evidence.judging.line import fitted
from assessments.evidence.judging.logistic import logistic
from assessments.evidence.results import Figure, Result, Section

# Constructed: five judges x six criteria.
PANEL = np.array(
    [
        [0.80, 0.70, 0.60, 0.90, 0.75, 0.65],
        [0.85, 0.60, 0.55, 0.95, 0.80, 0.70],
        [0.75, 0.65, 0.50, 0.85, 0.70, 0.60],
        [0.90, 0.75, 0.70, 0.95, 0.85, 0.75],
        [0.80, 0.70, 0.55, 0.90, 0.70, 0.65],
    ]
)
JUDGES = list("ABCDE")
ITEMS = ["Face", "Joint", "Arris", "Bed", "Return", "Sill"]
# A cut of 1 is all six criteria.
SIX = 6


def figure(result: Result) -> Figure:
    """The result, which must be a figure."""
    assert isinstance(result, Figure), result
    return result


def named(section: Section, key: str) -> Figure:
    """The figure of that key."""
    return figure(next(result for result in section.figures if result.key == key))


# Ebel 1972, Essentials of Educational Measurement, p. 494: relevance, difficulty, number of
# items, share. From memory; the counts sum to 500 and the total was recomputed.
EBEL = [
    ("essential", "easy", 94, 1.00),
    ("important", "easy", 106, 0.90),
    ("important", "medium", 153, 0.70),
    ("acceptable", "easy", 24, 0.80),
    ("acceptable", "medium", 49, 0.60),
    ("acceptable", "hard", 52, 0.40),
    ("questionable", "easy", 4, 0.70),
    ("questionable", "medium", 11, 0.50),
    ("questionable", "hard", 7, 0.30),
]


def test_the_table_of_ebel() -> None:
    found = figure(
        ebel_counts(
            {(relevance, difficulty): number for relevance, difficulty, number, _ in EBEL},
            {(relevance, difficulty): share for relevance, difficulty, _, share in EBEL},
        )
    )
    assert found.n == 500
    assert found.value * 500 == pytest.approx(376.3)
    assert found.value == pytest.approx(0.7526)


def test_the_table_of_ebel_by_a_panel() -> None:
    # One criterion for each row of the table, with the count as its weight.
    placements = [(relevance, difficulty) for relevance, difficulty, _, _ in EBEL]
    shares = {(relevance, difficulty): share for relevance, difficulty, _, share in EBEL}
    found = ebel(
        [placements, placements],
        [shares, shares],
        [number for _, _, number, _ in EBEL],
        judges=["A", "B"],
        items=[" ".join(place) for place in placements],
    )
    assert figure(found.cut).value == pytest.approx(0.7526)
    cells = next(table for table in found.section.tables if table.key == "cells")
    assert {row[:5] for row in cells.rows} == {
        (*place, 2, 2, shares[place]) if place in shares else (*place, 0, 0, None)
        for place in product(RELEVANCE, DIFFICULTY)
    }


def test_angoff_mean() -> None:
    found = angoff(PANEL, np.ones(6), judges=JUDGES, items=ITEMS)
    # Constructed; SD / sqrt(J) and the t interval recomputed with scipy.stats.
    cut = figure(found.cut)
    assert cut.value * SIX == pytest.approx(4.420)
    assert named(found.section, "spread").value * SIX == pytest.approx(0.3094, abs=5e-5)
    assert cut.standard_error is not None
    assert cut.standard_error * SIX == pytest.approx(0.1384, abs=5e-5)
    assert cut.low is not None
    assert cut.high is not None
    assert [SIX * cut.low, SIX * cut.high] == pytest.approx([4.036, 4.804], abs=5e-4)
    sums = PANEL.sum(axis=1)
    ends = scipy.stats.t.interval(0.95, 4, loc=sums.mean(), scale=scipy.stats.sem(sums))
    assert (SIX * cut.low, SIX * cut.high) == pytest.approx(ends)
    judges = next(table for table in found.section.tables if table.key == "judges")
    cuts = [row[1] for row in judges.rows]
    assert np.array(cuts, dtype=float) * SIX == pytest.approx([4.40, 4.45, 4.05, 4.90, 4.30])


def test_angoff_median() -> None:
    found = angoff(PANEL, np.ones(6), judges=JUDGES, items=ITEMS, statistic="median")
    assert figure(found.cut).value * SIX == pytest.approx(4.40)


def test_angoff_components() -> None:
    # Constructed; formulas of Brennan & Lockwood 1980 and MacCann & Stanley 2004 (from memory).
    section = angoff(PANEL, np.ones(6), judges=JUDGES, items=ITEMS).section
    keys = ("variance_judge", "variance_criterion", "variance_residual")
    assert [named(section, key).value for key in keys] == pytest.approx(
        [0.002475, 0.013725, 0.001108], abs=5e-7
    )
    assert named(section, "se_fixed").value * SIX == pytest.approx(0.1384, abs=5e-5)
    assert named(section, "se_random").value * SIX == pytest.approx(0.3186, abs=5e-5)


def test_components_by_the_table_of_statsmodels() -> None:
    judge, item = (axis.ravel() for axis in np.indices(PANEL.shape))
    dummies = [(judge == one) * 1.0 for one in range(1, 5)]
    columns = [(item == one) * 1.0 for one in range(1, 6)]
    flat = PANEL.ravel()

    def left(*groups: list[Any]) -> float:
        given = np.column_stack([np.ones(30), *(one for group in groups for one in group)])
        return float(sm.OLS(flat, given).fit().ssr)

    residual = left(dummies, columns) / 20
    judge_square = (left(columns) - left(dummies, columns)) / 4
    item_square = (left(dummies) - left(dummies, columns)) / 5
    found = layout(PANEL)
    assert found.residual == pytest.approx(residual)
    assert found.judge == pytest.approx((judge_square - residual) / 6)
    assert found.criterion == pytest.approx((item_square - residual) / 5)


@pytest.mark.parametrize("seed", range(5))
def test_items_fixed_error_is_sd_by_root_j(seed: int) -> None:
    # Identity of MacCann & Stanley 2004: judge / J + residual / (J I) is the variance of the
    # judges' means over J, whatever the data.
    draw = np.random.default_rng(seed)
    estimates = draw.uniform(size=(draw.integers(2, 9), draw.integers(2, 9)))
    means = estimates.mean(axis=1)
    assert layout(estimates).fixed == pytest.approx(means.std(ddof=1) / sqrt(len(means)))


def test_bootstrap_error_of_the_median_is_near_the_exact_one() -> None:
    # Maritz & Jarrett 1978, J. Am. Stat. Assoc. 73:194 (from memory): the median of a bootstrap
    # sample of odd size n is the i-th value with probability B(i/n) - B((i-1)/n), B the
    # distribution function of Beta((n+1)/2, (n+1)/2).
    cuts = np.sort(PANEL.mean(axis=1))
    steps = scipy.stats.beta.cdf(np.arange(6) / 5, 3, 3)
    weights = np.diff(steps)
    exact = sqrt(weights @ cuts**2 - (weights @ cuts) ** 2)
    found = centre(cuts, "median", samples=200_000)
    assert isinstance(found, Centre)
    assert found.standard_error == pytest.approx(exact, rel=0.01)


def test_trimmed_error_by_the_test_of_yuen() -> None:
    # scipy's ttest_ind with trim is Yuen 1974: on two copies a distance apart its statistic is
    # that distance over sqrt(2) times the standard error of one trimmed mean.
    cuts = np.array([0.61, 0.64, 0.66, 0.67, 0.70, 0.71, 0.74, 0.78, 0.83, 0.95])
    found = centre(cuts, "trimmed", trim=0.2)
    assert isinstance(found, Centre)
    assert found.value == pytest.approx(scipy.stats.trim_mean(cuts, 0.2))
    test = scipy.stats.ttest_ind(cuts + 0.1, cuts, trim=0.2, equal_var=False)
    assert found.standard_error == pytest.approx(0.1 / (test.statistic * sqrt(2)))
    assert found.freedom == 5


def norris() -> tuple[Any, Any]:
    """x and y of Norris, in the file of the NIST that scipy ships with its own tests."""
    data = Path(scipy.stats.__file__).parent / "tests/data/nist_linregress/Norris.dat"
    y, x = np.loadtxt(data, skiprows=60, unpack=True)
    return x, y


def test_line_of_norris() -> None:
    # NIST Statistical Reference Datasets, Norris; certified values, seen in that file's head
    # and beside it.
    line = fitted(*norris())
    assert line.n == 36
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-11)
    assert line.at(0.0)[1] == pytest.approx(0.232818234301152, rel=1e-11)
    assert line.slope_error == pytest.approx(0.429796848199937e-03, rel=1e-11)
    assert line.r_squared == pytest.approx(0.999993745883712, rel=1e-13)


# Anscombe 1973, Am. Statistician 27:17, set I; from memory.
ANSCOMBE_X = np.array([10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5.0])
ANSCOMBE_Y = np.array([8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68])


def test_line_of_anscombe() -> None:
    line = fitted(ANSCOMBE_X, ANSCOMBE_Y)
    assert line.intercept == pytest.approx(3.0001, abs=5e-5)
    assert line.slope == pytest.approx(0.5001, abs=5e-5)
    assert line.r_squared == pytest.approx(0.6665, abs=5e-5)
    assert line.at(6.0) == pytest.approx((6.0006, 0.5139), abs=1e-4)


def test_borderline_four_ways() -> None:
    # The data of Anscombe turned into shares; x is the rating.
    ratings, scores = ANSCOMBE_X, ANSCOMBE_Y / 20
    cut = figure(borderline_regression(ratings, scores, borderline=6.0).cut)
    assert cut.value == pytest.approx(6.0006 / 20, abs=5e-6)
    slope, intercept = np.polyfit(ratings, scores, 1)
    assert cut.value == pytest.approx(intercept + 6 * slope)
    other = LinearRegression().fit(ratings[:, None], scores)
    assert cut.value == pytest.approx(other.predict([[6.0]])[0])
    fit = sm.OLS(scores, sm.add_constant(ratings)).fit()
    frame = fit.get_prediction([[1.0, 6.0]]).summary_frame(alpha=0.05).iloc[0]
    assert [cut.value, cut.standard_error, cut.low, cut.high] == pytest.approx(
        [frame["mean"], frame["mean_se"], frame["mean_ci_lower"], frame["mean_ci_upper"]]
    )


# Hours of study and passing an examination: the example of logistic regression in the English
# encyclopaedia Wikipedia; data and coefficients seen in a secondary source.
# fmt: off
HOURS = np.array([
    0.5, 0.75, 1, 1.25, 1.5, 1.75, 1.75, 2, 2.25, 2.5,
    2.75, 3, 3.25, 3.5, 4, 4.25, 4.5, 4.75, 5, 5.5,
])
# fmt: on
PASSED = np.array([0, 0, 0, 0, 0, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 1, 1, 1, 1, 1]) > 0


def test_logistic_of_hours() -> None:
    fit = logistic(PASSED, HOURS)
    assert fit is not None
    assert fit.intercept == pytest.approx(-4.0777, abs=5e-5)
    assert fit.slope == pytest.approx(1.5046, abs=5e-5)
    # Recomputed: -b0 / b1 and the delta method.
    assert fit.cut == pytest.approx(2.7101, abs=5e-5)
    assert fit.cut_error == pytest.approx(0.419, abs=5e-4)
    # The article gives .26 after two hours and .87 after four (from memory).
    assert [fit.probability(2), fit.probability(4)] == pytest.approx([0.26, 0.87], abs=5e-3)


def test_contrasting_groups_by_scikit_learn() -> None:
    cut = figure(contrasting_groups(PASSED, HOURS / 10).cut)
    assert cut.value == pytest.approx(0.27101, abs=5e-6)
    other = LogisticRegression(C=np.inf, tol=1e-10, max_iter=1000).fit(HOURS[:, None], PASSED)
    assert cut.value == pytest.approx(-other.intercept_[0] / other.coef_[0, 0] / 10, abs=1e-6)


def test_delta_error_is_near_that_of_resampled_coefficients() -> None:
    # A second road: coefficients drawn from their normal distribution. The ratio has heavy
    # tails, so the middle 68 % are compared.
    fit = logistic(PASSED, HOURS)
    assert fit is not None
    model = sm.Logit(PASSED * 1.0, sm.add_constant(HOURS)).fit(disp=0)
    drawn = np.random.default_rng(1).multivariate_normal(model.params, model.cov_params(), 100_000)
    low, high = np.quantile(-drawn[:, 0] / drawn[:, 1], [0.1587, 0.8413])
    assert (high - low) / 2 == pytest.approx(fit.cut_error, rel=0.1)


def test_normal_crossing() -> None:
    # Constructed: N(50, 8) and N(70, 6), equally common.
    lower, upper = Normal(50, 8), Normal(70, 6)
    found = normal_crossings(lower, upper)
    assert found[0] == pytest.approx(60.745, abs=5e-4)
    for share in (0.5, 0.2):
        for root in normal_crossings(lower, upper, share):
            assert share * scipy.stats.norm.pdf(root, 70, 6) == pytest.approx(
                (1 - share) * scipy.stats.norm.pdf(root, 50, 8)
            )
    # With one SD for both it is the middle of the means.
    assert normal_crossings(Normal(50, 7), Normal(70, 7)) == pytest.approx((60.0,))


# Constructed.
MARKS = [48, 52, 55, 57, 58, 60, 61, 62, 63, 64, 65, 66, 68, 69, 70, 72, 74, 76, 80, 85]


def test_hofstee() -> None:
    found = hofstee(MARKS, 55, 70, 0.05, 0.40)
    assert figure(found.cut).value == 61
    assert named(found.section, "failing").value == pytest.approx(0.30)
    table = next(table for table in found.section.tables if table.key == "line")
    row = next(row for row in table.rows if row[0] == 61)
    assert np.array(row, dtype=float) == pytest.approx([61, 0.30, 0.26])


def test_hofstee_by_counting() -> None:
    # The same by the definition, mark by mark; shares of a hundred give the same cut.
    for cut in range(55, 71):
        failing = sum(mark < cut for mark in MARKS) / len(MARKS)
        if failing >= 0.40 - 0.35 * (cut - 55) / 15:
            break
    assert cut == 61
    shares = hofstee([mark / 100 for mark in MARKS], 0.55, 0.70, 0.05, 0.40)
    assert figure(shares.cut).value == pytest.approx(0.61)

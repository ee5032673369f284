"""Agreement between assessors against published values, and against other libraries.

Beside each check: where the value comes from and how it was come by. "Recomputed" means that it
was found again by a general-purpose library when the check was written.
"""

from __future__ import annotations

import importlib
import warnings
from typing import Any

import numpy as np
import pytest
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import fleiss_kappa

from assessments.evidence.agreement.ac1 import brennan_prediger, gwet_ac1
from assessments.evidence.agreement.alpha import alpha_of_samples, krippendorff_alpha
from assessments.evidence.agreement.calibration import bias
from assessments.evidence.agreement.icc import (
    icc,
    mean_squares,
    standard_error_of_measurement,
)
from assessments.evidence.agreement.kappa import agreement_weights, cohen_kappa
from assessments.evidence.agreement.proportions import (
    CLOPPER_PEARSON,
    WILSON,
    proportion_interval,
)
from assessments.evidence.agreement.ratings import counts, distinct, ratings_of
from assessments.evidence.agreement.resampling import resample_counts
from assessments.evidence.results import Figure, Result

NAN = float("nan")


def figure(result: Result) -> Figure:
    assert isinstance(result, Figure), result
    return result


# Cohen 1968, Psychol. Bull. 70:213, as cited in secondary sources; recomputed.
COHEN = [[88, 14, 18], [10, 40, 10], [2, 6, 12]]
# Fleiss, Cohen & Everitt 1969, Psychol. Bull. 72:323: the table seen in a secondary source,
# the results from memory; recomputed.
FLEISS = [[106, 10, 4], [22, 28, 10], [2, 12, 6]]
FLEISS_WEIGHTS = [[1, 0, 4 / 9], [0, 1, 2 / 3], [4 / 9, 2 / 3, 1]]
# The example in the tests of statsmodels (stats.inter_rater), made there with a statistical
# package; seen; recomputed.
PACKAGE = [[0, 4, 1], [0, 8, 0], [0, 1, 5]]
# Gwet: the example of a vignette on CRAN; seen in a secondary source; recomputed.
GWET = [[13, 0, 0], [0, 20, 7], [0, 4, 56]]


def test_kappa_of_cohen() -> None:
    cost = np.array([[0, 1, 3], [1, 0, 6], [3, 6, 0]])
    assert figure(cohen_kappa(COHEN)).value == pytest.approx(0.4915, abs=5e-5)
    found = figure(cohen_kappa(COHEN, weights=1 - cost / 6))
    assert found.value == pytest.approx(0.3478, abs=5e-5)


def test_kappa_of_fleiss_with_its_variance() -> None:
    plain = figure(cohen_kappa(FLEISS))
    weighted = figure(cohen_kappa(FLEISS, weights=FLEISS_WEIGHTS))
    assert plain.standard_error is not None
    assert weighted.standard_error is not None
    assert plain.value == pytest.approx(0.4286, abs=5e-5)
    assert plain.standard_error**2 == pytest.approx(0.002885, abs=5e-7)
    assert weighted.value == pytest.approx(0.5071, abs=5e-5)
    assert weighted.standard_error**2 == pytest.approx(0.003248, abs=5e-7)


def test_kappa_of_the_package_example() -> None:
    plain, linear = (figure(cohen_kappa(PACKAGE, weights=kind)) for kind in ("nominal", "linear"))
    assert [plain.value, plain.standard_error, plain.low, plain.high] == pytest.approx(
        [0.4842, 0.1380, 0.2137, 0.7547], abs=5e-5
    )
    assert [linear.value, linear.standard_error] == pytest.approx([0.4701, 0.1457], abs=5e-5)


@pytest.mark.parametrize(
    ("scale", "expected"),
    [("nominal", 0.7434), ("ordinal", 0.8154), ("interval", 0.8491), ("ratio", 0.7974)],
)
def test_alpha_with_gaps(scale: Any, expected: float) -> None:
    # Krippendorff 2011, example D, four observers and twelve units; values from memory (nominal
    # .743, ordinal .815, interval .849, ratio .797); recomputed with the package krippendorff.
    found = krippendorff_alpha(KRIPPENDORFF_D.T, scale=scale)
    assert figure(found).value == pytest.approx(expected, abs=5e-5)


KRIPPENDORFF_D = np.array(
    [
        [1, 2, 3, 3, 2, 1, 4, 1, 2, NAN, NAN, NAN],
        [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, NAN, 3],
        [NAN, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, NAN],
        [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, NAN],
    ]
)


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        # Krippendorff 2011, examples A and B; from memory; recomputed.
        ("0100000010", "1110010000", 0.0952),
        ("aabbdcccedda", "babbbccceddd", 0.6920),
    ],
)
def test_alpha_of_two_observers(first: str, second: str, expected: float) -> None:
    ratings = [[ord(a), ord(b)] for a, b in zip(first, second, strict=True)]
    assert figure(krippendorff_alpha(ratings)).value == pytest.approx(expected, abs=5e-5)


# Shrout & Fleiss 1979, Psychol. Bull. 86:420, table 2: six targets, four judges; data and
# results from memory; recomputed with pingouin.
SHROUT_FLEISS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], float
)


def test_mean_squares_of_shrout_and_fleiss() -> None:
    found = mean_squares(SHROUT_FLEISS)
    assert [found.between, found.within, found.raters, found.error] == pytest.approx(
        [11.242, 6.264, 32.486, 1.019], abs=5.1e-4
    )


@pytest.mark.parametrize(
    ("form", "expected"),
    [
        ("1,1", 0.1657),
        ("A,1", 0.2898),
        ("C,1", 0.7148),
        ("1,k", 0.4428),
        ("A,k", 0.6201),
        ("C,k", 0.9093),
    ],
)
def test_icc_of_shrout_and_fleiss(form: Any, expected: float) -> None:
    assert figure(icc(SHROUT_FLEISS, form=form)).value == pytest.approx(expected, abs=5e-5)


def test_sem_is_what_is_left_beside_the_targets() -> None:
    # The components of the same data as persons x raters (persons 2.5556, raters 5.2444, error
    # 1.0194), recomputed: the error of one rater is the root of raters + error.
    found = figure(standard_error_of_measurement(SHROUT_FLEISS))
    assert found.value**2 == pytest.approx(5.2444 + 1.0194, abs=2e-4)
    assert 2.5556 / (2.5556 + found.value**2) == pytest.approx(0.2898, abs=5e-5)


def test_ac1_of_gwet() -> None:
    ratings = ratings_of(GWET)
    found = figure(gwet_ac1(ratings))
    assert found.standard_error is not None
    # The published error divides by n, as Gwet does for two assessors; ours by n - 1, as he
    # does for any number of them.
    error = found.standard_error * (99 / 100) ** 0.5
    assert [found.value, error] == pytest.approx([0.8493, 0.0432], abs=5e-5)
    assert figure(cohen_kappa(GWET)).value == pytest.approx(0.7964, abs=5e-5)
    assert figure(brennan_prediger(ratings)).value == pytest.approx(0.835, abs=5e-4)
    assert figure(krippendorff_alpha(ratings)).value == pytest.approx(0.7973, abs=5e-5)


@pytest.mark.parametrize(
    ("count", "n", "wilson", "exact"),
    [
        # Newcombe 1998, Stat. Med. 17:857, table I, methods 3 and 5; recomputed.
        (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
        (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
        (0, 20, (0.0, 0.1611), (0.0, 0.1684)),
        (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
    ],
)
def test_intervals_of_newcombe(
    count: int, n: int, wilson: tuple[float, float], exact: tuple[float, float]
) -> None:
    assert proportion_interval(count, n, method=WILSON) == pytest.approx(wilson, abs=5.1e-5)
    found = proportion_interval(count, n, method=CLOPPER_PEARSON)
    assert found == pytest.approx(exact, abs=5.1e-5)


# From here on: other libraries, on data drawn at random.


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("kind", ["nominal", "linear", "quadratic"])
def test_kappa_as_in_scikit_learn(seed: int, kind: Any) -> None:
    first, second = np.random.default_rng(seed).integers(0, 4, size=(2, 40))
    second = np.where(np.arange(40) % 3 > 0, first, second)
    table = np.zeros((4, 4))
    np.add.at(table, (first, second), 1)
    other = cohen_kappa_score(first, second, weights=None if kind == "nominal" else kind)
    assert figure(cohen_kappa(table, weights=kind)).value == pytest.approx(other, abs=1e-12)


def test_error_of_kappa_against_resampling() -> None:
    # The large-sample error of a large sample against 4000 multinomial samples of it.
    table = np.array(FLEISS) * 10
    drawn = np.random.default_rng(1).multinomial(2000, table.ravel() / 2000, size=4000)
    for kind in ("nominal", "linear"):
        values = [
            figure(cohen_kappa(each.reshape(3, 3), weights=kind)).value for each in drawn[:1000]
        ]
        error = figure(cohen_kappa(table, weights=kind)).standard_error
        assert error == pytest.approx(float(np.std(values)), rel=0.08)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("scale", ["nominal", "ordinal", "interval", "ratio"])
def test_alpha_as_in_the_package(seed: int, scale: Any) -> None:
    package = importlib.import_module("krippendorff")
    ratings = np.random.default_rng(seed).integers(1, 5, size=(15, 4)).astype(float)
    ratings[np.random.default_rng(seed + 9).random((15, 4)) < 0.3] = NAN
    other = package.alpha(ratings.T, level_of_measurement=scale)
    found = krippendorff_alpha(ratings, scale=scale)
    assert figure(found).value == pytest.approx(other, abs=1e-12)


@pytest.mark.parametrize("scale", ["nominal", "ordinal", "interval", "ratio"])
def test_resampled_alphas_one_by_one(scale: Any) -> None:
    """All samples at once give what the package gives for each sample written out."""
    package = importlib.import_module("krippendorff")
    ratings = np.random.default_rng(3).integers(1, 5, size=(12, 3)).astype(float)
    values = distinct(ratings)
    weights = resample_counts(12, 100, seed=4)
    found = alpha_of_samples(counts(ratings, values), values, scale, weights)
    for value, drawn in zip(found, weights, strict=True):
        written = np.repeat(ratings, drawn.astype(int), axis=0)
        other = package.alpha(written.T, level_of_measurement=scale)
        assert value == pytest.approx(other, abs=1e-12)


def pingouin_icc(scores: Any) -> dict[str, tuple[float, float, float]]:
    """The six forms with their intervals, by pingouin."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what pingouin itself warns of at import
        pingouin = importlib.import_module("pingouin")
        pandas = importlib.import_module("pandas")
        n, k = scores.shape
        table = pandas.DataFrame(
            {
                "target": np.repeat(np.arange(n), k),
                "rater": np.tile(np.arange(k), n),
                "score": scores.ravel(),
            }
        )
        found = pingouin.intraclass_corr(table, "target", "rater", "score")
    ends = "CI95" if "CI95" in found.columns else "CI95%"
    return {
        name: (value, *each)
        for name, value, each in zip(found["Type"], found["ICC"], found[ends], strict=True)
    }


@pytest.mark.parametrize("seed", range(3))
def test_icc_as_in_pingouin(seed: int) -> None:
    draw = np.random.default_rng(seed)
    scores = draw.normal(size=(9, 1)) * 2 + draw.normal(size=(1, 3)) + draw.normal(size=(9, 3))
    other = pingouin_icc(scores)
    forms: list[Any] = ["1,1", "A,1", "C,1", "1,k", "A,k", "C,k"]
    for form, (value, low, high) in zip(forms, other.values(), strict=True):
        found = figure(icc(scores, form=form))
        assert [found.value, found.low, found.high] == pytest.approx(
            [value, low, high], abs=0.0051
        ), form
        assert found.value == pytest.approx(value, abs=1e-9)


def test_ac1_of_two_categories_by_hand() -> None:
    # AC1 of two assessors and two categories (Gwet 2008, formula 4): p_e = 2 π (1 - π), here
    # with the shares worked out from the table. Kappa of the same table is below zero.
    table = [[90, 5], [5, 0]]
    pi = (95 + 95) / 200
    chance = 2 * pi * (1 - pi)
    found = figure(gwet_ac1(ratings_of(table)))
    assert found.value == pytest.approx((0.9 - chance) / (1 - chance), abs=1e-12)
    assert figure(cohen_kappa(table)).value == pytest.approx(-1 / 19, abs=1e-12)


def test_brennan_prediger_is_the_uniform_kappa_of_statsmodels() -> None:
    # statsmodels, fleiss_kappa(method="uniform"): chance 1/q for any number of assessors.
    ratings = np.random.default_rng(2).integers(0, 3, size=(20, 4)).astype(float)
    other = fleiss_kappa(counts(ratings, np.arange(3.0)), method="uniform")
    assert figure(brennan_prediger(ratings)).value == pytest.approx(float(other), abs=1e-12)


def test_bias_as_in_scipy() -> None:
    stats = importlib.import_module("scipy.stats")
    given, agreed = np.random.default_rng(5).random((2, 12))
    other = stats.ttest_rel(given, agreed).confidence_interval(0.95)
    found = figure(bias(list(given), list(agreed)))
    assert (found.low, found.high) == pytest.approx((other.low, other.high), abs=1e-12)


def test_weights_of_the_literature() -> None:
    # Cicchetti & Allison 1971 and Fleiss & Cohen 1973: linear and quadratic; from memory.
    assert agreement_weights("linear", 4)[0].tolist() == pytest.approx([1, 2 / 3, 1 / 3, 0])
    assert agreement_weights("quadratic", 4)[0].tolist() == pytest.approx([1, 8 / 9, 5 / 9, 0])

"""Dependability against published values, primary data sets, identities and other libraries.

Beside each check: where the value comes from and how it was come by. "Recomputed" means that it
was found again by a general-purpose library when the check was written.
"""

from __future__ import annotations

import importlib
import re
import warnings
from importlib.resources import files
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import quad
from scipy.stats import beta, binom, multivariate_normal
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

from assessments.evidence.dependability import (
    Study,
    alpha,
    analysis,
    beta_of,
    coefficients,
    decide,
    effective_length,
    effects,
    g_study,
    huynh,
    k2,
    kr20,
    kr21,
    livingston_k2,
    livingston_lewis,
    normal_consistency,
    peng_subkoviak,
    phi_short_cut,
    subkoviak,
)
from assessments.evidence.results import Figure, NotComputed, Result
from assessments.evidence.scores import Array

# Brennan 2001, Generalizability Theory, synthetic data set 1 (10 persons x 12 items), seen in a
# secondary source; its figures there to three places, recomputed to four.
MARKS = """
101000000000 111001000000 111110000000 110110010000 111110100000
111011100000 111111100000 111101111100 111111111110 111111111111
"""
BRENNAN = np.array([[int(mark) for mark in row] for row in MARKS.split()])
# Shrout & Fleiss 1979, Psychol. Bull. 86:420, table 2, from memory; recomputed.
SHROUT_FLEISS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
)
# Subkoviak 1976 (ERIC ED120229): ten scores out of 5, mastery at 4; seen in a secondary source.
SUBKOVIAK = np.array([0, 4, 2, 0, 2, 2, 1, 3, 4, 5])


def value(result: Result) -> float:
    assert isinstance(result, Figure), result
    return result.value


def study_of(values: Array, facets: tuple[str, ...] = ("criteria",)) -> Study:
    found = g_study(values, facets)
    assert isinstance(found, Study)
    return found


def zero_one(people: int, criteria: int, seed: int) -> Array:
    """Invented marks of 0 and 1 with differences between people and between criteria."""
    rng = np.random.default_rng(seed)
    able = rng.normal(0, 1.2, (people, 1))
    hard = rng.normal(0, 0.8, (1, criteria))
    return np.asarray(rng.random((people, criteria)) < 1 / (1 + np.exp(hard - able)), float)


def test_brennan_reliability() -> None:
    # Recomputed.
    assert value(kr20(BRENNAN)) == pytest.approx(0.8445, abs=5e-5)
    assert value(kr21(BRENNAN.sum(axis=1), 12)) == pytest.approx(0.7245, abs=5e-5)


def test_brennan_components() -> None:
    parts = study_of(BRENNAN).components
    assert [part.estimated for part in parts] == pytest.approx([0.0574, 0.0754, 0.1269], abs=5e-5)
    assert [part.letters for part in parts] == ["p", "i", "pi,e"]


@pytest.mark.parametrize(("criteria", "phi"), [(5, 0.587), (10, 0.739), (15, 0.810), (20, 0.850)])
def test_brennan_decision_study(criteria: int, phi: float) -> None:
    # Brennan 2001, synthetic data set 1; tolerance as published.
    found = decide(study_of(BRENNAN), {"criteria": criteria})
    assert found.phi == pytest.approx(phi, abs=1e-3)


def test_brennan_coefficients() -> None:
    ranking, phi, _ = coefficients(BRENNAN)
    assert value(ranking) == pytest.approx(0.844, abs=1e-3)
    assert value(phi) == pytest.approx(0.7730, abs=5e-5)


@pytest.mark.parametrize(
    ("cut", "expected"),
    # Recomputed; not seen published.
    [(0.5, 0.7390), (0.6, 0.7321), (0.7, 0.7925), (0.8, 0.8590), (0.9, 0.9053)],
)
def test_brennan_at_a_cut(cut: float, expected: float) -> None:
    assert decide(study_of(BRENNAN), {"criteria": 12}, cut=cut).phi_cut == pytest.approx(
        expected, abs=5e-5
    )


@pytest.mark.parametrize("cut", [0.3, 0.5, 0.62, 0.7, 0.9])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_three_roads_to_phi_at_the_cut(cut: float, seed: int) -> None:
    """Brennan 1980: short cut, variance components and k2 with KR-21 are one number."""
    marks = zero_one(25, 8, seed)
    assert not study_of(marks).negative
    totals = marks.sum(axis=1)
    by_components = decide(study_of(marks), {"criteria": 8}, cut=cut).phi_cut
    shares = totals / 8
    short = phi_short_cut(float(shares.mean()), float(shares.var()), 8, cut)
    by_livingston = livingston_k2(
        value(kr21(totals, 8)), float(totals.var()), float(totals.mean()), 8 * cut
    )
    assert by_components == pytest.approx(short, abs=1e-12)
    assert by_livingston == pytest.approx(short, abs=1e-12)
    assert value(k2(totals, 8, 8 * cut)) == pytest.approx(short, abs=1e-12)


def test_at_the_mean_it_is_kr21() -> None:
    """Brennan 1980: Phi(lambda) with the cut at the mean is KR-21."""
    totals = BRENNAN.sum(axis=1)
    mean = float(BRENNAN.mean())
    expected = value(kr21(totals, 12))
    found = decide(study_of(BRENNAN), {"criteria": 12}, cut=mean).phi_cut
    assert found == pytest.approx(expected, abs=1e-12)
    short = phi_short_cut(mean, float((totals / 12).var()), 12, mean)
    assert short == pytest.approx(expected, abs=1e-12)


def test_livingston() -> None:
    # Worked by hand from Livingston 1972, J. Educ. Meas. 9:13: (0.5 * 2 + 4) / (2 + 4).
    scores = np.array([2, 4, 4, 6])
    assert livingston_k2(0.5, float(scores.var()), float(scores.mean()), 2) == pytest.approx(5 / 6)


def test_subkoviak() -> None:
    # The figures printed in the paper (secondary source), recomputed to four places.
    found = subkoviak(SUBKOVIAK, 5, 4, reliability=0.58)
    assert value(found.agreement) == pytest.approx(0.7544, abs=5e-5)
    assert found.chance == pytest.approx(0.6591, abs=5e-5)
    assert value(found.kappa) == pytest.approx(0.2795, abs=5e-5)


@pytest.mark.parametrize(
    ("z", "r", "agreement", "kappa"),
    # Peng & Subkoviak 1980, J. Educ. Meas. 17:359; recomputed by the bivariate normal.
    [
        (0, 0.5, 0.667, 0.333),
        (0, 0.8, 0.795, 0.590),
        (0.5, 0.7, 0.778, 0.480),
        (1, 0.6, 0.828, 0.355),
        (1.5, 0.9, 0.954, 0.633),
        (2, 0.5, 0.963, 0.159),
    ],
)
def test_peng_subkoviak(z: float, r: float, agreement: float, kappa: float) -> None:
    found = normal_consistency(z, r)
    assert [float(one) for one in found] == pytest.approx([agreement, kappa], abs=5.1e-4)
    # scipy.stats.multivariate_normal as a second road, by numerical integration.
    both_below: Any = multivariate_normal([0, 0], [[1, r], [r, 1]]).cdf([z, z])
    both_above: Any = multivariate_normal([0, 0], [[1, r], [r, 1]]).cdf([-z, -z])
    assert float(found[0]) == pytest.approx(both_below + both_above, abs=1e-6)


def test_peng_subkoviak_of_scores() -> None:
    """Its z is (C - 1/2 - M) / S, with the number of trainees as divisor."""
    z = (4 - 0.5 - SUBKOVIAK.mean()) / SUBKOVIAK.std()
    same, kappa = normal_consistency(float(z), 0.7)
    found = peng_subkoviak(SUBKOVIAK, 5, 4, reliability=0.7)
    assert value(found.agreement) == pytest.approx(float(same))
    assert value(found.kappa) == pytest.approx(float(kappa))


def test_huynh() -> None:
    # Huynh 1976, J. Educ. Meas. 13:253, on the scores of Subkoviak; recomputed.
    r = np.array([value(kr21(SUBKOVIAK, 5))])
    shapes = beta_of(r, np.array([SUBKOVIAK.mean()]), 5)
    assert [float(one[0]) for one in shapes] == pytest.approx([1.2105, 1.4211], abs=5e-5)
    found = huynh(SUBKOVIAK, 5, 4)
    assert value(found.agreement) == pytest.approx(0.7933, abs=5e-5)
    assert value(found.kappa) == pytest.approx(0.4750, abs=5e-5)


def by_integration(length: int, cut: int, a: float, b: float) -> tuple[float, float]:
    """p0 and kappa by scipy: twice binomial, given a true share, integrated over its beta."""

    def over(power: int) -> float:
        return float(
            quad(lambda p: binom.sf(cut - 1, length, p) ** power * beta.pdf(p, a, b), 0, 1)[0]
        )

    once, twice = over(1), over(2)
    same, chance = 1 - 2 * once + 2 * twice, once**2 + (1 - once) ** 2
    return same, (same - chance) / (1 - chance)


@pytest.mark.parametrize(("reliability", "cut"), [(0.3, 9), (0.55, 7), (0.8, 10), (0.92, 8)])
def test_beta_binomial_by_integration(reliability: float, cut: int) -> None:
    totals = BRENNAN.sum(axis=1)
    shapes = [
        float(one[0]) for one in beta_of(np.array([reliability]), np.array([totals.mean()]), 12)
    ]
    found = huynh(totals, 12, cut, reliability=reliability)
    assert [value(one) for one in found.results] == pytest.approx(
        by_integration(12, cut, shapes[0], shapes[1]), abs=1e-6
    )


@pytest.mark.parametrize("seed", range(6))
def test_effective_length_is_the_number_of_criteria(seed: int) -> None:
    """Livingston & Lewis 1995: with criteria met or not and r = KR-21 it is n exactly."""
    totals = zero_one(30, 11, seed).sum(axis=1)
    r = value(kr21(totals, 11))
    found = effective_length(float(totals.mean()), float(totals.var()), r, 0, 11)
    assert found == pytest.approx(11, abs=1e-9)


def test_livingston_lewis_is_huynh_there() -> None:
    """... and the decisions are then those of Huynh, as both take a beta of two parameters."""
    totals = BRENNAN.sum(axis=1)
    r = value(kr21(totals, 12))
    found = livingston_lewis(BRENNAN, 0.7, reliability=r)
    expected = huynh(totals, 12, 9)
    assert [value(one) for one in found.results] == pytest.approx(
        [value(one) for one in expected.results], abs=1e-12
    )


def test_livingston_lewis_by_integration() -> None:
    """Weighted scores with levels, by another road for every step but the effective length."""
    rng = np.random.default_rng(7)
    values = np.clip(
        np.round(4 * (0.6 + rng.normal(0, 0.2, (20, 1)) + rng.normal(0, 0.2, (20, 6)))) / 4, 0, 1
    )
    weights = np.array([1, 2, 1, 3, 1, 2])
    overall = values @ weights / weights.sum()
    r = 1.2 * (1 - (values * weights).var(axis=0).sum() / (values @ weights).var())
    length = round(effective_length(float(overall.mean()), float(overall.var()), float(r)))
    shapes = (1 / r - 1) * length * np.array([overall.mean(), 1 - overall.mean()])
    cut = int(np.ceil(0.65 * length))
    found = livingston_lewis(values, 0.65, weights=weights)
    assert [value(one) for one in found.results] == pytest.approx(
        by_integration(length, cut, float(shapes[0]), float(shapes[1])), abs=1e-6
    )


def test_shrout_fleiss() -> None:
    study = study_of(SHROUT_FLEISS, ("assessors",))
    # Variances recomputed; mean squares BMS, JMS, EMS of the paper from memory.
    found = [part.estimated for part in study.components]
    assert found == pytest.approx([2.5556, 5.2444, 1.0194], abs=5e-5)
    squares = [part.mean_square for part in study.components]
    assert squares == pytest.approx([11.242, 32.486, 1.019], abs=1e-3)
    # ICC(2,1), ICC(2,4) and ICC(3,1), ICC(3,4) of the paper, from memory.
    one, four = (decide(study, {"assessors": count}) for count in (1, 4))
    assert one.phi == pytest.approx(0.2898, abs=5e-5)
    assert four.phi == pytest.approx(0.6201, abs=5e-5)
    assert one.generalizability == pytest.approx(0.7148, abs=5e-5)
    assert four.generalizability == pytest.approx(0.9093, abs=5e-5)


NIST = sorted(
    file.name for file in files("scipy.stats.tests.data.nist_anova").iterdir() if file.is_file()
)


@pytest.mark.parametrize("name", NIST)
def test_nist_analysis_of_variance(name: str) -> None:
    """NIST Statistical Reference Datasets, analysis of variance: primary data, as scipy ships.

    One factor with replicates: its mean square between is that of the first axis, its mean
    square within pools the second axis and the interaction.
    """
    lines = (files("scipy.stats.tests.data.nist_anova") / name).read_text().splitlines()
    certified = [
        [float(part) for part in re.findall(r"\d+(?:\.\d+E[+-]\d+)?", line)[:3]]
        for line in lines
        if re.match(r"(Between|Within) \w+ ", line)
    ]
    start = max(row for row, line in enumerate(lines) if line.startswith("Data:"))
    data = np.array([[float(part) for part in line.split()] for line in lines[start + 1 :]])
    groups = int(data[:, 0].max())
    table = analysis(data[np.argsort(data[:, 0], kind="stable"), 1].reshape(groups, -1))
    assert table[(0,)].degrees == certified[0][0]
    assert table[(1,)].degrees + table[(0, 1)].degrees == certified[1][0]
    within = sum(float(table[one].sum_of_squares[0]) for one in ((1,), (0, 1)))
    # Of 16 digits, those that never change carry nothing.
    constant = int(next(line for line in lines if "Constant Leading" in line).split()[0])
    close = max(10.0 ** (constant - 16), 1e-10)
    assert float(table[(0,)].mean_square[0]) == pytest.approx(certified[0][2], rel=close)
    assert within / certified[1][0] == pytest.approx(certified[1][2], rel=close)


def test_all_nist_sets_are_here() -> None:
    assert set(NIST) == {"AtmWtAg.dat", "SiRstv.dat", *(f"SmLs0{n}.dat" for n in range(1, 10))}


def test_three_way_layout_by_least_squares() -> None:
    """Mean squares of trainees x tasks x assessors against statsmodels (least squares)."""
    rng = np.random.default_rng(11)
    values = rng.random((6, 3, 4)) + rng.random((6, 1, 1)) + rng.random((6, 3, 1))
    rows = [
        {"p": p, "t": t, "r": r, "y": values[p, t, r]}
        for p in range(6)
        for t in range(3)
        for r in range(4)
    ]
    fitted = ols("y ~ C(p) + C(t) + C(r) + C(p):C(t) + C(p):C(r) + C(t):C(r)", pd.DataFrame(rows))
    expected = anova_lm(fitted.fit())["mean_sq"].to_numpy()
    table = analysis(values)
    found = [float(table[effect].mean_square[0]) for effect in effects(3)]
    assert found == pytest.approx(expected.tolist(), rel=1e-9)


def test_three_way_components_by_hand() -> None:
    """Expected mean squares of p x t x r written out (Brennan 2001, chapter 4, from memory)."""
    rng = np.random.default_rng(12)
    values = rng.random((7, 2, 3)) + rng.random((7, 1, 1))
    parts = {part.letters: part for part in study_of(values, ("tasks", "assessors")).components}
    square = {letters: part.mean_square for letters, part in parts.items()}
    rest = square["ptr,e"]
    assert parts["p"].estimated == pytest.approx(
        (square["p"] - square["pt"] - square["pr"] + rest) / 6
    )
    assert parts["t"].estimated == pytest.approx(
        (square["t"] - square["pt"] - square["tr"] + rest) / 21
    )
    assert parts["pt"].estimated == pytest.approx((square["pt"] - rest) / 3)
    assert parts["pr"].estimated == pytest.approx((square["pr"] - rest) / 2)
    assert parts["tr"].estimated == pytest.approx((square["tr"] - rest) / 7)
    assert parts["ptr,e"].estimated == pytest.approx(rest)


def pingouin() -> Any:
    """It warns while it is imported, which is none of ours."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module("pingouin")


def test_alpha_by_another_library() -> None:
    rng = np.random.default_rng(3)
    values = rng.random((14, 5)) * 0.5 + rng.random((14, 1)) * 0.5
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        expected, _ = pingouin().cronbach_alpha(data=pd.DataFrame(values))
    assert value(alpha(values)) == pytest.approx(expected, abs=1e-9)


def test_phi_by_another_library() -> None:
    """Phi is the intraclass correlation of absolute agreement, two-way random."""
    rows = [
        {"trainee": p, "assessor": r, "score": SHROUT_FLEISS[p, r]}
        for p in range(6)
        for r in range(4)
    ]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        table = pingouin().intraclass_corr(
            data=pd.DataFrame(rows), targets="trainee", raters="assessor", ratings="score"
        )
    icc = table["ICC"].to_numpy()
    study = study_of(SHROUT_FLEISS, ("assessors",))
    assert decide(study, {"assessors": 1}).phi == pytest.approx(icc[1], abs=1e-9)
    assert decide(study, {"assessors": 4}).phi == pytest.approx(icc[4], abs=1e-9)


def test_alpha_is_ranking_coefficient_and_kr20() -> None:
    """Hoyt 1941: alpha, KR-20 and E-rho2 of trainees x criteria are one number."""
    ranking = coefficients(BRENNAN)[0]
    assert value(ranking) == pytest.approx(value(kr20(BRENNAN)), abs=1e-12)
    assert value(alpha(BRENNAN)) == pytest.approx(value(kr20(BRENNAN)), abs=1e-12)


def test_no_figure_for_a_reliability_of_nothing() -> None:
    # KR-21 of these: M = 2.5, s2 = 0.25: 5/4 (1 - 6.25 / 1.25) = -5, worked by hand.
    found = kr21(np.array([2, 3, 2, 3]), 5)
    assert isinstance(found, NotComputed)
    assert "-5.00" in found.reason

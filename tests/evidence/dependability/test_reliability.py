"""Reliability and consistency from one administration: small cohorts and wrong input."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from assessments.evidence.dependability import (
    alpha,
    cut_in_criteria,
    effective_length,
    huynh,
    k2,
    kr20,
    kr21,
    livingston_k2,
    livingston_lewis,
    normal_consistency,
    peng_subkoviak,
    phi_short_cut,
    sem_at,
    subkoviak,
)
from assessments.evidence.dependability.resampling import bounds, figure, resamples
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Figure, NotComputed
from tests.evidence.dependability.cohorts import marks

METHODS = [subkoviak, peng_subkoviak, huynh]
TOTALS = np.array([0, 4, 2, 0, 2, 2, 1, 3, 4, 5])


@pytest.mark.parametrize("method", METHODS)
def test_why_there_is_no_consistency(method: Callable[..., Any]) -> None:
    for totals, reliability, words in (
        ([3, 3, 3, 3, 3, 3], None, "All trainees have the same total"),
        ([2, 3, 2, 3], None, "zero or below"),
        ([0, 5, 0, 5, 5], None, "comes out at 1"),
        (TOTALS, 0.0, "zero or below"),
        (TOTALS, 1.0, "comes out at 1"),
        ([3, 3, 3, 3], 0.6, "All trainees have the same total"),
    ):
        found = method(np.array(totals), 5, 4, reliability=reliability)
        assert found.chance is None
        for result in found.results:
            assert isinstance(result, NotComputed)
            assert words in result.reason


@pytest.mark.parametrize("method", METHODS)
def test_wrong_totals_and_cuts(method: Callable[..., Any]) -> None:
    for totals, criteria, cut, more, path in (
        ([1, 6], 5, 4, {}, "totals"),
        ([1, -1], 5, 4, {}, "totals"),
        ([1, 2.5], 5, 4, {}, "totals"),
        ([1, np.nan], 5, 4, {}, "totals"),
        ([3], 5, 4, {}, "totals"),
        ([[1, 2]], 5, 4, {}, "totals"),
        ([0, 1], 1, 1, {}, "criteria"),
        (TOTALS, 5, 0, {}, "cut"),
        (TOTALS, 5, 6, {}, "cut"),
        (TOTALS, 5, 3.5, {}, "cut"),
        (TOTALS, 5, 4, {"reliability": 1.1}, "reliability"),
        (TOTALS, 5, 4, {"samples": 99}, "samples"),
    ):
        with pytest.raises(EvidenceError) as caught:
            method(np.array(totals), criteria, cut, **more)
        assert caught.value.path == path


def test_a_given_reliability_stays_in_every_resample() -> None:
    kept = huynh(TOTALS, 5, 4, reliability=0.6552).agreement
    anew = huynh(TOTALS, 5, 4).agreement
    assert isinstance(kept, Figure)
    assert isinstance(anew, Figure)
    assert kept.value == pytest.approx(anew.value, abs=1e-4)
    assert not any("resamples" in note for note in kept.notes)
    assert any("resamples" in note for note in anew.notes)


def test_everyone_met_or_nobody() -> None:
    everyone = subkoviak(np.array([4, 5, 4, 5, 5, 2]), 5, 2)
    assert isinstance(everyone.agreement, Figure)
    assert isinstance(everyone.kappa, NotComputed)
    assert everyone.kappa.reason.startswith("Everyone")
    nobody = huynh(np.array([0, 4, 2, 0]), 5, 5)
    assert isinstance(nobody.kappa, NotComputed)
    assert nobody.kappa.reason.startswith("Nobody")


def test_livingston_lewis_says_its_length_and_why_not() -> None:
    found = livingston_lewis(marks(30, 8)[:, :, 0], 0.7)
    assert isinstance(found.agreement, Figure)
    assert found.agreement.notes[0].startswith("Effective length: ")
    alike = np.array([[0.2, 0.2], [0.5, 0.5], [0.9, 0.9]])
    perfect = livingston_lewis(alike, 0.7)
    assert isinstance(perfect.agreement, NotComputed)
    assert "comes out at 1" in perfect.agreement.reason
    flat = livingston_lewis(np.full((4, 3), 0.5), 0.7)
    assert isinstance(flat.kappa, NotComputed)
    assert "same total" in flat.kappa.reason


def test_a_very_long_effective_length_is_held() -> None:
    """Nearly no error: the length is taken as 200, and there is still a figure."""
    rng = np.random.default_rng(1)
    values = np.clip(rng.random((40, 1)) + rng.normal(0, 0.002, (40, 6)), 0, 1)
    found = livingston_lewis(values, 0.5)
    assert isinstance(found.agreement, Figure)
    assert found.agreement.notes[0] == "Effective length: 200 criteria met or not."
    assert 0.9 < found.agreement.value < 1


def test_cut_in_criteria() -> None:
    assert [cut_in_criteria(0.7, n) for n in (1, 3, 10, 11, 30)] == [1, 3, 7, 8, 21]
    assert cut_in_criteria(0.55, 100) == 55  # in floating point 55.00000000000001


@pytest.mark.parametrize(
    ("call", "path"),
    [
        (lambda: kr20(np.array([[0.5, 1], [1, 0]])), "met"),
        (lambda: kr20(np.array([[1, 0]])), "values"),
        (lambda: kr21(np.array([1, 9]), 5), "totals"),
        (lambda: alpha(np.array([[0.5, np.nan], [1, 0]])), "values"),
        (lambda: alpha(np.eye(3), weights=np.array([1.0, 2.0])), "weights"),
        (lambda: alpha(np.eye(3), weights=np.array([1.0, 2.0, -1.0])), "weights"),
        (lambda: alpha(np.eye(3), weights=np.zeros(3)), "weights"),
        (lambda: livingston_k2(1.2, 1, 3, 2), "reliability"),
        (lambda: livingston_k2(0.5, -1, 3, 2), "variance"),
        (lambda: livingston_k2(0.5, 0, 2, 2), "variance"),
        (lambda: phi_short_cut(0.5, 0.0, 5, 0.5), "variance"),
        (lambda: phi_short_cut(0.5, 0.1, 1, 0.7), "criteria"),
        (lambda: sem_at(1.1, 5), "share"),
        (lambda: sem_at(0.5, 1), "criteria"),
        (lambda: cut_in_criteria(0, 5), "cut"),
        (lambda: cut_in_criteria(1.01, 5), "cut"),
        (lambda: normal_consistency(0, 1.5), "reliability"),
        (lambda: effective_length(0.5, 0, 0.5), "variance"),
        (lambda: effective_length(0.5, 0.1, 1), "reliability"),
        (lambda: livingston_lewis(np.eye(3), 0), "cut"),
        (lambda: livingston_lewis(np.eye(3) * 3, 0.5, weights=[1, 0, 0]), "values"),
        (lambda: livingston_lewis(np.eye(3) - 0.1, 0.5), "values"),
        (lambda: resamples(0, 100, 1), "people"),
    ],
)
def test_wrong_input(call: Callable[[], object], path: str) -> None:
    with pytest.raises(EvidenceError) as caught:
        call()
    assert caught.value.path == path


def test_no_variance_and_no_reliability() -> None:
    for result in (kr21(np.full(6, 4), 5), kr20(np.ones((6, 4))), k2(np.full(6, 4), 5, 4)):
        assert isinstance(result, NotComputed)
    below = alpha(np.array([[1.0, 0.0], [0.0, 0.9]]))
    assert isinstance(below, NotComputed)
    assert below.reason.startswith("It comes out at -")
    # Totals with just the variance that chance gives: 4/3 (1 - 2 * 2 / (4 * 1)) = 0.
    zero = kr21(np.array([1, 3]), 4)
    assert isinstance(zero, NotComputed)
    assert zero.reason.startswith("It comes out at 0.00")


def test_weights_change_alpha_and_scale_does_not() -> None:
    values = marks(20, 5)[:, :, 0]
    plain, doubled, uneven = (
        alpha(values, weights=np.array(weights))
        for weights in ([1, 1, 1, 1, 1], [2, 2, 2, 2, 2], [9, 1, 1, 1, 1])
    )
    assert isinstance(plain, Figure)
    assert isinstance(doubled, Figure)
    assert isinstance(uneven, Figure)
    assert plain.value == pytest.approx(doubled.value)
    assert plain.value != pytest.approx(uneven.value)


def test_intervals_of_resamples_by_the_loop_over_trainees() -> None:
    """The counts stand for drawing trainees: KR-21 of each resample, worked one by one."""
    found = kr21(TOTALS, 5, samples=200, seed=3)
    assert isinstance(found, Figure)
    loop = []
    for row in resamples(10, 200, 3):
        drawn = np.repeat(TOTALS, row.astype(int))
        mean, variance = drawn.mean(), drawn.var()
        loop.append(5 / 4 * (1 - mean * (5 - mean) / (5 * variance)))
    low, high = np.quantile(loop, [0.025, 0.975])
    assert (found.low, found.high) == pytest.approx((low, high))


def test_intervals_that_there_are_not() -> None:
    nothing = np.full(100, np.nan)
    assert bounds(nothing) == (None, None)
    few = figure("k", "K", 0.5, nothing, seed=1, n=20, source="")
    assert few.low is None
    assert few.interval.startswith("none: fewer than half")
    assert few.notes == ("100 of 100 resamples have no such figure.",)
    still = figure("k", "K", 0.5, np.full(100, 0.5), seed=1, n=20, source="")
    assert still.high is None
    assert still.interval.startswith("none: the resamples differ")
    rough = figure("k", "K", 0.5, np.linspace(0, 1, 100), seed=1, n=11, source="")
    assert rough.notes == ("With 11 trainees the interval is rough.",)
    enough = figure("k", "K", 0.5, np.linspace(0, 1, 100), seed=1, n=12, source="")
    assert enough.notes == ()
    half = np.linspace(0, 1, 100)
    half[:51] = np.nan
    assert bounds(half) == (None, None)
    half[50] = 0.5
    assert bounds(half)[0] is not None

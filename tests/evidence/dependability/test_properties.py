"""What holds whatever the scores."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from assessments.evidence.dependability import (
    Study,
    alpha,
    analysis,
    decide,
    g_study,
    huynh,
    kr21,
    livingston_k2,
    normal_consistency,
    subkoviak,
)
from assessments.evidence.dependability.resampling import resamples
from assessments.evidence.results import Figure
from assessments.evidence.scores import Array
from tests.faults.marks import examples

shares = st.integers(0, 4).map(lambda step: step / 4)


@st.composite
def crossed(draw: st.DrawFn, axes: int = 2) -> Array:
    shape = tuple(draw(st.integers(2, 6)) for _ in range(axes))
    values: Array = draw(arrays(np.float64, shape, elements=shares))
    return values


def study_of(values: Array) -> Study:
    facets = ("criteria", "assessors")[: values.ndim - 1]
    found = g_study(values, facets)
    assume(isinstance(found, Study))
    assert isinstance(found, Study)
    return found


@settings(deadline=None)
@given(crossed(), st.integers(0, 1000))
def test_order_does_not_matter(values: Array, seed: int) -> None:
    rng = np.random.default_rng(seed)
    mixed = rng.permutation(rng.permutation(values, axis=0), axis=1)
    first, second = study_of(values), study_of(mixed)
    for one, other in zip(first.components, second.components, strict=True):
        assert one.estimated == pytest.approx(other.estimated, abs=1e-12)
    before, after = alpha(values, samples=100), alpha(mixed, samples=100)
    assert type(before) is type(after)
    if isinstance(before, Figure) and isinstance(after, Figure):
        assert before.value == pytest.approx(after.value)


@settings(deadline=None)
@given(crossed(axes=3), st.integers(1, 5), st.integers(1, 5), st.floats(0, 1))
def test_coefficients_lie_between_0_and_1(
    values: Array, criteria: int, assessors: int, cut: float
) -> None:
    found = decide(study_of(values), {"criteria": criteria, "assessors": assessors}, cut=cut)
    for coefficient in (found.phi, found.generalizability, found.phi_cut):
        assert coefficient is None or 0 <= coefficient <= 1
    if found.phi is not None and found.generalizability is not None:
        assert found.phi <= found.generalizability + 1e-12
    assert found.absolute >= found.relative >= 0


@settings(deadline=None)
@given(crossed(axes=3), st.integers(1, 5))
def test_more_assessors_never_lower_dependability(values: Array, criteria: int) -> None:
    study = study_of(values)
    found = [decide(study, {"criteria": criteria, "assessors": n}) for n in range(1, 6)]
    phis = [one.phi for one in found if one.phi is not None]
    assert phis == sorted(phis)
    errors = [one.sem for one in found]
    assert errors == sorted(errors, reverse=True)


@settings(deadline=None)
@given(crossed(axes=3))
def test_sums_of_squares_add_up(values: Array) -> None:
    table = analysis(values)
    total = sum(float(square.sum_of_squares[0]) for square in table.values())
    assert total == pytest.approx(values.size * values.var(), abs=1e-9)
    assert all(square.sum_of_squares[0] > -1e-9 for square in table.values())
    assert sum(square.degrees for square in table.values()) == values.size - 1


@settings(deadline=None)
@given(crossed(axes=3), st.integers(0, 1000))
def test_counts_stand_for_drawn_trainees(values: Array, seed: int) -> None:
    """The analysis of a resample is that of its trainees written out."""
    drawn = resamples(len(values), 100, seed)[:1]
    written = np.repeat(values, drawn[0].astype(int), axis=0)
    by_counts, by_hand = analysis(values, drawn), analysis(written)
    for effect, square in by_hand.items():
        assert float(by_counts[effect].mean_square[0]) == pytest.approx(
            float(square.mean_square[0]), abs=1e-9
        )


@settings(deadline=None)
@given(st.floats(-1, 1), st.floats(0.01, 10), st.floats(0, 10), st.floats(0, 10))
def test_k2_is_never_below_the_reliability(
    reliability: float, variance: float, mean: float, cut: float
) -> None:
    found = livingston_k2(reliability, variance, mean, cut)
    assert reliability - 1e-12 <= found <= 1
    assert livingston_k2(reliability, variance, mean, mean) == pytest.approx(reliability)


@settings(max_examples=examples(60), deadline=None)
@given(st.lists(st.integers(0, 8), min_size=3, max_size=20), st.integers(1, 8))
def test_consistency_is_a_share(totals: list[int], cut: int) -> None:
    array = np.array(totals)
    for method in (huynh, subkoviak):
        found = method(array, 8, cut, samples=100)
        if isinstance(found.agreement, Figure):
            assert 0 <= found.agreement.value <= 1
            assert found.chance is not None
            assert found.agreement.value >= found.chance - 1e-9
        if isinstance(found.kappa, Figure):
            assert -1e-9 <= found.kappa.value <= 1
    reliability = kr21(array, 8, samples=100)
    if isinstance(reliability, Figure):
        assert 0 < reliability.value <= 1


@settings(deadline=None)
@given(st.floats(-4, 4), st.floats(0, 0.99), st.floats(0, 0.99))
def test_a_higher_reliability_gives_more_consistency(z: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert normal_consistency(z, low)[0] <= normal_consistency(z, high)[0] + 1e-12
    assert float(normal_consistency(z, low)[0]) == pytest.approx(
        float(normal_consistency(-z, low)[0])
    )

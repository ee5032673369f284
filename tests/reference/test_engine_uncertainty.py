"""Uncertainty, guard bands and probabilities of conformity against outside values."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from assessments.engine import EngineError, judge
from assessments.engine.numbers import root_text
from assessments.engine.uncertainty import conforming_probability, tape_error, variance
from tests.engine import builders


@pytest.mark.parametrize(
    ("value", "lower", "upper", "u", "expected"),
    [
        # JCGM 106:2012, clause 7, from memory: one upper limit, one lower limit.
        (-5.47, None, -5.40, 0.05, 0.9192),
        (509.7, 490.0, None, 8.6, 0.9890),
        # Risk at a guard band of r·U from the limit, k = 2: 1 - Φ(2r) (scipy.stats.norm).
        (10.0, None, 10.0, 1.0, 0.5),
        (10 - 0.83 * 2, None, 10.0, 1.0, 1 - 0.0485),
        (8.0, None, 10.0, 1.0, 1 - 0.02275),
        (7.0, None, 10.0, 1.0, 1 - 0.00135),
    ],
)
def test_examples(
    value: float, lower: float | None, upper: float | None, u: float, expected: float
) -> None:
    found = conforming_probability(value, lower, upper, u)
    assert found == pytest.approx(expected, abs=5.1e-5)


FLOATS = st.floats(-8, 8)


@given(FLOATS, FLOATS, FLOATS)
def test_scipy_agrees(value: float, one: float, other: float) -> None:
    """scipy.stats.norm, an independent normal distribution; 1e-8 is the series' own claim."""
    lower, upper = sorted((one, other))
    expected = norm.cdf(upper - value) - norm.cdf(lower - value)
    assert conforming_probability(value, lower, upper, 1.0) == pytest.approx(expected, abs=1e-8)
    assert conforming_probability(value, None, upper, 2.0) == pytest.approx(
        norm.cdf((upper - value) / 2), abs=1e-8
    )


# Reading uncertainty of a scale: u = division/√12 (JCGM 100:2008, 4.3.7 and F.2.2.1).
@pytest.mark.parametrize(
    ("division", "unit_mm", "expected"),
    [
        (Fraction(1), Fraction(1), 0.2887),
        (Fraction(1, 2), Fraction(1), 0.1443),
        (Fraction(1, 32), Fraction(254, 10), 0.2291),
        (Fraction(1, 64), Fraction(254, 10), 0.1146),
    ],
)
def test_reading_uncertainty(division: Fraction, unit_mm: Fraction, expected: float) -> None:
    square = variance(0, division * unit_mm, 1)
    assert sqrt(square) == pytest.approx(expected, abs=5e-5)
    assert float(root_text(square, 4)) == pytest.approx(expected, abs=1e-9)


# Directive 2014/32/EU, annex X, chapter I: class II is 0.3 + 0.2·L mm, L in whole metres up.
@pytest.mark.parametrize(
    ("accuracy_class", "metres", "tenths"),
    [
        ("II", 3, 9), ("II", 5, 13), ("II", 8, 19), ("II", 10, 23), ("II", Fraction(21, 10), 9),
        ("I", 1, 2), ("III", Fraction(1, 2), 10),
    ],
)  # fmt: skip
def test_tapes(accuracy_class: str, metres: int | Fraction, tenths: int) -> None:
    assert tape_error(accuracy_class, metres) == Fraction(tenths, 10)


@pytest.mark.parametrize(("accuracy_class", "metres"), [("IV", 1), ("II", 0), ("II", -1)])
def test_tapes_that_are_none(accuracy_class: str, metres: int) -> None:
    with pytest.raises(EngineError):
        tape_error(accuracy_class, metres)


def test_both_ends_of_a_tape() -> None:
    # Class II over 1 m errs by 0.5 mm; with both ends read to 1 mm u² = 0.5²/3 + 2·0.5²/3.
    assert variance(tape_error("II", 1), 1, 2) == Fraction(1, 4)


# JCGM 106:2012, 8.3.2 example form: acceptance limit A = T - w with w = r·U, U = k·u.
@given(
    st.integers(1, 200), st.integers(0, 200), st.integers(1, 4), st.integers(1, 40),
    st.integers(0, 2000),
)  # fmt: skip
def test_guard_band_against_floats(
    resolution: int, error: int, ends: int, r: int, value: int
) -> None:
    """The exact comparison against plain floats, but for values within 1e-9 mm of the edge."""
    criterion = builders.measured(
        lower=None, upper="10", decision_rule={"kind": "guard_band", "r": f"{r}/20"}
    )
    criterion["instrument"] |= {
        "resolution": f"{resolution}/100",
        "maximum_permissible_error": f"{error}/100",
        "ends": ends,
    }
    u = sqrt((error / 100) ** 2 / 3 + ends * (resolution / 200) ** 2 / 3)
    acceptance = 10 - r / 20 * 2 * u
    reading = value / 100
    if abs(reading - acceptance) < 1e-9:
        return
    expected = "not_met" if reading > 10 else "met" if reading < acceptance else "within_guard_band"
    assert judge(criterion, builders.readings(str(Fraction(value, 100)))).result == expected

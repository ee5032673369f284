"""The risks of decision rules against outside values, and by a second road."""

from __future__ import annotations

from fractions import Fraction
from math import inf, nan
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal, norm

from assessments.engine import EngineError
from assessments.engine.kinds import Measured
from assessments.engine.risk.global_risk import Ends, consumer_risk, producer_risk
from assessments.engine.risk.on_limit import accepted_on_limit, on_limit_sentence
from assessments.engine.standard import load_criterion
from tests.engine import builders
from tests.faults.marks import examples

TOLERANCE = (1499.8, 1500.2)
RESISTORS = {"nominal": 1500.0, "process_u": 0.12, "measurement_u": 0.04}


def both(tolerance: Ends, acceptance: Ends, **about: float) -> tuple[float, float]:
    """The consumer's and the producer's risk."""
    return consumer_risk(tolerance, acceptance, **about), producer_risk(
        tolerance, acceptance, **about
    )


@pytest.mark.parametrize(
    ("acceptance", "consumer", "producer"),
    [
        # JCGM 106:2012, clause 9, example of resistors of 1500 ohm. The inputs were seen in
        # a secondary source; the outputs recomputed by the bivariate normal distribution.
        ((1499.82, 1500.18), 0.00988, 0.06903),
        ((1499.80, 1500.20), 0.01894, 0.03721),
    ],
)
def test_resistors(acceptance: Ends, consumer: float, producer: float) -> None:
    found = both(TOLERANCE, acceptance, **RESISTORS)
    assert found == pytest.approx((consumer, producer), abs=5.1e-6)


def by_bivariate(
    tolerance: Ends, acceptance: Ends, nominal: float, process_u: float, measurement_u: float
) -> tuple[float, float]:
    """Both risks from scipy.stats.multivariate_normal: rectangles of true value and reading."""
    square = process_u**2
    joint: Any = multivariate_normal(
        [nominal, nominal], [[square, square], [square, square + measurement_u**2]]
    )
    t, a = (
        [-inf if lower is None else lower, inf if upper is None else upper]
        for lower, upper in (tolerance, acceptance)
    )

    def rectangle(y: list[float], reading: list[float]) -> float:
        return float(joint.cdf([y[1], reading[1]], lower_limit=[y[0], reading[0]]))

    everywhere = [-inf, inf]
    agreed = rectangle(t, a)
    return rectangle(everywhere, a) - agreed, rectangle(t, everywhere) - agreed


@given(
    st.floats(-2, 2), st.floats(0.2, 4), st.floats(0.05, 2), st.floats(-0.3, 0.3),
    st.sampled_from(["lower", "upper", "both"]),
)  # fmt: skip
@settings(deadline=None, max_examples=examples(60))
def test_the_bivariate_distribution_agrees(
    nominal: float, half: float, measurement_u: float, band: float, sides: str
) -> None:
    """Two figures from two roads: Genz's bivariate integral claims some 1e-5 by default."""
    band = min(band, half / 2)
    tolerance: Ends = (10 - half if sides != "upper" else None, 10 + half)
    acceptance: Ends = (10 - half + band if sides != "upper" else None, 10 + half - band)
    if sides == "lower":
        tolerance, acceptance = (tolerance[0], None), (acceptance[0], None)
    about = {"nominal": 10 + nominal, "process_u": 1.0, "measurement_u": measurement_u}
    expected = by_bivariate(tolerance, acceptance, **about)
    assert both(tolerance, acceptance, **about) == pytest.approx(expected, abs=2e-5)


def test_drawn_pieces_agree() -> None:
    """A million pieces drawn with numpy's generator; four standard errors are allowed."""
    pieces = 1_000_000
    chance = np.random.default_rng(20_261)
    true = chance.normal(9.7, 0.3, pieces)
    accepted = true + chance.normal(0, 0.1, pieces) <= 9.9
    shares = [float(np.mean(accepted & (true > 10))), float(np.mean(~accepted & (true <= 10)))]
    about = {"nominal": 9.7, "process_u": 0.3, "measurement_u": 0.1}
    for drawn, risk in zip(shares, both((None, 10.0), (None, 9.9), **about), strict=True):
        assert drawn == pytest.approx(risk, abs=4 * (risk * (1 - risk) / pieces) ** 0.5)


def test_a_wider_guard_band_moves_risk_from_the_consumer_to_the_producer() -> None:
    bands = [r / 4 * 2 * RESISTORS["measurement_u"] for r in range(9)]
    pairs = [both(TOLERANCE, (1499.8 + w, 1500.2 - w), **RESISTORS) for w in bands]
    consumers, producers = zip(*pairs, strict=True)
    assert list(consumers) == sorted(consumers, reverse=True)
    assert list(producers) == sorted(producers)
    assert len(set(consumers)) == len(set(producers)) == len(bands)
    assert consumers[-1] < 1e-4 < consumers[0]


@pytest.mark.parametrize("measurement_u", [1e-3, 1e-6, 1e-9])
def test_without_uncertainty_only_the_guard_band_costs(measurement_u: float) -> None:
    about = {**RESISTORS, "measurement_u": measurement_u}
    consumer, producer = both(TOLERANCE, TOLERANCE, **about)
    # E|reading error| either side of two limits, times how often pieces lie there.
    most = 2 * measurement_u * norm.pdf(0.2, scale=0.12)
    assert 0 < consumer < most
    assert 0 < producer < most
    consumer, producer = both(TOLERANCE, (1499.82, 1500.18), **about)
    between = 2 * (norm.cdf(0.2 / 0.12) - norm.cdf(0.18 / 0.12))  # rejected for the band alone
    assert consumer == pytest.approx(0, abs=1e-12)
    assert producer == pytest.approx(between, abs=most)


def test_accepted_and_conforming_make_up_the_whole() -> None:
    """P(accepted) = P(conforming) - producer's risk + consumer's risk, by normal tables."""
    about = {"nominal": 10.2, "process_u": 0.5, "measurement_u": 0.3}
    consumer, producer = both((9.0, 11.0), (9.1, 10.8), **about)
    conforming = norm.cdf(0.8 / 0.5) - norm.cdf(-1.2 / 0.5)
    spread = (0.5**2 + 0.3**2) ** 0.5
    accepted = norm.cdf(0.6 / spread) - norm.cdf(-1.1 / spread)
    assert conforming - producer + consumer == pytest.approx(accepted, abs=1e-9)


@pytest.mark.parametrize(
    ("tolerance", "acceptance", "changes", "path"),
    [
        ((None, None), (None, None), {}, "lower"),
        ((2.0, 1.0), (1.0, 2.0), {}, "lower"),
        ((1.0, 1.0), (1.0, 1.0), {}, "lower"),
        ((1.0, 2.0), (2.0, 1.0), {}, "acceptance_lower"),
        ((1.0, 2.0), (1.0, None), {}, "acceptance_upper"),
        ((None, 2.0), (1.0, 2.0), {}, "acceptance_lower"),
        ((1.0, nan), (1.0, 2.0), {}, "upper"),
        ((1.0, 2.0), (-inf, 2.0), {}, "acceptance_lower"),
        ((1.0, 2.0), (1.0, 2.0), {"measurement_u": 0.0}, "measurement_u"),
        ((1.0, 2.0), (1.0, 2.0), {"measurement_u": -1.0}, "measurement_u"),
        ((1.0, 2.0), (1.0, 2.0), {"process_u": 0.0}, "process_u"),
        ((1.0, 2.0), (1.0, 2.0), {"process_u": inf}, "process_u"),
        ((1.0, 2.0), (1.0, 2.0), {"nominal": nan}, "nominal"),
    ],
)
def test_what_makes_no_sense_is_refused(
    tolerance: Ends, acceptance: Ends, changes: dict[str, float], path: str
) -> None:
    about = {"nominal": 1.5, "process_u": 1.0, "measurement_u": 1.0, **changes}
    for risk in (consumer_risk, producer_risk):
        with pytest.raises(EngineError) as caught:
            risk(tolerance, acceptance, **about)
        assert caught.value.path == path
        assert caught.value.message.startswith("Write ")


def rule(lower: str | None, upper: str | None, **changes: Any) -> Measured:
    found = load_criterion(builders.measured(lower=lower, upper=upper, **changes), {}).rule
    assert isinstance(found, Measured)
    return found


def banded(r: str) -> dict[str, Any]:
    return {"decision_rule": {"kind": "guard_band", "r": r}}


# Guard bands of r·U with k = 2: a value on the limit is accepted with 1 - Φ(2r). JCGM 106:2012,
# 8.3.2, from memory; the values are scipy.stats.norm's.
@pytest.mark.parametrize(
    ("r", "expected", "said"),
    [
        ("0.83", 0.0485, "about 48 of 1,000"),
        ("1", 0.02275, "about 23 of 1,000"),
        ("1.5", 0.00135, "about 1 of 1,000"),
        ("2", 0.00003, "fewer than 1 of 1,000"),
    ],
)
@pytest.mark.parametrize(("lower", "upper"), [(None, "10"), ("5", None), ("5", "10")])
def test_on_the_limit(
    r: str, expected: float, said: str, lower: str | None, upper: str | None
) -> None:
    found = rule(lower, upper, **banded(r))
    assert accepted_on_limit(found) == pytest.approx(expected, abs=5.1e-5)
    assert f"Risk: {said} pieces exactly on a limit" in (on_limit_sentence(found) or "")


def test_on_the_limit_under_simple_acceptance() -> None:
    assert accepted_on_limit(rule(None, "10")) == pytest.approx(0.5)
    assert "about 500 of 1,000" in (on_limit_sentence(rule(None, "10")) or "")
    # The other limit, 1 mm = 12^½·u away, counts too: Φ(0) - Φ(-√12), scipy.stats.norm.
    near = accepted_on_limit(rule("9", "10"))
    assert near == pytest.approx(0.5 - norm.cdf(-(12**0.5)), abs=1e-7)


def test_on_the_limit_where_nothing_can_be_accepted() -> None:
    crossed = rule("9", "10", **banded("2"))  # 2·2·0.289 mm from either side of 1 mm
    assert crossed.acceptance().lower > crossed.acceptance().upper  # type: ignore[operator]
    assert accepted_on_limit(crossed) == 0
    assert "so nothing is accepted" in (on_limit_sentence(crossed) or "")


def test_on_the_limit_without_an_instrument() -> None:
    bare = rule(None, "10", instrument=None, coverage_factor=None)
    assert accepted_on_limit(bare) is None
    assert on_limit_sentence(bare) is None


def test_on_the_limit_of_a_spread() -> None:
    """The band and u both grow by √2, so that only r and k decide."""
    spread = rule(None, "10", statistic="spread", readings=2, **banded("1"))
    assert spread.variance == Fraction(2, 12) * 10**12
    assert accepted_on_limit(spread) == pytest.approx(0.02275, abs=5.1e-6)

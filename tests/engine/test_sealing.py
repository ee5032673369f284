"""What keeps a standard from being sealed."""

from __future__ import annotations

from typing import Any

import pytest

from assessments.engine import sealing_faults
from tests.engine import builders


def faults(*criteria: dict[str, Any], **changes: Any) -> list[str]:
    """The faults, without the outcome that the small documents leave unserved."""
    outcomes = [{"key": "O1", "statement": "Cuts true", "minimum": None}]
    document = builders.standard(*criteria, **{"critical": False, "outcomes": outcomes, **changes})
    return [str(each) for each in sealing_faults(document)]


def test_none() -> None:
    assert faults(builders.measured(), builders.checked(critical=True), critical=True) == []


def test_too_coarse_with_the_sums_shown() -> None:
    # u = √(0.5²/3 + (1/2)²/3) = √(1/6) = 0.4082; U = 2u = 0.8165; 2/0.8165 = 2.449 < 3
    coarse = builders.measured(lower="5", upper="7", minimum_ratio="3")
    coarse["instrument"] |= {"maximum_permissible_error": "0.5"}
    assert faults(coarse) == [
        "criteria[0].instrument: The instrument is too coarse for these limits. Steel rule: "
        "u² = (0.5)²/3 + 1 × (½ × 1)²/3, u = 0.4082 mm, U = 2 × u = 0.8165 mm. The limits are 2 mm "
        "wide: 2.45 times U, and at least 3 times is asked for. Take a finer instrument or wider "
        "limits."
    ]


@pytest.mark.parametrize(("ratio", "fine"), [("2", True), ("2.000001", False)])
def test_the_ratio_is_compared_exactly(ratio: str, fine: bool) -> None:
    # With 3 ends: u² = 1.5²/3 + 3·(1/2)²/3 = 1, U = 2, width 4: ratio 2 exactly.
    measured = builders.measured(lower="5", upper="9", minimum_ratio=ratio)
    measured["instrument"] |= {"maximum_permissible_error": "1.5", "ends": 3}
    assert (faults(measured) == []) is fine


def test_an_upper_limit_alone_is_as_wide_as_from_nothing() -> None:
    measured = builders.measured(lower=None, upper="4", minimum_ratio="2")
    measured["instrument"] |= {"maximum_permissible_error": "1.5", "ends": 3}
    assert faults(measured) == []
    measured["limits"]["upper"] = "3.999999"
    assert len(faults(measured)) == 1


@pytest.mark.parametrize(("upper", "possible"), [("7", True), ("6.999999", False)])
def test_guard_bands_that_leave_nothing(upper: str, possible: bool) -> None:
    # u = 1, w = r·k·u = 1/2·2·1 = 1 on each side: a width of 2 leaves one point.
    measured = builders.measured("M", "5", upper, decision_rule={"kind": "guard_band", "r": "1/2"})
    measured["instrument"] |= {"maximum_permissible_error": "1.5", "ends": 3}
    found = faults(measured)
    assert (found == []) is possible
    if not possible:
        assert found[0].startswith("criteria[0].decision_rule.r: The guard bands leave nothing")


def test_inches_are_shown_as_on_the_rule() -> None:
    measured = builders.measured("M", "1/4", "3/8", unit="in", minimum_ratio="100")
    measured["instrument"] |= {"maximum_permissible_error": "1/64", "resolution": "1/32"}
    # u² = (1/64)²/3 + (1/64)²/3; u = 1/64·√(2/3) = 0.01276
    assert "u² = (1/64)²/3 + 1 × (½ × 1/32)²/3, u = 0.0128 in" in faults(measured)[0]


def test_a_spread_counts_the_uncertainty_twice() -> None:
    # u² = 2·1/12 = 1/6, U = 2·0.4082 = 0.8165; 2/0.8165 = 2.45
    spread = builders.measured("M", None, "2", statistic="spread", readings=2, minimum_ratio="2.5")
    assert "u² = twice, (0)²/3" in faults(spread)[0]
    assert "2.45 times U" in faults(spread)[0]
    spread["statistic"] = "largest"
    assert faults(spread) == []


def test_limits_need_a_source() -> None:
    assert faults(builders.measured(limits_source=" ")) == [
        "criteria[0].limits_source: Say where the limits come from."
    ]
    without = builders.measured()
    del without["limits_source"]
    assert len(faults(without)) == 1


def test_every_outcome_is_served_and_every_part_of_the_rule_asks_for_something() -> None:
    document = builders.standard(builders.checked(), critical=True, outcome_minima=True)
    assert [each.path for each in sealing_faults(document)] == [
        "outcomes[1]",
        "pass_rule.critical",
        "pass_rule.outcome_minima",
    ]


def test_what_cannot_be_read_is_the_one_fault() -> None:
    document = builders.standard(builders.checked(weight="0"))
    assert [each.path for each in sealing_faults(document)] == ["criteria[0].weight"]

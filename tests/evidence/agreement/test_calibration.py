"""One assessor against agreed scores."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.evidence.agreement import CalibrationRow, calibration
from assessments.evidence.agreement.calibration import bias
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Figure, NotComputed, section_document

HALVES = (0.0, 0.5, 1.0)


def row(agreed: float, given: float, **about: Any) -> CalibrationRow:
    facts: dict[str, Any] = {
        "sitting": "s1",
        "when": "3 March 2026",
        "piece": "Sill with a short bed",
        "criterion": "c1",
        "title": "Bed joint full",
        "steps": HALVES,
    }
    return CalibrationRow(agreed=agreed, given=given, **{**facts, **about})


def test_by_hand() -> None:
    rows = [
        row(0.5, 0.5),
        row(0.5, 1.0, criterion="c2", title="Arris whole"),
        row(1.0, 0.0, sitting="s2", when="10 March 2026", piece="Sill, replaced"),
        row(1.0, 1.0, sitting="s2", when="10 March 2026", piece="Sill, replaced", steps=(0, 1)),
    ]
    found = calibration(rows)
    assert isinstance(found.exact, Figure)
    assert isinstance(found.adjacent, Figure)
    assert isinstance(found.bias, Figure)
    assert (found.exact.value, found.exact.n) == (0.5, 4)
    # Two-step criteria cannot be more than one apart and do not count here: 2 of 3.
    assert found.adjacent.value == pytest.approx(2 / 3)
    assert found.adjacent.n == 3
    assert found.bias.value == pytest.approx((0 + 0.5 - 1 + 0) / 4)
    assert found.pieces == 2
    by_criterion, by_sitting, unlike = found.section.tables
    assert [line[0] for line in by_criterion.rows] == ["Bed joint full", "Arris whole"]
    assert by_criterion.rows[0][1] == 3
    assert by_criterion.rows[0][2] == pytest.approx(2 / 3)
    assert by_sitting.rows == (
        ("3 March 2026", "Sill with a short bed", 2, 0.5, 0.25),
        ("10 March 2026", "Sill, replaced", 2, 0.5, -0.5),
    )
    assert [line[-1] for line in unlike.rows] == [1, -2]
    assert "2 of 4 scores on 2 reference pieces" in found.section.summary
    assert "12.5 percentage points lower than agreed (bias), which so few" in found.section.summary


def test_nothing_scored_yet() -> None:
    found = calibration([])
    for result in (found.exact, found.adjacent, found.bias):
        assert isinstance(result, NotComputed)
        assert "finish one" in result.reason
    assert (found.pieces, found.section.tables) == (0, ())
    assert "No reference piece" in found.section.summary


def test_one_score_has_no_interval_of_bias() -> None:
    found = calibration([row(0.5, 1.0)])
    assert isinstance(found.bias, Figure)
    assert (found.bias.value, found.bias.low) == (0.5, None)
    assert "one score" in found.bias.interval
    assert "1 reference piece " in found.section.summary
    assert "50.0 percentage points higher" in found.section.summary


def test_the_same_difference_throughout_has_none_either() -> None:
    found = bias([1.0, 0.5, 1.0], [0.5, 0.0, 0.5])
    assert isinstance(found, Figure)
    assert (found.value, found.low) == (0.5, None)
    assert "every difference is the same" in found.interval


def test_all_as_agreed() -> None:
    found = calibration([row(0.5, 0.5), row(1.0, 1.0)])
    assert isinstance(found.exact, Figure)
    assert found.exact.value == 1
    assert found.exact.low is not None
    assert found.exact.low < 0.5
    assert "neither higher nor lower" in found.section.summary
    assert found.section.tables[2].rows == ()


def test_only_met_or_not() -> None:
    found = calibration([row(1.0, 0.0, steps=(0.0, 1.0))])
    assert isinstance(found.adjacent, NotComputed)
    assert "rated criteria" in found.adjacent.reason


@pytest.mark.parametrize(
    ("about", "path"),
    [
        ({"steps": (1.0,)}, "steps"),
        ({"steps": (0.0, 1.0, 0.5)}, "steps"),
        ({"steps": (0.0, 0.0, 1.0)}, "steps"),
        ({"steps": (0.0, float("nan"))}, "steps"),
        ({"steps": (0.0, 2.0)}, "steps"),
        ({"steps": (0.0, 1.0), "agreed": 0.5}, "agreed"),
        ({"given": 0.7}, "given"),
        ({"given": float("nan")}, "given"),
    ],
)
def test_rows_that_are_none(about: dict[str, Any], path: str) -> None:
    facts = {"agreed": 1.0, "given": 1.0, **about}
    with pytest.raises(EvidenceError) as caught:
        row(**facts)
    assert caught.value.path == path


def test_unlike_lists() -> None:
    with pytest.raises(EvidenceError, match="given"):
        bias([1.0], [1.0, 0.5])


@given(
    st.lists(st.tuples(st.sampled_from(HALVES), st.sampled_from(HALVES)), max_size=20),
    st.integers(1, 4),
)
def test_any_rows(pairs: list[tuple[float, float]], sittings: int) -> None:
    rows = [
        row(a, b, sitting=f"s{number % sittings}", criterion=f"c{number}")
        for number, (a, b) in enumerate(pairs)
    ]
    found = calibration(rows)
    turned = calibration([row(one.given, one.agreed, criterion=one.criterion) for one in rows])
    document = section_document(found.section)
    assert document["summary"].endswith(".")
    if rows:
        assert isinstance(found.bias, Figure)
        assert isinstance(turned.bias, Figure)
        assert found.bias.value == pytest.approx(-turned.bias.value)
        assert isinstance(found.exact, Figure)
        assert isinstance(turned.exact, Figure)
        assert found.exact.value == turned.exact.value

"""Parts of the pass rule by themselves, where a whole decision does not show them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from assessments.engine import judge, load_standard
from assessments.engine.findings import findings, hold_points
from assessments.engine.observations import load_observations
from assessments.engine.rule import Combined, Part, Score, combine, score, verdict
from assessments.engine.rule.verdict import critical
from tests.engine import builders

STANDARD = load_standard(
    builders.standard(
        builders.checked("A"),
        builders.checked("B", stage="S2"),
        stages=[
            {"key": "S1", "title": "Cut", "hold_point": True},
            {"key": "S2", "title": "Set", "hold_point": False},
        ],
    )
)


def test_what_is_missing_is_not_met_in_any_way() -> None:
    found = combine(STANDARD.criteria[0], [], STANDARD.pass_rule)
    assert found == Combined("missing", None, None, False, False, 0)


def test_what_does_not_apply_has_no_score() -> None:
    criterion = load_standard(builders.standard(builders.checked(not_applicable=True))).criteria[0]
    result = judge(criterion, {"not_applicable": True, "reason": "no access"})
    found = combine(criterion, [result], STANDARD.pass_rule)
    assert found == Combined("not_applicable", None, None, True, True, 1)


def test_what_is_blocked_is_not_met_in_any_way() -> None:
    rows = builders.observations(
        builders.observation("A", {"answer": True}), builders.observation("B", {"answer": True})
    )
    sheet = load_observations(rows, STANDARD)
    found = findings(STANDARD, sheet, hold_points(STANDARD, sheet))
    assert found.criteria == [
        Combined("met", 1, 1, True, True, 1),
        Combined("blocked", None, None, False, False, 0),
    ]
    assert (found.missing, found.blocked, found.hold_points) == ([], ["B"], ["S1"])
    assert not found.second


GUARDED = builders.measured(decision_rule={"kind": "guard_band", "r": "1"})
VALUES = {"met": "7", "band": "9.5", "not": "11"}


@pytest.mark.parametrize(
    ("how", "found", "result"),
    [
        ("mean", ("met", "met"), "met"),
        ("mean", ("met", "band"), "within_guard_band"),
        ("mean", ("band", "band"), "within_guard_band"),
        ("mean", ("met", "not"), "not_met"),
        # Even if the band counted, the mean would be a half.
        ("mean", ("band", "not"), "not_met"),
        ("lower", ("met", "band"), "within_guard_band"),
        ("lower", ("band", "not"), "not_met"),
        ("agreement", ("met", "met"), "met"),
        ("agreement", ("met", "not"), "disagreed"),
        ("agreement", ("met", "band"), "within_guard_band"),
        ("agreement", ("band", "not"), "within_guard_band"),
        ("agreement", ("not", "not"), "not_met"),
    ],
)
def test_what_two_assessors_come_to_is_called(
    how: str, found: tuple[str, str], result: str
) -> None:
    standard = load_standard(builders.standard(GUARDED, combine=how))
    criterion = standard.criteria[0]
    results = [judge(criterion, builders.readings(VALUES[each])) for each in found]
    assert combine(criterion, results, standard.pass_rule).result == result
    assert combine(criterion, results[::-1], standard.pass_rule).result == result


def test_verdict() -> None:
    sure, open_, failed = (
        Part("p", True, True), Part("p", False, True), Part("p", False, False),
    )  # fmt: skip
    assert verdict([]) == "met"
    assert verdict([sure, sure]) == "met"
    assert verdict([sure, open_]) == "undecided"
    assert verdict([open_, failed]) == "not_yet_met"
    assert verdict([sure, failed]) == "not_yet_met"


def test_a_score_is_the_weighted_mean_of_what_applies() -> None:
    """Weights 1, 1/2 and 2 apply, 3 1/2 together.

    Low is (1·1/2 + 1/2·0 + 2·2/3) / 3 1/2 = 11/21, high (11/6 + 1/2) / 3 1/2 = 2/3.
    """
    weights = ["1", "1/3", "1/2", "2"]
    rows = [builders.checked(f"A{i}", weight=weight) for i, weight in enumerate(weights)]
    found = [
        Combined("not_met", Fraction(1, 2), Fraction(1, 2), False, False, 1),
        Combined("not_applicable", None, None, True, True, 1),
        Combined("disagreed", 0, 1, False, True, 2),
        Combined("met", Fraction(2, 3), Fraction(2, 3), True, True, 1),
    ]
    group = load_standard(builders.standard(*rows)).overall
    assert score(group, found) == Score(Fraction(11, 21), Fraction(2, 3), (0, 2, 3), (1,))
    nothing = [found[1]] * 4
    assert score(group, nothing) == Score(None, None, (), (0, 1, 2, 3))
    assert score(group, [found[1], *found[1:3], found[1]]) == Score(0, 1, (2,), (0, 1, 3))


def test_every_critical_criterion_must_be_met_and_no_other() -> None:
    standard = load_standard(
        builders.standard(
            builders.checked("A", critical=True),
            builders.checked("B", critical=True),
            builders.checked("C"),
        )
    )
    met = Combined("met", 1, 1, True, True, 1)
    open_ = Combined("within_guard_band", 0, 1, False, True, 1)
    failed = Combined("not_met", 0, 0, False, False, 1)
    assert critical(standard, [met, met, failed]) == Part("critical", True, True)
    assert critical(standard, [met, open_, met]) == Part("critical", False, True)
    assert critical(standard, [met, failed, met]) == Part("critical", False, False)
    assert critical(standard, [open_, failed, met]) == Part("critical", False, False)

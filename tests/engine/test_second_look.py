"""When an attempt may be made again, and which stages: cases worked out by hand.

Days: counted on a calendar by hand. Stages: the house's own rule, worked out by hand from its
sentences in FORMATS.md ("Open stages"); no standard or trade source sets one.
"""

import copy
import hashlib
from datetime import date
from typing import Any

import pytest

from assessments.engine import EngineError, decide, load_standard
from assessments.engine.second_look import (
    Again,
    RetakeRule,
    attempts_left,
    earliest_day,
    made_again,
    retake_rule,
    review_rule,
)


def rule(**changes: Any) -> RetakeRule:
    return RetakeRule(**{"after_days": 7, "most": 3, "scope": "open_stages", **changes})


@pytest.mark.parametrize(
    ("after", "decided", "earliest"),
    [
        (0, date(2026, 11, 3), date(2026, 11, 3)),
        (1, date(2026, 12, 31), date(2027, 1, 1)),
        (7, date(2027, 2, 22), date(2027, 3, 1)),
        (7, date(2028, 2, 22), date(2028, 2, 29)),  # a leap year
        (366, date(2027, 3, 1), date(2028, 3, 1)),  # across 29 February 2028
    ],
)
def test_the_earliest_day_is_so_many_days_after_the_decision(
    after: int, decided: date, earliest: date
) -> None:
    assert earliest_day(rule(after_days=after), decided, "not_yet_met") == earliest


def test_without_a_rule_or_judgement_nobody_waits() -> None:
    day = date(2026, 11, 3)
    assert earliest_day(None, day, "not_yet_met") == day
    assert earliest_day(rule(), day, "incomplete") == day


def test_the_attempts_left_never_fall_below_none() -> None:
    assert [attempts_left(rule(), made) for made in (0, 1, 2, 3, 4)] == [3, 2, 1, 0, 0]
    assert attempts_left(rule(most=None), 9) is None
    assert attempts_left(None, 9) is None


# Four stages: cut (no hold point), fit (hold point), set (hold point), finish (no hold point).
STAGES = [("cut", False), ("fit", True), ("set", True), ("finish", False)]
KEYS = {"cut": "C1", "fit": "C2", "set": "C3", "finish": "C4"}


def document(stages: list[tuple[str, bool]] = STAGES) -> dict[str, Any]:
    return {
        "schema": "bankermark/standard/1",
        "program": {"code": "P", "version": 1, "title": "Sill"},
        "outcomes": [{"key": "O1", "statement": "Sets a sill", "minimum": None}],
        "stages": [{"key": key, "title": key, "hold_point": held} for key, held in stages],
        "dimensions": {},
        "criteria": [
            {
                "key": key,
                "title": f"Criterion {key}",
                "stage": stage,
                "kind": "checked",
                "critical": False,
                "not_applicable": True,
                "weight": "1",
                "outcomes": {"O1": "1"},
                "expected": True,
            }
            for stage, key in KEYS.items()
        ],
        "pass_rule": {
            "critical": False,
            "outcome_minima": False,
            "cut": "1",
            "band": None,
            "assessors": {"required": 1, "combine": "mean"},
        },
    }


def observed(rows: list[tuple[str, str, dict[str, Any]]]) -> dict[str, Any]:
    return {
        "schema": "bankermark/observations/1",
        "attempt": "a",
        "observations": [
            {"id": str(i), "subject": {"kind": kind, "key": key}, "assessor": "1", "value": value}
            for i, (kind, key, value) in enumerate(rows)
        ],
    }


def again(
    not_met: str = "", refused: str = "", missing: str = "", stages: list[tuple[str, bool]] = STAGES
) -> Again:
    """Decide an attempt in which the criteria of these stages fail, and ask what is open."""
    found = document(stages)
    rows = []
    for stage, key in KEYS.items():
        if stage not in missing.split():
            rows.append(("criterion", key, {"answer": stage not in not_met.split()}))
    for stage, held in stages:
        if held and stage not in missing.split():
            rows.append(("hold_point", stage, {"accepted": stage not in refused.split()}))
    observations = observed(rows)
    standard = load_standard(found)
    return made_again(standard, decide(standard, observations), observations)


@pytest.mark.parametrize(
    ("failing", "stages", "carried"),
    [
        # The last stage alone: nothing was built on it.
        ({"not_met": "finish"}, ("finish",), ("cut", "fit", "set")),
        # No hold point covers it: it alone.
        ({"not_met": "cut"}, ("cut",), ("fit", "set", "finish")),
        # Made again it takes apart what is built on it.
        ({"not_met": "set"}, ("set", "finish"), ("cut", "fit")),
        ({"not_met": "fit"}, ("fit", "set", "finish"), ("cut",)),
        ({"not_met": "cut finish"}, ("cut", "finish"), ("fit", "set")),
        # Refused: what lies behind is blocked, so open as well.
        ({"refused": "set"}, ("set", "finish"), ("cut", "fit")),
        # Stopped before the last hold point.
        ({"missing": "set finish"}, ("set", "finish"), ("cut", "fit")),
        # All open: the whole task.
        ({"not_met": "cut fit"}, (), ()),
        ({"missing": "cut fit set finish"}, (), ()),
        # None open: only the scores fell short, or it was met.
        ({}, (), ()),
    ],
)
def test_the_open_stages(
    failing: dict[str, Any], stages: tuple[str, ...], carried: tuple[str, ...]
) -> None:
    found = again(**failing)
    assert found == Again(stages, carried)
    assert found.whole == (not stages)


def test_a_stage_with_nothing_to_observe_is_neither_open_nor_stands() -> None:
    # "clear" has no criterion and no hold point: it changes nothing.
    found = again(not_met="finish", stages=[*STAGES, ("clear", False)])
    assert found == Again(("finish",), ("cut", "fit", "set"))


def test_what_does_not_apply_stands() -> None:
    standard = load_standard(document())
    observations: dict[str, Any] = {
        "schema": "bankermark/observations/1",
        "attempt": "a",
        "observations": [
            {"id": "1", "subject": {"kind": "criterion", "key": "C1"}, "assessor": "1",
             "value": {"not_applicable": True, "reason": "sawn six sides"}},
            {"id": "2", "subject": {"kind": "hold_point", "key": "fit"}, "assessor": "1",
             "value": {"accepted": True}},
            {"id": "3", "subject": {"kind": "criterion", "key": "C2"}, "assessor": "1",
             "value": {"answer": True}},
        ],
    }  # fmt: skip
    found = made_again(standard, decide(standard, observations), observations)
    assert found == Again(("set", "finish"), ("cut", "fit"))


def test_a_decision_under_another_standard_is_refused() -> None:
    standard = load_standard(document())
    decision = {"standard_digest": hashlib.sha256(b"other").hexdigest(), "criteria": []}
    with pytest.raises(EngineError, match="another standard"):
        made_again(standard, decision, {})


@pytest.mark.parametrize(
    ("about", "path"),
    [
        ({"retake": []}, "about.retake"),
        ({"retake": {"after_days": -1, "scope": "whole"}}, "about.retake.after_days"),
        ({"retake": {"after_days": True, "scope": "whole"}}, "about.retake.after_days"),
        ({"retake": {"after_days": 1}}, "about.retake.scope"),
        ({"retake": {"after_days": 1, "scope": "whole", "most": 0}}, "about.retake.most"),
        ({"retake": {"after_days": 1, "scope": "whole", "for": 1}}, "about.retake.for"),
    ],
)
def test_a_rule_that_is_wrong_is_told_at_its_field(about: dict[str, Any], path: str) -> None:
    with pytest.raises(EngineError) as caught:
        retake_rule({"about": about})
    assert caught.value.path == path


@pytest.mark.parametrize("about", [{}, {"about": None}, {"about": {}}, {"about": {"retake": None}}])
def test_a_standard_may_say_nothing(about: dict[str, Any]) -> None:
    assert retake_rule(about) is None
    assert review_rule(copy.deepcopy(about)) is None


def test_a_stage_scored_anew_by_a_review_is_made_again() -> None:
    # Only finish fails; what a review put its own score into is not as it was observed.
    standard = load_standard(document())
    rows = [
        *(("criterion", key, {"answer": stage != "finish"}) for stage, key in KEYS.items()),
        *(("hold_point", stage, {"accepted": True}) for stage in ("fit", "set")),
    ]
    observations = observed(rows)
    decision = decide(standard, observations)
    assert made_again(standard, decision, observations) == Again(("finish",), ("cut", "fit", "set"))
    found = made_again(standard, decision, observations, {"cut"})
    assert found == Again(("cut", "finish"), ("fit", "set"))
    found = made_again(standard, decision, observations, {"set"})
    assert found == Again(("set", "finish"), ("cut", "fit"))

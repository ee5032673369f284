"""Hold points, blocked criteria, missing observations, and the sentences about them."""

from __future__ import annotations

from typing import Any

import pytest

from assessments.engine import decide, replay
from tests.engine import builders

THREE_STAGES = [
    {"key": "S1", "title": "Cut out", "hold_point": True},
    {"key": "S2", "title": "Set", "hold_point": True},
    {"key": "S3", "title": "Point", "hold_point": False},
]
STANDARD = builders.standard(
    builders.checked("A", stage="S1"),
    builders.checked("B", stage="S2"),
    builders.checked("C", stage="S3"),
    stages=THREE_STAGES,
    cut="1",
)
ALL = [builders.observation(key, {"answer": True}) for key in "ABC"]


def decided(*rows: dict[str, Any]) -> dict[str, Any]:
    decision = decide(STANDARD, builders.observations(*rows))
    assert replay(decision["trace"])["result"] == decision["result"]
    return decision


def results(decision: dict[str, Any]) -> list[str]:
    return [each["result"] for each in decision["criteria"]]


def test_all_hold_points_accepted() -> None:
    decision = decided(*ALL, builders.accepted("S1"), builders.accepted("S2"))
    assert decision["result"] == "met"
    assert decision["reasons"] == ["Overall: 100 %; needed is 100 %."]


def test_what_comes_after_a_hold_point_not_looked_at_does_not_count() -> None:
    decision = decided(*ALL, builders.accepted("S2"))
    assert decision["result"] == "incomplete"
    assert results(decision) == ["met", "blocked", "blocked"]
    assert decision["reasons"] == [
        "Hold point S1 has not been looked at: accept it, then go on.",
        "Behind a hold point and not counted: B, C.",
    ]
    assert decision["overall"] == {
        "score": None, "score_at_most": None, "met": None, "cut": "1", "band": "0",
    }  # fmt: skip


def test_a_refused_hold_point_blocks_from_the_next_stage_on() -> None:
    decision = decided(*ALL, builders.accepted("S1"), builders.accepted("S2", False))
    assert results(decision) == ["met", "met", "blocked"]
    assert decision["reasons"][0] == "Hold point S2 was not accepted: accept it, then go on."
    blocked = next(step for step in decision["trace"] if step["rule"] == "blocked")
    assert blocked["inputs"] == {"criterion": "C", "hold_points": ["S2"]}


def test_one_refusal_outweighs_an_acceptance() -> None:
    rows = [builders.accepted("S1"), builders.accepted("S1", False, "ben"), builders.accepted("S2")]
    decision = decided(*ALL, *rows)
    assert results(decision) == ["met", "blocked", "blocked"]
    step = next(step for step in decision["trace"] if step["rule"] == "hold_point")
    assert step["inputs"] == {"stage": "S1", "accepted_by": ["ann"], "refused_by": ["ben"]}
    assert step["result"] == "refused"


def test_an_acceptance_taken_back_is_none() -> None:
    back = builders.observation(
        "S1", {"cleared": True}, kind="hold_point", id="back", replaces="ann/hold_point/S1"
    )
    decision = decided(*ALL, builders.accepted("S1"), builders.accepted("S2"), back)
    assert results(decision) == ["met", "blocked", "blocked"]


def test_a_hold_point_of_the_last_stage_must_be_accepted_too() -> None:
    standard = builders.standard(
        builders.checked(), stages=[{"key": "S1", "title": "Cut", "hold_point": True}]
    )
    row = builders.observation("A", {"answer": True})
    without = decide(standard, builders.observations(row))
    assert (without["result"], without["criteria"][0]["result"]) == ("incomplete", "met")
    accepted = decide(standard, builders.observations(row, builders.accepted("S1")))
    assert accepted["result"] == "met"


def test_missing_is_said_with_its_title() -> None:
    decision = decided(ALL[0], builders.accepted("S1"), builders.accepted("S2"))
    assert decision["reasons"] == [
        "B, As drawn: to be observed.",
        "C, As drawn: to be observed.",
    ]
    assert [each["sentence"] for each in decision["criteria"]] == [
        "Yes, as needed.",
        "Not observed yet.",
        "Not observed yet.",
    ]


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        (builders.readings("6"), "1 of 2 readings are taken."),
        (builders.readings(), "0 of 2 readings are taken."),
    ],
)
def test_partly_observed(value: dict[str, Any], sentence: str) -> None:
    standard = builders.standard(builders.measured(readings=2))
    decision = decide(standard, builders.observations(builders.observation("M", value)))
    assert decision["result"] == "incomplete"
    assert decision["criteria"][0]["result"] == "missing"
    assert decision["criteria"][0]["sentence"] == sentence


def test_a_time_that_still_runs() -> None:
    standard = builders.standard(builders.timed())
    value = {"start": "2026-05-04T09:00:00Z"}
    decision = decide(standard, builders.observations(builders.observation("T", value)))
    assert decision["result"] == "incomplete"
    assert decision["criteria"][0]["result"] == "missing"
    assert decision["criteria"][0]["sentence"] == "Started, but the end is not noted."


def test_half_a_second_observation_leaves_the_first_alone() -> None:
    standard = builders.standard(builders.measured(readings=2))
    rows = [
        builders.observation("M", builders.readings("6", "7")),
        builders.observation("M", builders.readings("20"), "ben"),
    ]
    decision = decide(standard, builders.observations(*rows))
    assert decision["result"] == "met"
    assert replay(decision["trace"])["result"] == "met"


def test_sentences_for_several_assessors() -> None:
    rows = [
        builders.observation("A", {"answer": True}),
        builders.observation("A", {"answer": False}, "ben"),
    ]
    one = builders.standard(builders.checked(), required=2, cut="0.5")
    waiting = decide(one, builders.observations(rows[0]))
    assert waiting["criteria"][0]["sentence"] == (
        "Yes, as needed. Another assessor must score it too."
    )
    assert waiting["reasons"] == ["A, As drawn: to be observed by 2 assessors."]
    said = {
        how: decide(
            builders.standard(builders.checked(), combine=how), builders.observations(*rows)
        )["criteria"][0]["sentence"]
        for how in ("mean", "lower", "agreement")
    }
    assert said == {
        "mean": "By the mean of 2 scores: not met.",
        "lower": "By the lowest of 2 scores: not met.",
        "agreement": "The 2 assessors differ: look again together, and correct what was wrong.",
    }


def test_reasons_name_what_is_open() -> None:
    guarded = builders.measured(critical=True, decision_rule={"kind": "guard_band", "r": "1"})
    standard = builders.standard(guarded, builders.checked(), cut="0.6", band="0.2")
    rows = [
        builders.observation("M", builders.readings("9.5")),
        builders.observation("A", {"answer": True}),
    ]
    decision = decide(standard, builders.observations(*rows))
    assert decision["result"] == "undecided"
    assert decision["reasons"] == [
        "M, As drawn, is critical and open.",
        "Overall: 50 % to 100 %; needed is 60 %.",
        "That is within 20 % of the cut: a second assessor must score the attempt.",
    ]
    assert decision["criteria"][0]["sentence"] == (
        "The reading: 9.5 mm; allowed: 5 mm to 10 mm. "
        "That is within the limits, but not by the guard band."
    )


def test_reasons_where_nothing_applies() -> None:
    rows = [
        builders.observation("A", {"answer": True}),
        builders.observation("B", {"not_applicable": True, "reason": "no access"}),
    ]
    lone = builders.checked("B", not_applicable=True, outcomes={"O2": "1"})
    outcomes = [
        {"key": "O1", "statement": "Cuts", "minimum": None},
        {"key": "O2", "statement": "Fits", "minimum": "0.5"},
    ]
    standard = builders.standard(
        builders.checked("A"), lone, outcomes=outcomes, outcome_minima=True
    )
    assert decide(standard, builders.observations(*rows))["reasons"] == [
        "Every criterion of outcome O2 was marked not applicable: nothing shows that it is met."
    ]
    alone = builders.standard(lone, outcomes=outcomes)
    assert decide(alone, builders.observations(rows[1]))["reasons"] == [
        "Every criterion of the task was marked not applicable: nothing shows that it is met."
    ]


def test_reasons_for_not_yet_met_name_only_what_failed() -> None:
    standard = builders.standard(
        builders.checked("A", critical=True),
        builders.checked("B", critical=True),
        builders.checked("C", outcomes={"O2": "1"}),
        outcomes=[
            {"key": "O1", "statement": "Cuts", "minimum": "0.5"},
            {"key": "O2", "statement": "Fits", "minimum": "0.5"},
        ],
        outcome_minima=True,
        cut="0.3",
    )
    rows = [builders.observation(key, {"answer": key == "A"}) for key in ("A", "B", "C")]
    decision = decide(standard, builders.observations(*rows))
    assert decision["reasons"] == [
        "B, As drawn, is critical and not met.",
        "Outcome O2: 0 %; needed is 50 %.",
    ]
    assert [each["met"] for each in decision["outcomes"]] == [True, False]
    assert decision["overall"]["met"] is True

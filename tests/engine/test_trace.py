"""The trace: complete, checked against tampering, and in the published shape."""

from __future__ import annotations

import copy
import json
from importlib.resources import files
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.engine import EngineError, decide, replay
from tests.engine import builders
from tests.engine.documents import attempts
from tests.engine.test_cases import CASES, documents


def validator(name: str) -> jsonschema.Draft202012Validator:
    """The published JSON Schema of a kind of document."""
    text = (files("assessments.engine") / "schemas" / f"{name}-1.json").read_text("utf-8")
    schema = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


STANDARD, OBSERVATIONS, DECISION = map(validator, ("standard", "observations", "decision"))


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_schemas_hold_for_the_cases(case: dict[str, Any]) -> None:
    standard, observations = documents(case)
    STANDARD.validate(standard)
    OBSERVATIONS.validate(observations)
    DECISION.validate(decide(standard, observations))


@given(attempts())
def test_schemas_hold_for_any_attempt(attempt: tuple[dict[str, Any], list[Any]]) -> None:
    standard, rows = attempt
    STANDARD.validate(standard)
    OBSERVATIONS.validate(builders.observations(*rows))
    DECISION.validate(decide(standard, builders.observations(*rows)))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("criteria[0].weight", 1),
        ("criteria[0].weight", "1 1/2"),
        ("criteria[0].critcal", True),
        ("criteria[0].levels", []),
        ("criteria[0].kind", "scored"),
        ("pass_rule.assessors.combine", "best"),
    ],
)
def test_the_schema_refuses_other_shapes(path: str, value: Any) -> None:
    wrong = builders.changed(builders.standard(builders.rated()), path, value)
    assert not STANDARD.is_valid(wrong)


@given(attempts(), st.data())
def test_a_step_that_does_not_follow_is_found(
    attempt: tuple[dict[str, Any], list[Any]], data: st.DataObject
) -> None:
    standard, rows = attempt
    trace = decide(standard, builders.observations(*rows))["trace"]
    place = data.draw(st.integers(0, len(trace) - 1))
    wrong = copy.deepcopy(trace)
    result = wrong[place]["result"]
    if isinstance(result, dict):
        key = data.draw(st.sampled_from(sorted(result)))
        result[key] = {True: False, False: True}.get(result[key], "12345")
    else:
        wrong[place]["result"] = "12345"
    with pytest.raises(EngineError):
        replay(wrong)


@pytest.mark.parametrize("rule", ["missing", "combine", "critical", "overall"])
def test_a_step_cannot_be_left_out(rule: str) -> None:
    guarded = builders.measured(critical=True, decision_rule={"kind": "guard_band", "r": "1"})
    standard = builders.standard(guarded, builders.checked(), cut="0.9")
    rows = [builders.observation("M", builders.readings("9.5"))]
    if rule != "missing":
        rows.append(builders.observation("A", {"answer": True}))
    trace = decide(standard, builders.observations(*rows))["trace"]
    assert rule in [step["rule"] for step in trace]
    with pytest.raises(EngineError):
        replay([step for step in trace if step["rule"] != rule])


def test_a_trace_needs_known_rules_and_a_result() -> None:
    with pytest.raises(EngineError, match="no result"):
        replay([])
    with pytest.raises(EngineError, match="no rule"):
        replay([{"rule": "guess", "inputs": {}, "result": "met", "sentence": "So be it."}])


def test_the_sentences_of_the_scores() -> None:
    standard = builders.standard(
        builders.checked("A"),
        builders.checked("B", weight="2", not_applicable=True),
        builders.checked("C", weight="1/2", outcomes={"O2": "1"}),
        outcomes=[
            {"key": "O1", "statement": "Cuts", "minimum": "0.6"},
            {"key": "O2", "statement": "Fits", "minimum": None},
        ],
        outcome_minima=True,
        cut="0.7",
        band="0.1",
    )
    rows = [
        builders.observation("A", {"answer": True}),
        builders.observation("B", {"not_applicable": True, "reason": "no access"}),
        builders.observation("C", {"answer": False}),
    ]
    trace = decide(standard, builders.observations(*rows))["trace"]
    said = [step["sentence"] for step in trace if step["rule"] in ("outcome", "overall", "result")]
    # A and C apply: 1·1 + ½·0 of 1½, that is 2/3; in the band from 0.6 to 0.8.
    assert said == [
        "Outcome O1: 100 % (of 3 in weights, 1 apply and make up the whole); needed is 60 %: met.",
        "Outcome O2: 0 %.",
        "Overall: about 66.66 % (of 3.5 in weights, 1.5 apply and make up the whole); "
        "needed is 70 %: open. Within 10 % of the cut a second assessor must score.",
        "The result is open until a second assessor has scored and nothing differs.",
    ]


def test_limits_and_uncertainty_stand_in_the_trace() -> None:
    guarded = builders.measured(
        unit="in",
        limits={"lower": None, "upper": "opening - 2 * joint"},
        decision_rule={"kind": "guard_band", "r": "1"},
    )
    guarded["instrument"] |= {"resolution": "1/64"}
    standard = builders.standard(
        guarded,
        dimensions={
            "opening": {"value": "6", "unit": "in"},
            "joint": {"value": "1/8", "unit": "in"},
        },
    )
    rows = [builders.observation("M", builders.readings("5.5", unit="in"))]
    limit, uncertainty, *_ = decide(standard, builders.observations(*rows))["trace"]
    assert limit["result"] == "5.75"
    assert limit["sentence"] == ("M, As drawn: the upper limit is opening - 2 * joint = 5 3/4 in.")
    # u = 1/64 ÷ √12 = 0.004511 in (0.1146 mm); U = 0.009021 in
    assert uncertainty["result"] == {
        "variance": "1/49152",
        "standard": "0.004511",
        "expanded": "0.009021",
        "guard_band": "0.009021",
    }

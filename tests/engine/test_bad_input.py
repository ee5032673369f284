"""Bad input: an error at the field, with a sentence that says what to write; never a decision."""

from __future__ import annotations

import copy
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.engine import EngineError, decide, judge, load_standard
from tests.engine import builders
from tests.engine.builders import changed

GUARDED = builders.measured(readings=2, decision_rule={"kind": "guard_band", "r": "1"})
STANDARD = builders.standard(
    builders.rated(),
    GUARDED,
    builders.checked(),
    builders.counted(),
    builders.timed(not_applicable=True),
    dimensions={"joint": {"value": "3", "unit": "mm"}},
    stages=[
        {"key": "S1", "title": "Cut", "hold_point": True},
        {"key": "S2", "title": "Set", "hold_point": False},
    ],
)
OBSERVATIONS = builders.observations(
    builders.observation("R", {"level": 2}),
    builders.observation("M", builders.readings("6", "7")),
    builders.observation("A", {"answer": True}),
    builders.observation("N", {"count": 1}),
    builders.observation("T", builders.minutes(70)),
    builders.accepted("S1"),
)

BAD_STANDARDS: list[tuple[str, Any, str, str]] = [
    ("schema", "bankermark/standard/2", "schema", "bankermark/standard/1"),
    ("schema", ..., "schema", "missing"),
    ("extra", 1, "extra", "no such field"),
    ("program", ..., "program", "missing"),
    ("program", "x", "program", "object"),
    ("program.code", "", "program.code", "empty"),
    ("program.version", True, "program.version", "version"),
    ("program.version", "", "program.version", "version"),
    ("outcomes", [], "outcomes", "at least 1"),
    ("outcomes", {}, "outcomes", "list"),
    ("outcomes[1].key", "O1", "outcomes[1].key", "twice"),
    ("outcomes[0].minimum", "1.1", "outcomes[0].minimum", "0 to 1"),
    ("outcomes[0].minimum", "-0.1", "outcomes[0].minimum", "0 or more"),
    ("outcomes[0].minimum", 1, "outcomes[0].minimum", "text"),
    ("outcomes[0].minimum", "60 %", "outcomes[0].minimum", "text"),
    ("outcomes[0].statement", None, "outcomes[0].statement", "text"),
    ("stages", [], "stages", "at least 1"),
    ("stages[1].key", "S1", "stages[1].key", "twice"),
    ("stages[0].hold_point", "yes", "stages[0].hold_point", "true or false"),
    ("stages[0].key", "1 st", "stages[0].key", "letters"),
    ("dimensions", [], "dimensions", "object"),
    ("dimensions.joint.value", "0", "dimensions.joint.value", "above 0"),
    ("dimensions.joint.value", "1/0", "dimensions.joint.value", "0 under the line"),
    ("dimensions.joint.unit", "pt", "dimensions.joint.unit", "not a unit"),
    ("dimensions.joint.unit", "degC", "dimensions.joint.unit", "temperature"),
    ("dimensions.mm", {"value": "1", "unit": "mm"}, "dimensions.mm", "not like a unit"),
    ("dimensions.min", {"value": "1", "unit": "mm"}, "dimensions.min", "not like a unit"),
    ("criteria", [], "criteria", "at least 1"),
    ("criteria[0]", "x", "criteria[0]", "object"),
    ("criteria[1].key", "R", "criteria[1].key", "twice"),
    ("criteria[0].kind", ..., "criteria[0].kind", "missing"),
    ("criteria[0].kind", "scored", "criteria[0].kind", "rated"),
    ("criteria[0].title", " ", "criteria[0].title", "empty"),
    ("criteria[0].stage", "S9", "criteria[0].stage", "S1, S2"),
    ("criteria[0].critcal", True, "criteria[0].critcal", "no such field"),
    ("criteria[0].critical", 1, "criteria[0].critical", "true or false"),
    ("criteria[0].weight", "0", "criteria[0].weight", "above 0"),
    ("criteria[0].weight", "-1", "criteria[0].weight", "above 0"),
    ("criteria[0].weight", 1, "criteria[0].weight", "text"),
    ("criteria[0].weight", 1.5, "criteria[0].weight", "exact"),
    ("criteria[0].weight", "1e3", "criteria[0].weight", "exact"),
    ("criteria[0].outcomes", {}, "criteria[0].outcomes", "at least one"),
    ("criteria[0].outcomes", {"O9": "1"}, "criteria[0].outcomes.O9", "no outcome"),
    ("criteria[0].outcomes.O1", "0", "criteria[0].outcomes.O1", "above 0"),
    ("criteria[0].levels", ..., "criteria[0].levels", "missing"),
    ("criteria[0].levels", [], "criteria[0].levels", "at least 2"),
    ("criteria[0].levels[2].points", "1", "criteria[0].levels[2].points", "more points"),
    ("criteria[0].levels[0].points", "-1", "criteria[0].levels[0].points", "0 or more"),
    ("criteria[0].levels[0].description", "", "criteria[0].levels[0].description", "empty"),
    ("criteria[0].met_from", 0, "criteria[0].met_from", "1 to 3"),
    ("criteria[0].met_from", 4, "criteria[0].met_from", "1 to 3"),
    ("criteria[0].met_from", "2", "criteria[0].met_from", "whole number"),
    ("criteria[1].quantity", "hue", "criteria[1].quantity", "length"),
    ("criteria[1].unit", "kg", "criteria[1].unit", "unit of mass"),
    ("criteria[1].unit", None, "criteria[1].unit", "not a unit"),
    ("criteria[1].readings", 0, "criteria[1].readings", "1 to 100"),
    ("criteria[1].readings", True, "criteria[1].readings", "1 to 100"),
    ("criteria[1].statistic", "median", "criteria[1].statistic", "mean"),
    ("criteria[1].limits", None, "criteria[1].limits", "object"),
    ("criteria[1].limits", {"lower": None, "upper": None}, "criteria[1].limits", "limit"),
    ("criteria[1].limits.upper", "4", "criteria[1].limits.upper", "swap"),
    ("criteria[1].limits.upper", 4, "criteria[1].limits.upper", "text"),
    ("criteria[1].limits.lower", "-1", "criteria[1].limits.lower", "0 or more"),
    ("criteria[1].limits.lower", "joint - 4 mm", "criteria[1].limits.lower", "below 0"),
    ("criteria[1].limits.upper", "joint / 0", "criteria[1].limits.upper", "column 7"),
    ("criteria[1].limits.upper", "joint + 4", "criteria[1].limits.upper", "column 7"),
    ("criteria[1].limits.upper", "gap", "criteria[1].limits.upper", "column 1"),
    ("criteria[1].limits.upper", "1e400", "criteria[1].limits.upper", "column"),
    ("criteria[1].instrument.name", "", "criteria[1].instrument.name", "empty"),
    ("criteria[1].instrument.resolution", "0", "criteria[1].instrument.resolution", "above 0"),
    ("criteria[1].instrument.ends", 0, "criteria[1].instrument.ends", "1 to 10"),
    ("criteria[1].instrument", None, "criteria[1].instrument", "guard band needs"),
    ("criteria[1].coverage_factor", None, "criteria[1].coverage_factor", "guard band needs"),
    ("criteria[1].coverage_factor", "0", "criteria[1].coverage_factor", "above 0"),
    ("criteria[1].decision_rule", {"kind": "guard_band"}, "criteria[1].decision_rule.r", "missing"),
    ("criteria[1].decision_rule.r", "0", "criteria[1].decision_rule.r", "above 0"),
    ("criteria[1].decision_rule.kind", "simple", "criteria[1].decision_rule.r", "no r"),
    ("criteria[1].decision_rule.kind", "none", "criteria[1].decision_rule.kind", "simple"),
    ("criteria[1].minimum_ratio", "0", "criteria[1].minimum_ratio", "above 0"),
    ("criteria[2].expected", "yes", "criteria[2].expected", "true or false"),
    ("criteria[3].what", "", "criteria[3].what", "empty"),
    ("criteria[3].limits.upper", "2.5", "criteria[3].limits.upper", "whole number"),
    ("criteria[3].limits.upper", 2, "criteria[3].limits.upper", "text"),
    ("criteria[3].limits.lower", "3", "criteria[3].limits.upper", "swap"),
    ("criteria[4].limits.lower", "-1", "criteria[4].limits.lower", "min"),
    ("criteria[4].unit", "mm", "criteria[4].unit", "unit of length"),
    ("pass_rule", ..., "pass_rule", "missing"),
    ("pass_rule.cut", "0", "pass_rule.cut", "above 0"),
    ("pass_rule.cut", "70", "pass_rule.cut", "0 to 1"),
    ("pass_rule.cut", 0.7, "pass_rule.cut", "exact"),
    ("pass_rule.cut", None, "pass_rule", "decides nothing"),
    ("pass_rule.band", "-0.1", "pass_rule.band", "0 or more"),
    ("pass_rule.guard_band", "maybe", "pass_rule.guard_band", "undecided"),
    ("pass_rule.assessors.required", 0, "pass_rule.assessors.required", "1 to 9"),
    ("pass_rule.assessors.combine", "best", "pass_rule.assessors.combine", "mean"),
]


@pytest.mark.parametrize(("field", "value", "path", "said"), BAD_STANDARDS)
def test_standard(field: str, value: Any, path: str, said: str) -> None:
    with pytest.raises(EngineError) as caught:
        load_standard(changed(STANDARD, field, value))
    assert caught.value.path == path
    assert said in caught.value.message
    assert caught.value.message.endswith((".", "}.", "]."))


def test_a_band_needs_a_cut() -> None:
    loose = builders.standard(builders.checked(critical=True), cut=None, band="0.1")
    with pytest.raises(EngineError, match="needs a cut"):
        load_standard(loose)


def test_a_ratio_needs_a_width() -> None:
    lone = builders.measured(lower="5", upper=None, minimum_ratio="3")
    with pytest.raises(EngineError, match="needs an upper limit"):
        load_standard(builders.standard(lone))


@pytest.mark.parametrize("document", [None, [], "x", 3, {}])
def test_no_standard_at_all(document: Any) -> None:
    with pytest.raises(EngineError):
        load_standard(document)


BAD_OBSERVATIONS: list[tuple[str, Any, str, str]] = [
    ("schema", "bankermark/observations/2", "schema", "observations/1"),
    ("attempt", "", "attempt", "empty"),
    ("observations", {}, "observations", "list"),
    ("observations[0]", 3, "observations[0]", "object"),
    ("observations[0].id", "", "observations[0].id", "text"),
    ("observations[0].id", 4, "observations[0].id", "text"),
    ("observations[1].id", "ann/criterion/R", "observations[1].id", "twice"),
    ("observations[0].assessor", None, "observations[0].assessor", "text"),
    ("observations[0].device", "x", "observations[0].device", "no such field"),
    ("observations[0].note", 3, "observations[0].note", "text"),
    ("observations[0].subject", "R", "observations[0].subject", "object"),
    ("observations[0].subject.kind", "outcome", "observations[0].subject.kind", "criterion"),
    ("observations[0].subject.key", "Z", "observations[0].subject.key", "no criterion"),
    ("observations[0].subject.key", ["R"], "observations[0].subject.key", "text"),
    ("observations[5].subject.key", "S2", "observations[5].subject.key", "no hold point"),
    ("observations[0].value", None, "observations[0].value", "object"),
    ("observations[0].value", {}, "observations[0].value.level", "missing"),
    ("observations[0].value.level", 4, "observations[0].value.level", "0 to 3"),
    ("observations[0].value.level", -1, "observations[0].value.level", "0 to 3"),
    ("observations[0].value.level", True, "observations[0].value.level", "0 to 3"),
    ("observations[0].value.level", 1.0, "observations[0].value.level", "0 to 3"),
    ("observations[0].value", {"cleared": False}, "observations[0].value.cleared", "true"),
    (
        "observations[0].value",
        {"cleared": True, "level": 1},
        "observations[0].value.level",
        "no such",
    ),
    (
        "observations[0].value",
        {"not_applicable": True, "reason": "x"},
        "observations[0].value.not_applicable",
        "does not let",
    ),
    (
        "observations[4].value",
        {"not_applicable": True, "reason": " "},
        "observations[4].value.reason",
        "empty",
    ),
    ("observations[4].value", {"not_applicable": True}, "observations[4].value.reason", "missing"),
    (
        "observations[4].value",
        {"not_applicable": False, "reason": "x"},
        "observations[4].value.not_applicable",
        "true",
    ),
    ("observations[1].value.readings", "6", "observations[1].value.readings", "list"),
    (
        "observations[1].value",
        builders.readings("6", "6", "6"),
        "observations[1].value.readings",
        "asks for 2",
    ),
    ("observations[1].value.readings[1]", "6", "observations[1].value.readings[1]", "{typed"),
    ("observations[1].value.readings[1].note", "6", "observations[1].value.readings[1]", "{typed"),
    ("observations[2].value.answer", "yes", "observations[2].value.answer", "true or false"),
    ("observations[3].value.count", -1, "observations[3].value.count", "0 to"),
    ("observations[3].value.count", "3", "observations[3].value.count", "whole number"),
    ("observations[3].value.count", 10**10, "observations[3].value.count", "whole number"),
    ("observations[4].value.start", "2026-05-04T09:00:00", "observations[4].value.start", "offset"),
    ("observations[4].value.start", "yesterday", "observations[4].value.start", "offset"),
    ("observations[4].value.start", 5, "observations[4].value.start", "offset"),
    (
        "observations[4].value.end",
        "2026-05-04T08:59:59-04:00",
        "observations[4].value.end",
        "before the start",
    ),
    (
        "observations[5].value",
        {"accepted": "yes"},
        "observations[5].value.accepted",
        "true or false",
    ),
    (
        "observations[5].value",
        {"not_applicable": True, "reason": "x"},
        "observations[5].value.accepted",
        "missing",
    ),
    ("observations[0].replaces", "gone", "observations[0].replaces", "no observation"),
    ("observations[0].replaces", 3, "observations[0].replaces", "null"),
    ("observations[0].replaces", "ann/criterion/M", "observations[0].replaces", "same criterion"),
    ("observations[0].replaces", "ann/criterion/R", "observations[0].replaces", "circle"),
]


BAD_READINGS: list[tuple[str, Any, str, str]] = [
    ("value", 6, "value", "text"),
    ("value", 6.5, "value", "text"),
    ("value", ..., "value", "text"),
    ("value", "1e400", "value", "exact"),
    ("value", "NaN", "value", "exact"),
    ("value", "1 1/2", "value", "exact"),
    ("value", "-6", "value", "negative"),
    ("value", "1/0", "value", "under the line"),
    ("value", "1/3", "value", "nanometres"),
    ("value", "9" * 30, "value", "1 000 m"),
    ("unit", "kg", "unit", "length"),
    ("unit", "furlong", "unit", "length"),
    ("typed", None, "value", "text"),
]


@pytest.mark.parametrize(("field", "value", "path", "said"), BAD_READINGS)
def test_reading(field: str, value: Any, path: str, said: str) -> None:
    reading = "observations[1].value.readings[1]"
    with pytest.raises(EngineError) as caught:
        decide(STANDARD, changed(OBSERVATIONS, f"{reading}.{field}", value))
    assert caught.value.path == f"{reading}.{path}"
    assert said in caught.value.message


@pytest.mark.parametrize(("field", "value", "path", "said"), BAD_OBSERVATIONS)
def test_observations(field: str, value: Any, path: str, said: str) -> None:
    with pytest.raises(EngineError) as caught:
        decide(STANDARD, changed(OBSERVATIONS, field, value))
    assert caught.value.path == path
    assert said in caught.value.message
    assert caught.value.message.endswith(".")


def test_what_the_tables_change_is_sound() -> None:
    assert decide(STANDARD, OBSERVATIONS)["result"] == "met"


def test_two_current_observations_of_one_assessor() -> None:
    twice = builders.observation("R", {"level": 3}, id="again")
    document = builders.observations(*OBSERVATIONS["observations"], twice)
    with pytest.raises(EngineError, match="two current") as caught:
        decide(STANDARD, document)
    assert caught.value.path == "observations[6].subject"
    twice["replaces"] = "ann/criterion/R"
    assert decide(STANDARD, document)["criteria"][0]["score"] == "1"


def test_two_corrections_of_one_observation_are_two_current_ones() -> None:
    rows = [
        builders.observation("R", {"level": 3}, id=name, replaces="ann/criterion/R")
        for name in ("one", "two")
    ]
    with pytest.raises(EngineError, match="two current"):
        decide(STANDARD, builders.observations(*OBSERVATIONS["observations"], *rows))


def test_an_assessor_cannot_correct_another() -> None:
    other = builders.observation("R", {"level": 3}, "ben", replaces="ann/criterion/R")
    with pytest.raises(EngineError, match="same assessor"):
        decide(STANDARD, builders.observations(*OBSERVATIONS["observations"], other))


def test_a_circle_of_three() -> None:
    rows = [
        builders.observation("R", {"level": 3}, id=f"r{i}", replaces=f"r{(i + 1) % 3}")
        for i in range(3)
    ]
    with pytest.raises(EngineError, match="circle"):
        decide(STANDARD, builders.observations(*rows))


def test_a_long_chain_of_corrections() -> None:
    rows = [
        builders.observation("R", {"level": i % 4}, id=f"r{i}", replaces=f"r{i - 1}" if i else None)
        for i in range(5000)
    ]
    rest = OBSERVATIONS["observations"][1:]
    decision = decide(STANDARD, builders.observations(*rest, *reversed(rows)))
    assert decision["criteria"][0]["score"] == "1"


def test_judge_names_the_field_of_the_value() -> None:
    with pytest.raises(EngineError) as caught:
        judge(builders.measured(), builders.readings("-1"))
    assert caught.value.path == "readings[0].value"
    with pytest.raises(EngineError) as caught:
        judge(builders.measured(limits={"lower": None, "upper": "gap"}), builders.readings("1"))
    assert caught.value.path == "limits.upper"
    with pytest.raises(EngineError, match="exact"):
        judge(builders.checked(), {"answer": 1.5})


JSON_VALUES: st.SearchStrategy[Any] = st.sampled_from(
    [None, True, 0, -1, 10**6, "", "x", "1/0", "NaN", "1e400", "-3", [], {}, [[]], {"a": []}, 1.5]
)


def places(value: Any, path: str = "") -> list[str]:
    """The paths of all fields of a document."""
    found = []
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in pairs:
        here = f"{path}[{key}]" if isinstance(value, list) else f"{path}.{key}".lstrip(".")
        found.append(here)
        if isinstance(inner, dict | list):
            found += places(inner, here)
    return found


STANDARD_PLACES, OBSERVATION_PLACES = places(STANDARD), places(OBSERVATIONS)


@given(st.data(), JSON_VALUES)
def test_any_field_gone_wrong_is_a_decision_or_an_engine_error(
    data: st.DataObject, value: Any
) -> None:
    standard, observations = copy.deepcopy(STANDARD), copy.deepcopy(OBSERVATIONS)
    if data.draw(st.booleans()):
        standard = changed(standard, data.draw(st.sampled_from(STANDARD_PLACES)), value)
    else:
        observations = changed(observations, data.draw(st.sampled_from(OBSERVATION_PLACES)), value)
    with suppress(EngineError):
        result = decide(standard, observations)["result"]
        assert result in ("met", "not_yet_met", "undecided", "incomplete")

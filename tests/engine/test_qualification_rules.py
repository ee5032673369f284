"""Reading the rules: what is accepted, and what is said to whoever wrote them wrong."""

from fractions import Fraction
from typing import Any

import pytest

from assessments.engine import EngineError
from assessments.engine.qualification import (
    Continuity,
    Renewal,
    load_rules,
    rules_in,
    stated_range,
)
from tests.engine.qualification import DIMENSIONS, STAGES, make_rules, rules_document

MISSING = object()


def test_rules_are_read_exactly() -> None:
    rules = make_rules()
    assert [each.key for each in rules.variables] == ["position", "stone", "depth", "joint"]
    depth, joint = rules.variable("depth"), rules.variable("joint")
    assert depth is not None
    assert joint is not None
    # 3 in = 76 200 000 nm (the inch is 25.4 mm exactly); 3 mm = 3 000 000 nm.
    assert (depth.size, depth.low, depth.high, depth.unit) == (76_200_000, Fraction(1, 2), 2, "in")
    assert (joint.size, joint.low, joint.high) == (3_000_000, 1, None)
    assert rules.continuity == Continuity(every_months=6, grace_days=30)
    assert rules.renewal == Renewal(before_days=90, after_days=30, stages=("fit",))


@pytest.mark.parametrize("name", ["continuity", "renewal"])
def test_continuity_and_renewal_may_be_left_out(name: str) -> None:
    document = rules_document()
    del document[name]
    assert getattr(load_rules(document, DIMENSIONS, STAGES), name) is None
    assert getattr(make_rules(**{name: None}), name) is None


def test_one_value_assessed_may_stand_without_a_list() -> None:
    document = rules_document()
    document["variables"][1]["assessed"] = "granite"
    assert load_rules(document, DIMENSIONS).variables[1].assessed == ("granite",)


# Variable, field, what is written there, where the error stands, and a part of what it says.
WRONG: list[tuple[int, str, object, str, str]] = [
    (0, "key", "1st", "variables[0].key", "a letter first"),
    (0, "title", " ", "variables[0].title", "it is empty"),
    (0, "source", MISSING, "variables[0].source", "is missing"),
    (0, "kind", "harder", "variables[0].kind", "ordered, as_assessed, window"),
    (0, "kind", MISSING, "variables[0].kind", "is missing"),
    (0, "values", [], "variables[0].values", "at least 1"),
    (0, "values", ["sill", "sill"], "variables[0].values[1]", "stands twice"),
    (0, "values", ["sill", ""], "variables[0].values[1]", "not empty"),
    (0, "assessed", "arch", "variables[0].assessed", "sill, vertical face, soffit"),
    (0, "assessed", ["sill"], "variables[0].assessed", "Write text"),
    (0, "from", "1/2", "variables[0].from", "no such field"),
    (1, "assessed", ["slate"], "variables[1].assessed[0]", "granite, limestone, sandstone"),
    (1, "assessed", [], "variables[1].assessed", "at least 1"),
    (2, "key", "position", "variables[2].key", "stands twice"),
    (2, "unit", "degC", "variables[2].unit", "temperature"),
    (2, "unit", "furlong", "variables[2].unit", "not a unit"),
    (2, "unit", "kg", "variables[2].unit", "“depth” is given as length"),
    (2, "dimension", "width", "variables[2].dimension", "known: depth, face"),
    (2, "dimension", "face", "variables[2].unit", "“face” is given as area"),
    (2, "dimension", MISSING, "variables[2].assessed", "one of both"),
    (2, "assessed", "3", "variables[2].assessed", "one of both"),
    (2, "from", "3/2", "variables[2].from", "1 or less"),
    (2, "from", "0", "variables[2].from", "above 0"),
    (2, "from", 0.5, "variables[2].from", "exact decimal"),
    (2, "to", "1/2", "variables[2].to", "1 or more"),
    (3, "from", None, "variables[3].from", "without any end"),
    (3, "assessed", "0", "variables[3].assessed", "above 0"),
]


@pytest.mark.parametrize(("number", "name", "value", "path", "said"), WRONG)
def test_what_is_wrong_in_a_variable_is_said_at_its_field(
    number: int, name: str, value: object, path: str, said: str
) -> None:
    document = rules_document()
    row = document["variables"][number]
    if value is MISSING:
        del row[name]
    else:
        row[name] = value
    with pytest.raises(EngineError) as caught:
        load_rules(document, DIMENSIONS, STAGES)
    assert caught.value.path == path
    assert said in caught.value.message


@pytest.mark.parametrize(
    ("changes", "path", "said"),
    [
        ({"basis": ""}, "basis", "empty"),
        ({"variables": []}, "variables", "at least 1"),
        ({"variables": ["x"]}, "variables[0]", "an object"),
        ({"extra": 1}, "extra", "no such field"),
        ({"continuity": {"every_months": 0, "grace_days": 0}}, "continuity.every_months", "1 to"),
        ({"continuity": {"every_months": 6}}, "continuity.grace_days", "missing"),
        ({"continuity": {"every_months": 6, "grace_days": -1}}, "continuity.grace_days", "0 to"),
        (
            {"renewal": {"before_days": 90, "after_days": 30, "stages": ["bond"]}},
            "renewal.stages[0]",
            "known: cavity, fit",
        ),
        (
            {"renewal": {"before_days": 90, "after_days": 30, "stages": []}},
            "renewal.stages",
            "at least 1",
        ),
    ],
)
def test_what_is_wrong_around_the_variables_is_said_too(
    changes: dict[str, Any], path: str, said: str
) -> None:
    with pytest.raises(EngineError) as caught:
        make_rules(**changes)
    assert caught.value.path == path
    assert said in caught.value.message


def _standard(about: object) -> dict[str, Any]:
    return {
        "about": about,
        "dimensions": {"depth": {"value": "3", "unit": "in"}},
        "stages": [{"key": "cavity", "title": "Cavity"}, {"key": "fit", "title": "Dry fit"}],
    }


def test_a_standard_without_rules_has_no_range() -> None:
    for standard in ({}, _standard({}), _standard({"task": {}}), _standard("old words")):
        assert rules_in(standard) is None
        assert stated_range(standard) is None


def test_a_standard_states_its_range_in_words() -> None:
    stated = stated_range(_standard({"qualification": rules_document()}))
    # These words stand in issued records: they are not to change.
    assert stated == {
        "basis": "Set by the author of the program.",
        "rows": [
            {
                "key": "position",
                "title": "Position",
                "covers": "Sill and vertical face.",
                "rule": "Assessed: vertical face; this and all that is easier is covered. From "
                "the easiest to the hardest: sill, vertical face, soffit. Source: Author.",
            },
            {
                "key": "stone",
                "title": "Stone",
                "covers": "Sandstone and limestone.",
                "rule": "Assessed: sandstone and limestone; these alone are covered. "
                "Source: Author.",
            },
            {
                "key": "depth",
                "title": "Piece depth",
                "covers": "1 1/2 in to 6 in.",
                "rule": "Assessed: 3 in; from half that size to twice that size is covered. "
                "Source: Author.",
            },
            {
                "key": "joint",
                "title": "Joint",
                "covers": "3 mm and more.",
                "rule": "Assessed: 3 mm; that size and more is covered. Source: Author.",
            },
        ],
        "continuity": "The record counts while work of its kind is confirmed every 6 months: "
        "each confirmation reaches 6 months from the last day worked and is signed at most 30 "
        "days after the day it is due. After a gap it no longer counts: only a new record "
        "starts again.",
        "renewal": "From 90 days before the record's last day until 30 days after it, a shorter "
        "attempt at the stage “Dry fit” may renew it.",
    }


def test_the_path_of_a_fault_leads_through_the_standard() -> None:
    document = rules_document()
    document["variables"][0]["assessed"] = "arch"
    with pytest.raises(EngineError) as caught:
        rules_in(_standard({"qualification": document}))
    assert caught.value.path == "about.qualification.variables[0].assessed"

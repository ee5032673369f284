"""Rules of qualification for the tests: invented, with every kind of variable."""

from copy import deepcopy
from typing import Any

from assessments.engine.formula import Amount
from assessments.engine.qualification import Rules, load_rules
from assessments.engine.standard import load_dimensions

DIMENSIONS: dict[str, Amount] = load_dimensions(
    {"depth": {"value": "3", "unit": "in"}, "face": {"value": "24", "unit": "in2"}}
)
STAGES = ["cavity", "fit"]
RULES: dict[str, Any] = {
    "basis": "Set by the author of the program.",
    "variables": [
        {
            "key": "position",
            "title": "Position",
            "kind": "ordered",
            "source": "Author",
            "values": ["sill", "vertical face", "soffit"],
            "assessed": "vertical face",
        },
        {
            "key": "stone",
            "title": "Stone",
            "kind": "as_assessed",
            "source": "Author",
            "values": ["granite", "limestone", "sandstone"],
            "assessed": ["sandstone", "limestone"],
        },
        {
            "key": "depth",
            "title": "Piece depth",
            "kind": "window",
            "source": "Author",
            "unit": "in",
            "dimension": "depth",
            "from": "1/2",
            "to": "2",
        },
        {
            "key": "joint",
            "title": "Joint",
            "kind": "window",
            "source": "Author",
            "unit": "mm",
            "assessed": "3",
            "from": "1",
            "to": None,
        },
    ],
    "continuity": {"every_months": 6, "grace_days": 30},
    "renewal": {"before_days": 90, "after_days": 30, "stages": ["fit"]},
}


def rules_document(**changes: Any) -> dict[str, Any]:
    """The rules above; keywords replace members."""
    return {**deepcopy(RULES), **changes}


def make_rules(**changes: Any) -> Rules:
    """The same, read."""
    return load_rules(rules_document(**changes), DIMENSIONS, STAGES)

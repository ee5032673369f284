"""A standard with rules of range and continuity, for the records made under it; invented."""

from typing import Any

from tests.engine.qualification import rules_document

# The dimension and the stages are those of tests.assessments.builders.
RULES: dict[str, Any] = rules_document(
    variables=[
        *rules_document()["variables"][:2],
        {**rules_document()["variables"][2], "dimension": "opening_width", "title": "Width"},
    ],
    renewal={"before_days": 90, "after_days": 30, "stages": ["fit", "set"]},
)
ABOUT: dict[str, Any] = {"qualification": RULES}

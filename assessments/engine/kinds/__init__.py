"""The five kinds of criterion: rated, measured, checked, counted, timed."""

from __future__ import annotations

from collections.abc import Mapping

from assessments.engine.fields import Document
from assessments.engine.formula import Amount
from assessments.engine.kinds import checked, counted, measured_load, rated, timed
from assessments.engine.kinds.checked import Checked
from assessments.engine.kinds.counted import Counted
from assessments.engine.kinds.measured import Measured
from assessments.engine.kinds.rated import Rated
from assessments.engine.kinds.result import CriterionResult, Result, Rule
from assessments.engine.kinds.timed import Timed

KINDS = ("rated", "measured", "checked", "counted", "timed")
FIELDS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "rated": (rated.FIELDS, ()),
    "measured": (measured_load.FIELDS, measured_load.OPTIONAL),
    "checked": (checked.FIELDS, ()),
    "counted": (counted.FIELDS, ()),
    "timed": (timed.FIELDS, timed.OPTIONAL),
}
"""For each kind, the fields of its own that are required, and those that may be left out."""

AnyRule = Rated | Measured | Checked | Counted | Timed


def load_rule(kind: str, document: Document, dimensions: Mapping[str, Amount]) -> AnyRule:
    """Read the fields of a kind's own; EngineError at the field."""
    match kind:
        case "rated":
            return rated.load(document)
        case "measured":
            return measured_load.load(document, dimensions)
        case "checked":
            return checked.load(document)
        case "counted":
            return counted.load(document)
        case _:
            return timed.load(document)


__all__ = [
    "FIELDS",
    "KINDS",
    "AnyRule",
    "Checked",
    "Counted",
    "CriterionResult",
    "Measured",
    "Rated",
    "Result",
    "Rule",
    "Timed",
    "load_rule",
]

"""The immediate result of one observation."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assessments.engine.canonical import check_plain
from assessments.engine.errors import EngineError
from assessments.engine.fields import fields, text
from assessments.engine.kinds import CriterionResult
from assessments.engine.standard import Criterion, load_criterion, load_dimensions

CLEARED = "cleared"
NOT_APPLICABLE = "not_applicable"


def judge(
    criterion: Criterion | Mapping[str, Any],
    value: Mapping[str, Any],
    dimensions: Mapping[str, Any] | None = None,
) -> CriterionResult:
    """What an observation's ``value`` comes to under a criterion (FORMATS.md), by itself.

    ``criterion`` is one of a loaded Standard, or its document; then ``dimensions`` are the
    standard's dimensions document, needed where limits are formulas. Raises EngineError at the
    field at fault, seen from the value (``readings[0].value``) or the criterion document.

    >>> door = {"key": "C1", "title": "Wedged dry", "stage": "S1", "kind": "checked",
    ...         "critical": True, "not_applicable": False, "weight": "1",
    ...         "outcomes": {"O1": "1"}, "expected": True}
    >>> judge(door, {"answer": True}).result
    'met'
    """
    if not isinstance(criterion, Criterion):
        check_plain(criterion)
        criterion = load_criterion(criterion, load_dimensions(dict(dimensions or {})))
    check_plain(value)
    return judge_value(criterion, value)


def judge_value(criterion: Criterion, value: object) -> CriterionResult:
    """As ``judge``, for a loaded criterion and a value that holds only plain data."""
    if not isinstance(value, dict):
        raise EngineError("", "Write an object here: {…}.")
    if CLEARED in value:
        return cleared(value)
    if NOT_APPLICABLE in value:
        fields(value, (NOT_APPLICABLE, "reason"))
        if value[NOT_APPLICABLE] is not True:
            raise EngineError(NOT_APPLICABLE, "Write true, or observe the criterion instead.")
        reason = text(value, "reason").strip()
        if not criterion.not_applicable:
            raise EngineError(
                NOT_APPLICABLE, "The standard does not let this criterion be left out: observe it."
            )
        return CriterionResult(
            "not_applicable", None, f"Not applicable: {reason}", {"reason": reason}
        )
    return criterion.rule.judge(value)


def cleared(value: dict[str, Any]) -> CriterionResult:
    """An observation that was taken back: as if there were none."""
    if fields(value, (CLEARED,))[CLEARED] is not True:
        raise EngineError(CLEARED, "Write true, or observe the criterion instead.")
    return CriterionResult("missing", None, "The observation was taken back.", {})

"""Whether one result decides, whatever else is scored."""

from __future__ import annotations

from assessments.engine.kinds import CriterionResult
from assessments.engine.standard import Criterion, Standard


def decides_alone(standard: Standard, criterion: Criterion, result: CriterionResult) -> bool:
    """Whether the standard cannot be met any more once one assessor found ``result``.

    That is so where critical criteria must be met, this is one, it is not met, and no other
    assessor's score could make up for it: under ``lower`` none can, under ``mean`` none where
    only full marks are enough, under ``agreement`` the criterion stays open when they differ.
    A correction of the observation itself is not thought of.
    """
    rule = standard.pass_rule
    if not (rule.critical and criterion.critical) or result.result != "not_met":
        return False
    if rule.combine == "mean":
        return criterion.rule.threshold == 1
    return rule.combine == "lower"

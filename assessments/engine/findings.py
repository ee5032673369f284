"""From a sheet of observations to what the pass rule is applied to."""

from __future__ import annotations

from assessments.engine.observations import Sheet
from assessments.engine.rule import Combined, Findings, combine
from assessments.engine.standard import Standard

HoldState = str
"""accepted, refused or missing."""


def hold_points(standard: Standard, sheet: Sheet) -> dict[str, HoldState]:
    """The state of each hold point: accepted when someone accepted it and nobody refused."""
    states: dict[str, HoldState] = {}
    for stage in standard.stages:
        if stage.hold_point:
            words = [accepted for _, accepted in sheet.accepted.get(stage.key, ())]
            states[stage.key] = _state(words)
    return states


def _state(words: list[bool]) -> HoldState:
    if not words:
        return "missing"
    return "accepted" if all(words) else "refused"


def findings(standard: Standard, sheet: Sheet, holds: dict[str, HoldState]) -> Findings:
    """Combine each criterion's results; behind a hold point not accepted they do not count."""
    first_blocked = len(standard.stages)
    for i, stage in enumerate(standard.stages):
        if stage.hold_point and holds[stage.key] != "accepted":
            first_blocked = i + 1
            break
    criteria: list[Combined] = []
    missing, blocked = [], []
    for criterion in standard.criteria:
        if criterion.stage >= first_blocked:
            blocked.append(criterion.key)
            criteria.append(Combined("blocked", None, None, False, False, 0))
            continue
        results = [result for _, result in sheet.found.get(criterion.key, ())]
        found = combine(criterion, results, standard.pass_rule)
        criteria.append(found)
        if found.result == "missing":
            missing.append(criterion.key)
    return Findings(
        criteria=criteria,
        missing=missing,
        blocked=blocked,
        hold_points=[key for key, state in holds.items() if state != "accepted"],
        second=all(each.assessors >= 2 for each in criteria),
    )

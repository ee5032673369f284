"""Write the trace, in the order in which the numbers follow from one another."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from assessments.engine.kinds import CriterionResult
from assessments.engine.numbers import Exact, number_text
from assessments.engine.observations import Sheet
from assessments.engine.rule import Combined, Findings, Ruling
from assessments.engine.standard import Criterion, Standard
from assessments.engine.trace.score_steps import rule_steps
from assessments.engine.trace.standing import standing_steps

Step = dict[str, Any]


def trace(
    standard: Standard, sheet: Sheet, holds: dict[str, str], found: Findings, ruling: Ruling
) -> list[Step]:
    """All steps: the limits, the hold points, each criterion, each score, the rule."""
    steps = standing_steps(standard)
    steps += _hold_points(standard, sheet, holds)
    for criterion, combined in zip(standard.criteria, found.criteria, strict=True):
        steps += _criterion(standard, sheet, criterion, combined, holds)
    steps += rule_steps(standard, found, ruling)
    return steps


def score_text(score: Exact | None) -> str | None:
    """A score in the trace; None where there is none."""
    return None if score is None else number_text(score)


def _hold_points(standard: Standard, sheet: Sheet, holds: dict[str, str]) -> Iterator[Step]:
    titles = {stage.key: stage.title for stage in standard.stages}
    said = {
        "accepted": "accepted; the next stage counts.",
        "refused": "not accepted; what comes after it does not count yet.",
        "missing": "not looked at yet; what comes after it does not count yet.",
    }
    for key, state in holds.items():
        words = sheet.accepted.get(key, [])
        yield {
            "rule": "hold_point",
            "inputs": {
                "stage": key,
                "accepted_by": [assessor for assessor, accepted in words if accepted],
                "refused_by": [assessor for assessor, accepted in words if not accepted],
            },
            "result": state,
            "sentence": f"Hold point {key}, {titles[key]}: {said[state]}",
        }


def _criterion(
    standard: Standard,
    sheet: Sheet,
    criterion: Criterion,
    combined: Combined,
    holds: dict[str, str],
) -> Iterator[Step]:
    name = f"{criterion.key}, {criterion.title}"
    if combined.result == "blocked":
        stages = standard.stages[: criterion.stage]
        yield {
            "rule": "blocked",
            "inputs": {
                "criterion": criterion.key,
                "hold_points": [
                    stage.key
                    for stage in stages
                    if stage.hold_point and holds[stage.key] != "accepted"
                ],
            },
            "result": "blocked",
            "sentence": f"{name}: does not count before the hold point ahead of it is accepted.",
        }
        return
    pairs = sheet.found.get(criterion.key, [])
    for assessor, result in pairs:
        yield _observation(criterion, name, assessor, result)
    if combined.result == "missing":
        required = standard.pass_rule.required
        yield {
            "rule": "missing",
            "inputs": {
                "criterion": criterion.key,
                "observed": combined.assessors,
                "required": required,
            },
            "result": "missing",
            "sentence": f"{name}: {combined.assessors} of {required} needed observations.",
        }
    elif len(pairs) > 1 or combined.result == "within_guard_band":
        yield _combined(standard, criterion, name, pairs, combined)


def _observation(criterion: Criterion, name: str, assessor: str, result: CriterionResult) -> Step:
    kind = "not_applicable" if result.result == "not_applicable" else criterion.rule.kind
    return {
        "rule": kind,
        "inputs": {"criterion": criterion.key, "assessor": assessor, **result.inputs},
        "result": {"result": result.result, "score": score_text(result.score)},
        "sentence": f"{name}: {result.sentence}",
    }


def _combined(
    standard: Standard,
    criterion: Criterion,
    name: str,
    pairs: list[tuple[str, CriterionResult]],
    combined: Combined,
) -> Step:
    rule = standard.pass_rule
    return {
        "rule": "combine",
        "inputs": {
            "criterion": criterion.key,
            "combine": rule.combine,
            "guard_band": rule.guard_band,
            "required": rule.required,
            "threshold": number_text(criterion.rule.threshold),
            "results": [
                {
                    "assessor": assessor,
                    "result": result.result,
                    "score": score_text(result.score),
                }
                for assessor, result in pairs
            ],
        },
        "result": {
            "result": combined.result,
            "low": score_text(combined.low),
            "high": score_text(combined.high),
            "sure": combined.sure,
            "possible": combined.possible,
        },
        "sentence": f"{name}: {combined_sentence(standard, combined)}",
    }


def combined_sentence(standard: Standard, combined: Combined) -> str:
    """What several assessors, or a value within the guard band, come to."""
    count = combined.assessors
    if combined.result == "within_guard_band":
        if combined.possible:
            return "Within the guard band: open until a second assessor has measured."
        return "Within the guard band, which counts as not met."
    if combined.result == "not_applicable":
        return "All assessors say that it does not apply."
    if combined.result == "disagreed":
        return f"The {count} assessors differ: look again together, and correct what was wrong."
    how = {"mean": "mean", "lower": "lowest", "agreement": "lowest"}[standard.pass_rule.combine]
    met = "met" if combined.result == "met" else "not met"
    return f"By the {how} of {count} scores: {met}."

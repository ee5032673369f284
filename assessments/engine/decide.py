"""Decide an attempt: the same input gives the same output, on any machine, for ever."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assessments.engine.findings import findings, hold_points
from assessments.engine.kinds import CriterionResult
from assessments.engine.numbers import Exact, number_text
from assessments.engine.observations import load_observations
from assessments.engine.practice import practice
from assessments.engine.reasons import reasons
from assessments.engine.rule import Combined, Part, Score, give
from assessments.engine.standard import Criterion, Standard, load_standard
from assessments.engine.trace import trace
from assessments.engine.trace.steps import combined_sentence

SCHEMA = "bankermark/decision/1"
VERSION = "1.0"


def decide(
    standard: Standard | Mapping[str, Any], observations: Mapping[str, Any]
) -> dict[str, Any]:
    """The decision document (FORMATS.md) of an attempt's observations under a standard.

    ``standard`` is a standard document, or one already read by ``load_standard`` (much faster
    for many attempts). Raises EngineError at the first field that cannot be decided on; there is
    never a partial decision.
    """
    if not isinstance(standard, Standard):
        standard = load_standard(standard)
    sheet = load_observations(observations, standard)
    holds = hold_points(standard, sheet)
    found = findings(standard, sheet, holds)
    ruling = give(standard, found)
    changes, proven = practice(standard, sheet, found, ruling)
    parts = {part.name: part for part in ruling.parts}
    outcome_scores: list[Score | None] = [None] * len(standard.outcomes)
    if ruling.outcomes is not None:
        outcome_scores = [*ruling.outcomes]
    return {
        "schema": SCHEMA,
        "engine": VERSION,
        "attempt": sheet.attempt,
        "standard_digest": standard.digest,
        "result": ruling.verdict,
        "overall": {
            **_score(ruling.overall, parts.get("overall")),
            "cut": _text(standard.pass_rule.cut),
            "band": number_text(standard.pass_rule.band),
        },
        "outcomes": [
            {
                "key": outcome.key,
                **_score(score, parts.get(f"outcome {outcome.key}")),
                "minimum": _text(outcome.minimum),
            }
            for outcome, score in zip(standard.outcomes, outcome_scores, strict=True)
        ],
        "criteria": [
            _criterion(standard, criterion, combined, sheet.found.get(criterion.key, []))
            for criterion, combined in zip(standard.criteria, found.criteria, strict=True)
        ],
        "reasons": reasons(standard, holds, found, ruling),
        "trace": trace(standard, sheet, holds, found, ruling),
        "practice": changes,
        "practice_proven": proven,
    }


def _score(score: Score | None, part: Part | None) -> dict[str, Any]:
    met = None if part is None or part.sure != part.possible else part.sure
    low, high = (None, None) if score is None else (score.low, score.high)
    return {"score": _text(low), "score_at_most": _text(high), "met": met}


def _criterion(
    standard: Standard,
    criterion: Criterion,
    combined: Combined,
    pairs: list[tuple[str, CriterionResult]],
) -> dict[str, Any]:
    return {
        "key": criterion.key,
        "title": criterion.title,
        "critical": criterion.critical,
        "result": combined.result,
        "score": _text(combined.low),
        "score_at_most": _text(combined.high),
        "sentence": _sentence(standard, combined, pairs),
        "assessors": [
            {
                "assessor": assessor,
                "result": result.result,
                "score": _text(result.score),
                "sentence": result.sentence,
            }
            for assessor, result in pairs
        ],
    }


def _sentence(
    standard: Standard, combined: Combined, pairs: list[tuple[str, CriterionResult]]
) -> str:
    if combined.result == "blocked":
        return "Does not count before the hold point ahead of it is accepted."
    if not pairs:
        return "Not observed yet."
    if (combined.result == "missing" and len(pairs) > 1) or combined.assessors == 0:
        return pairs[0][1].sentence
    if combined.result == "missing":
        return f"{pairs[0][1].sentence} Another assessor must score it too."
    if len(pairs) == 1:
        return pairs[0][1].sentence
    return combined_sentence(standard, combined)


def _text(value: Exact | None) -> str | None:
    return None if value is None else number_text(value)

"""The pass rule: from the criteria to met, not yet met, undecided or incomplete."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from assessments.engine.numbers import Exact
from assessments.engine.rule.combine import Combined
from assessments.engine.rule.score import Score, score
from assessments.engine.standard import PassRule, Standard

Verdict = Literal["met", "not_yet_met", "undecided", "incomplete"]


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the pass rule: met however the open parts fall, and met if they fall well."""

    name: str
    sure: bool
    possible: bool


@dataclass(frozen=True, slots=True)
class Findings:
    """Everything the verdict follows from; the names are positions or keys.

    ``second`` says whether a second assessor has scored every criterion, which closes the band.
    """

    criteria: list[Combined]
    missing: list[str]
    blocked: list[str]
    hold_points: list[str]
    second: bool


@dataclass(frozen=True, slots=True)
class Ruling:
    """The verdict, the scores and the parts of the rule that it follows from."""

    verdict: Verdict
    overall: Score | None
    outcomes: list[Score] | None
    parts: list[Part]
    unassessed: list[str]


def give(standard: Standard, found: Findings) -> Ruling:
    """Apply the pass rule. Every part that the standard asks for must be met.

    What is missing, blocked or not accepted makes the attempt incomplete, whatever else was
    found: an attempt that is not finished has not failed.
    """
    if found.missing or found.blocked or found.hold_points:
        return Ruling("incomplete", None, None, [], [])
    rule = standard.pass_rule
    overall = score(standard.overall, found.criteria)
    outcomes = [score(group, found.criteria) for group in standard.by_outcome]
    unassessed = []
    if overall.low is None:
        unassessed.append("overall")
    parts = []
    if rule.critical and any(each.critical for each in standard.criteria):
        parts.append(critical(standard, found.criteria))
    for outcome, each in zip(standard.outcomes, outcomes, strict=True):
        if rule.outcome_minima and outcome.minimum is not None:
            if each.low is None:
                unassessed.append(outcome.key)
            else:
                parts.append(minimum(outcome.key, each, outcome.minimum))
    if rule.cut is not None and overall.low is not None:
        parts.append(at_cut(overall, rule, found.second))
    if unassessed:
        return Ruling("incomplete", overall, outcomes, parts, unassessed)
    return Ruling(verdict(parts), overall, outcomes, parts, [])


def verdict(parts: list[Part]) -> Verdict:
    """Met when every part is sure, not yet met when one is impossible, else undecided."""
    if all(part.sure for part in parts):
        return "met"
    if all(part.possible for part in parts):
        return "undecided"
    return "not_yet_met"


def critical(standard: Standard, criteria: list[Combined]) -> Part:
    """Every critical criterion that applies must be met."""
    these = [
        found
        for criterion, found in zip(standard.criteria, criteria, strict=True)
        if criterion.critical
    ]
    return Part("critical", all(each.sure for each in these), all(each.possible for each in these))


def minimum(key: str, score: Score, least: Exact) -> Part:
    """An outcome's score must be at least its minimum; on it is met."""
    assert score.low is not None
    assert score.high is not None
    return Part(f"outcome {key}", score.low >= least, score.high >= least)


def at_cut(score: Score, rule: PassRule, second: bool) -> Part:
    """The overall score must be at least the cut; on it is met.

    Until a second assessor has scored, the band around the cut is open: from cut - band on
    (undecided) up to below cut + band (from there on met).
    """
    assert score.low is not None
    assert score.high is not None
    assert rule.cut is not None
    band = 0 if second else rule.band
    return Part("overall", score.low >= rule.cut + band, score.high >= rule.cut - band)

"""What to practise: for an attempt not yet met, the smallest changes that would have met it."""

from __future__ import annotations

from typing import Any

from assessments.engine.kinds import CriterionResult, Rated
from assessments.engine.numbers import Exact, number_text, to_fraction
from assessments.engine.observations import Sheet
from assessments.engine.practice.advice import advise
from assessments.engine.practice.search import BUDGET, Choice, Lack, search
from assessments.engine.rule import Combined, Findings, Ruling, Score
from assessments.engine.standard import Criterion, PassRule, Standard
from assessments.engine.standard.model import Group


def practice(
    standard: Standard, sheet: Sheet, found: Findings, ruling: Ruling, budget: int = BUDGET
) -> tuple[list[dict[str, Any]], bool]:
    """The changes as plain data, in the standard's order, and whether they are proven smallest.

    Empty unless the verdict is not_yet_met. Where the cut and its band lie above 1, so that one
    assessor's scores can never surely meet it, the cut itself is aimed at.
    """
    if ruling.verdict != "not_yet_met":
        return [], True
    choices = [
        choice
        for i, (criterion, each) in enumerate(zip(standard.criteria, found.criteria, strict=True))
        if (choice := _choice(i, criterion, each, standard.pass_rule))
    ]
    result = search(choices, _lacks(standard, found, ruling), budget)
    changes = []
    for position, target in sorted((result.targets or {}).items()):
        criterion = standard.criteria[position]
        lowest = _lowest(sheet.found[criterion.key])
        changes.append(_change(criterion, lowest, found.criteria[position], target))
    return changes, result.proven


def _choice(position: int, criterion: Criterion, found: Combined, rule: PassRule) -> Choice | None:
    if found.low is None or found.low >= 1:
        return None
    low = found.low
    needed = rule.critical and criterion.critical and not found.sure
    least = criterion.rule.threshold if needed else 0
    scores = criterion.rule.scores if isinstance(criterion.rule, Rated) else (1,)
    options = tuple(score for score in scores if score > low and score >= least)
    return Choice(position, low, options, needed)


def _lacks(standard: Standard, found: Findings, ruling: Ruling) -> list[Lack]:
    rule = standard.pass_rule
    assert ruling.overall is not None
    assert ruling.outcomes is not None
    lacks = []
    if rule.cut is not None:
        aim = rule.cut if found.second or rule.cut + rule.band > 1 else rule.cut + rule.band
        lacks.append(_lack(standard.overall, ruling.overall, aim))
    for outcome, group, score in zip(
        standard.outcomes, standard.by_outcome, ruling.outcomes, strict=True
    ):
        if rule.outcome_minima and outcome.minimum is not None:
            lacks.append(_lack(group, score, outcome.minimum))
    return [lack for lack in lacks if lack.amount > 0]


def _lack(group: Group, score: Score, aim: Exact) -> Lack:
    assert score.low is not None
    counted = set(score.counted)
    weights = {position: weight for position, weight, _ in group.parts if position in counted}
    return Lack(weights, to_fraction(aim - score.low) * sum(weights.values()))


def _lowest(pairs: list[tuple[str, CriterionResult]]) -> CriterionResult:
    """The result of the assessor who saw most to mend."""
    scored = [result for _, result in pairs if result.score is not None]
    return min(scored, key=lambda result: result.score or 0)


def _change(
    criterion: Criterion, lowest: CriterionResult, found: Combined, target: Exact
) -> dict[str, Any]:
    assert found.low is not None
    advice = advise(criterion, lowest, target)
    by = f", a difference of {advice.by}" if advice.by else ""
    return {
        "criterion": criterion.key,
        "score_now": number_text(found.low),
        "score_needed": number_text(target),
        "now": advice.now,
        "needed": advice.needed,
        "by": advice.by,
        "sentence": (
            f"{criterion.key}, {criterion.title}: {advice.now} was found; "
            f"needed is {advice.needed}{by}."
        ),
    }

"""What a change means at the bench: from where to where, and by how much."""

from __future__ import annotations

from dataclasses import dataclass

from assessments.engine.kinds import Checked, Counted, CriterionResult, Measured, Rated, Timed
from assessments.engine.numbers import Exact
from assessments.engine.quantities import base_of, base_text, difference_text
from assessments.engine.standard import Criterion


@dataclass(frozen=True, slots=True)
class Advice:
    """In words: what was found, what would do, and the difference (None for yes or no)."""

    now: str
    needed: str
    by: str | None


def advise(criterion: Criterion, result: CriterionResult, target: Exact) -> Advice:
    """How a criterion's result would reach a score of ``target``."""
    rule, inputs = criterion.rule, result.inputs
    match rule:
        case Rated():
            level = rule.scores.index(target)
            steps = level - inputs["level"]
            return Advice(
                f"level {inputs['level']}",
                f"level {level}: {rule.descriptions[level]}".rstrip("."),
                f"{steps} level{'' if steps == 1 else 's'}",
            )
        case Checked():
            words = {True: "yes", False: "no"}
            return Advice(words[inputs["answer"]], words[rule.expected], None)
        case Counted():
            count = inputs["count"]
            return Advice(str(count), rule.limits.text(str), str(rule.limits.distance(count)))
        case Timed():
            return _timed(rule, result)
        case Measured():
            return _measured(rule, inputs["readings"])


def _timed(rule: Timed, result: CriterionResult) -> Advice:
    took = rule.took(result.inputs)
    return Advice(
        base_text(took, rule.unit),
        rule.limits.text(lambda base: base_text(base, rule.unit)),
        difference_text(rule.limits.distance(took), rule.unit),
    )


def _measured(rule: Measured, readings: list[str]) -> Advice:
    """From the readings as the trace writes them, in the criterion's unit."""
    found = rule.statistics([base_of(each, rule.unit, rule.unit) for each in readings])
    allowed = rule.acceptance()
    by = max(allowed.distance(each) for each in found)
    return Advice(
        " to ".join(rule.show(each) for each in found),
        allowed.text(rule.show),
        difference_text(by, rule.unit),
    )

"""What must be mended before a standard may be sealed, beyond being readable."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.kinds import Measured
from assessments.engine.numbers import Exact, number_text, root_text, tidy, to_fraction
from assessments.engine.qualification.stated import rules_in
from assessments.engine.second_look.rules import retake_rule, review_rule
from assessments.engine.standard.load import load_standard
from assessments.engine.standard.model import Standard
from assessments.engine.units import UNITS


def sealing_faults(document: Mapping[str, Any]) -> list[EngineError]:
    """Everything that stands in the way of sealing; empty when the standard may be sealed.

    A document that cannot be read gives the one error of ``load_standard``.
    """
    try:
        standard = load_standard(document)
    except EngineError as error:
        return [error]
    return [*_coverage(standard), *_measured(standard), *_rules(document)]


def _rules(document: Mapping[str, Any]) -> Iterator[EngineError]:
    # What stands under "about" decides nothing, and load_standard does not read it; yet every
    # record made under the standard has to state the range that follows from it, and every
    # decision when an attempt may be made again or reviewed.
    for read in (rules_in, retake_rule, review_rule):
        try:
            read(document)
        except EngineError as error:
            yield error


def _coverage(standard: Standard) -> Iterator[EngineError]:
    served = {key for criterion in standard.criteria for key, _ in criterion.outcomes}
    for i, outcome in enumerate(standard.outcomes):
        if outcome.key not in served:
            yield EngineError(
                f"outcomes[{i}]",
                f"No criterion serves outcome {outcome.key}: let one serve it, or leave it out.",
            )
    rule = standard.pass_rule
    if rule.critical and not any(each.critical for each in standard.criteria):
        yield EngineError(
            "pass_rule.critical", "No criterion is critical: mark one, or write false."
        )
    if rule.outcome_minima and all(each.minimum is None for each in standard.outcomes):
        yield EngineError(
            "pass_rule.outcome_minima", "No outcome has a minimum: set one, or write false."
        )


def _measured(standard: Standard) -> Iterator[EngineError]:
    for i, criterion in enumerate(standard.criteria):
        rule = criterion.rule
        if not isinstance(rule, Measured):
            continue
        if not rule.source.strip():
            yield EngineError(f"criteria[{i}].limits_source", "Say where the limits come from.")
        if rule.minimum_ratio is not None and not fine_enough(rule):
            yield EngineError(f"criteria[{i}].instrument", _too_coarse(rule))
        if not can_conform(rule):
            yield EngineError(
                f"criteria[{i}].decision_rule.r",
                "The guard bands leave nothing between the limits, so that no piece could meet "
                f"them. {sums(rule)} Take a finer instrument, wider limits or a smaller r.",
            )


def width(rule: Measured) -> Exact | None:
    """The width between the limits in base units; from 0 where only an upper limit is set."""
    if rule.limits.upper is None:
        return None
    return rule.limits.upper - (rule.limits.lower or 0)


def fine_enough(rule: Measured) -> bool:
    """Whether the limits are at least ``minimum_ratio`` times U wide; compared by squares."""
    wide, u2, k = width(rule), rule.variance, rule.coverage_factor
    if rule.minimum_ratio is None or wide is None or u2 is None or k is None:
        return True
    return wide**2 >= (rule.minimum_ratio * k) ** 2 * u2


def can_conform(rule: Measured) -> bool:
    """Whether some value lies inside both limits by the guard band (2w ≤ width)."""
    if rule.guard_band_square is None or rule.limits.lower is None or rule.limits.upper is None:
        return True
    return (rule.limits.upper - rule.limits.lower) ** 2 >= 4 * rule.guard_band_square


def sums(rule: Measured) -> str:
    """The sums from error and resolution to U, in the criterion's unit."""
    instrument, u2, k = rule.instrument, rule.variance, rule.coverage_factor
    assert instrument is not None
    assert u2 is not None
    assert k is not None
    unit = UNITS[rule.unit]
    error = _shown(to_fraction(instrument.maximum_permissible_error) / unit.factor, rule.unit)
    division = _shown(to_fraction(instrument.resolution) / unit.factor, rule.unit)
    square = u2 / to_fraction(unit.factor) ** 2
    twice = "twice, " if rule.statistic == "spread" else ""
    return (
        f"{instrument.name}: u² = {twice}({error})²/3 + "
        f"{instrument.ends} × (½ × {division})²/3, "
        f"u = {root_text(square, 4)} {rule.unit}, "
        f"U = {number_text(k)} × u = {root_text(square * k * k, 4)} {rule.unit}."
    )


def _shown(value: Fraction, unit: str) -> str:
    """Inches as they stand on a rule: 1/64 rather than 0.015625."""
    return str(value) if unit == "in" else number_text(tidy(value))


def _too_coarse(rule: Measured) -> str:
    wide, u2, k = width(rule), rule.variance, rule.coverage_factor
    assert wide is not None
    assert u2 is not None
    assert k is not None
    assert rule.minimum_ratio is not None
    ratio = root_text(to_fraction(wide) ** 2 / (u2 * k * k), 2)
    across = number_text(tidy(to_fraction(wide) / UNITS[rule.unit].factor))
    return (
        f"The instrument is too coarse for these limits. {sums(rule)} The limits are {across} "
        f"{rule.unit} wide: {ratio} times U, and at least {number_text(rule.minimum_ratio)} "
        "times is asked for. Take a finer instrument or wider limits."
    )

"""Steps that follow from the standard alone: limits from formulas, uncertainties."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from assessments.engine.kinds import Measured
from assessments.engine.numbers import exact, number_text, root_text, tidy, to_fraction
from assessments.engine.quantities import format_quantity
from assessments.engine.standard import Criterion, Standard
from assessments.engine.standard.sealing import sums
from assessments.engine.units import UNITS


def standing_steps(standard: Standard) -> list[dict[str, Any]]:
    """The steps of every measured criterion that has a formula or an instrument.

    They are the same for every attempt, so they are worked out once for a standard; each caller
    gets copies, which it may change.
    """
    return [_copy(step) for step in _kept(standard)]


@lru_cache(maxsize=64)
def _kept(standard: Standard) -> tuple[dict[str, Any], ...]:
    return tuple(_steps(standard))


def _copy(step: dict[str, Any]) -> dict[str, Any]:
    # Written out: a general copy takes several times as long, and every decision needs it.
    inputs, result = dict(step["inputs"]), step["result"]
    if "dimensions" in inputs:
        inputs["dimensions"] = dict(inputs["dimensions"])
    if isinstance(result, dict):
        result = dict(result)
    return {
        "rule": step["rule"], "inputs": inputs, "result": result, "sentence": step["sentence"],
    }  # fmt: skip


def _steps(standard: Standard) -> Iterator[dict[str, Any]]:
    for criterion in standard.criteria:
        if isinstance(criterion.rule, Measured):
            yield from _limits(standard, criterion, criterion.rule)
            if criterion.rule.instrument is not None and criterion.rule.coverage_factor:
                yield _uncertainty(criterion, criterion.rule)


def _limits(standard: Standard, criterion: Criterion, rule: Measured) -> Iterator[dict[str, Any]]:
    for side, formula, value in zip(
        ("lower", "upper"), rule.formulas, rule.limit_texts, strict=True
    ):
        if formula is None or value is None:
            continue
        yield {
            "rule": "limit",
            "inputs": {
                "criterion": criterion.key,
                "side": side,
                "formula": formula,
                "dimensions": dict(standard.dimension_texts),
                "quantity": rule.quantity,
                "unit": rule.unit,
            },
            "result": value,
            "sentence": (
                f"{criterion.key}, {criterion.title}: the {side} limit is {formula} = "
                f"{format_quantity(exact(value), rule.unit)}."
            ),
        }


def _uncertainty(criterion: Criterion, rule: Measured) -> dict[str, Any]:
    assert rule.instrument is not None
    assert rule.variance is not None
    assert rule.coverage_factor is not None
    factor = to_fraction(UNITS[rule.unit].factor)
    square = rule.variance / factor**2
    expanded = square * rule.coverage_factor**2
    sentence = f"{criterion.key}, {criterion.title}: {sums(rule)}"
    guard = None
    if rule.r is not None:
        guard = root_text(expanded * rule.r**2, 6)
        sentence = f"{sentence} Guard band: {number_text(rule.r)} × U = {guard} {rule.unit}."
    return {
        "rule": "uncertainty",
        "inputs": {
            "criterion": criterion.key,
            "unit": rule.unit,
            "statistic": rule.statistic,
            "maximum_permissible_error": number_text(
                tidy(rule.instrument.maximum_permissible_error / factor)
            ),
            "resolution": number_text(tidy(rule.instrument.resolution / factor)),
            "ends": rule.instrument.ends,
            "coverage_factor": number_text(rule.coverage_factor),
            "r": None if rule.r is None else number_text(rule.r),
        },
        "result": {
            "variance": number_text(tidy(square)),
            "standard": root_text(square, 6),
            "expanded": root_text(expanded, 6),
            "guard_band": guard,
        },
        "sentence": sentence,
    }

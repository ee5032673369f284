"""A standard said plainly: the pass rule in sentences, limits worked out."""

from collections.abc import Mapping
from typing import Any

from assessments.engine.numbers import Exact, exact, percent_text, to_fraction
from assessments.engine.quantities import base_text
from assessments.engine.units import UNITS

COMBINED = {
    "mean": "Where several have scored, the mean of their scores counts.",
    "lower": "Where several have scored, the lowest of their scores counts.",
    "agreement": "Where several have scored, they must agree; what they differ on stays open.",
}
GUARD_BANDS = {
    "undecided": "A measurement within its guard band stays open until a second assessor has "
    "measured.",
    "not_met": "A measurement within its guard band counts as not met.",
}


def time_text(base: Exact, unit: str) -> str:
    """Return a time, given in microseconds, as people say it: from an hour on, hours and minutes.

    Below, and where it is no whole number of minutes, in ``unit``.

    >>> time_text(86_400_000_000, "min"), time_text(5_400_000_000, "min")
    ('24 h', '1 h 30 min')
    >>> time_text(1_800_000_000, "min"), time_text(5_430_000_000, "s")
    ('30 min', '5430 s')
    """
    minutes = UNITS["min"].from_base(base)
    if minutes < 60 or to_fraction(minutes).denominator != 1:
        return base_text(base, unit)
    hours, rest = divmod(int(minutes), 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def with_limits(criterion: Mapping[str, Any], drawn: Mapping[str, Any]) -> dict[str, Any]:
    """Return a measured criterion with its formulas worked out; ``drawn`` are its figures."""
    ends = {name: drawn[name] and drawn[name]["exact"] for name in ("lower", "upper")}
    return {**criterion, "limits": ends}


def pass_rule_sentences(standard: Mapping[str, Any]) -> list[str]:
    """Return what must hold for the standard to be met, a sentence for each part."""
    rule = standard["pass_rule"]
    return [
        *_critical(standard, rule),
        *_minima(standard, rule),
        *_cut(rule),
        *_assessors(rule["assessors"]),
        *_guard_band(standard, rule),
    ]


def _critical(standard: Mapping[str, Any], rule: Mapping[str, Any]) -> list[str]:
    titles = [row["title"] for row in standard["criteria"] if row["critical"]]
    if not rule["critical"] or not titles:
        return []
    if len(titles) == 1:
        return [f"The critical criterion is met: {titles[0]}."]
    return [f"Every critical criterion is met: {'; '.join(titles)}."]


def _minima(standard: Mapping[str, Any], rule: Mapping[str, Any]) -> list[str]:
    if not rule["outcome_minima"]:
        return []
    return [
        f"Outcome {row['key']} reaches at least {percent_text(exact(row['minimum']))}."
        for row in standard["outcomes"]
        if row["minimum"] is not None
    ]


def _cut(rule: Mapping[str, Any]) -> list[str]:
    if rule["cut"] is None:
        return []
    cut = exact(rule["cut"])
    said = [f"The overall score reaches at least {percent_text(cut)}; on it is met."]
    if rule["band"] is not None and (band := exact(rule["band"])):
        low, high = percent_text(max(cut - band, 0)), percent_text(cut + band)
        said.append(
            f"An overall score from {low} up to below {high} is undecided until a second "
            "assessor has scored every criterion."
        )
    return said


def _assessors(assessors: Mapping[str, Any]) -> list[str]:
    number = assessors["required"]
    said = "One assessor scores." if number == 1 else f"{number} assessors score independently."
    return [said, COMBINED[assessors["combine"]]]


def _guard_band(standard: Mapping[str, Any], rule: Mapping[str, Any]) -> list[str]:
    banded = any(
        row["kind"] == "measured" and row["decision_rule"]["kind"] == "guard_band"
        for row in standard["criteria"]
    )
    return [GUARD_BANDS[rule.get("guard_band", "undecided")]] if banded else []

"""Read the pass rule, and refuse one that could decide nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from assessments.engine.errors import EngineError
from assessments.engine.fields import at, choice, fields, flag, share, whole
from assessments.engine.standard.model import Combine, Criterion, GuardBand, Outcome, PassRule

GUARD_BAND_DEFAULT: GuardBand = "undecided"
MOST_ASSESSORS = 9


def load_pass_rule(
    value: object, criteria: Sequence[Criterion], outcomes: Sequence[Outcome]
) -> PassRule:
    """Read ``pass_rule`` (FORMATS.md); EngineError at the field at fault."""
    found = fields(
        value, ("critical", "outcome_minima", "cut", "band", "assessors"), ("guard_band",)
    )
    critical, minima = flag(found, "critical"), flag(found, "outcome_minima")
    cut, band = share(found, "cut"), share(found, "band")
    if cut is not None and cut <= 0:
        raise EngineError("cut", "Write a cut above 0, or null for none.")
    if band is not None and cut is None:
        raise EngineError("band", "A band needs a cut to lie around: write a cut, or null here.")
    guard_band = GUARD_BAND_DEFAULT
    if "guard_band" in found:
        guard_band = cast(GuardBand, choice(found, "guard_band", ("not_met", "undecided")))
    some_critical = critical and any(each.critical for each in criteria)
    some_minimum = minima and any(each.minimum is not None for each in outcomes)
    if not (some_critical or some_minimum or cut is not None):
        raise EngineError(
            "",
            "This rule decides nothing: ask for the critical criteria (and mark one), for the "
            "outcome minima (and set one), or for a cut.",
        )
    with at("assessors"):
        assessors = fields(found["assessors"], ("required", "combine"))
        return PassRule(
            critical=critical,
            outcome_minima=minima,
            cut=cut,
            band=0 if band is None else band,
            guard_band=guard_band,
            required=whole(assessors, "required", 1, MOST_ASSESSORS),
            combine=cast(Combine, choice(assessors, "combine", ("mean", "lower", "agreement"))),
        )

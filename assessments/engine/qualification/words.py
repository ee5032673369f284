"""The rules, ranges and needs in sentences, for screens and paper.

Those of a range stand in issued records and are made again when one is rechecked: another
wording is another format of the record.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from assessments.engine.numbers import Exact, number_text
from assessments.engine.qualification.model import Continuity, Extent, Renewal, Variable
from assessments.engine.quantities import base_text


def listed(values: Sequence[str]) -> str:
    """Several values in a sentence.

    >>> listed(["sill"]), listed(["sill", "jamb"]), listed(["sill", "jamb", "soffit"])
    ('sill', 'sill and jamb', 'sill, jamb and soffit')
    """
    if len(values) < 2:
        return "".join(values)
    return f"{', '.join(values[:-1])} and {values[-1]}"


def said(extent: Extent) -> str:
    """An extent as part of a sentence.

    >>> said(Extent("d", "Depth", low=25_400_000, high=152_400_000, unit="in"))
    '1 in to 6 in'
    >>> said(Extent("d", "Depth", high=152_400_000, unit="in"))
    'up to 6 in'
    """
    if extent.unit is None:
        return listed(extent.values)
    low, high = _shown(extent.low, extent.unit), _shown(extent.high, extent.unit)
    if low is None:
        return f"up to {high}" if high is not None else "any size"
    if high is None:
        return f"{low} and more"
    return low if low == high and extent.low == extent.high else f"{low} to {high}"


def _shown(base: Exact | None, unit: str) -> str | None:
    return None if base is None else base_text(base, unit)


def sentence(text: str) -> str:
    """A text as a sentence: a capital first, a full stop last.

    >>> sentence("sill and jamb")
    'Sill and jamb.'
    """
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith((".", "!", "?")) else ".")


def rule_sentence(variable: Variable) -> str:
    """What was assessed of a variable, what that covers, and where the rule is from."""
    return f"{_assessed(variable)} {sentence(f'source: {variable.source}')}"


def _assessed(variable: Variable) -> str:
    if variable.kind == "ordered":
        order = ", ".join(variable.values)
        return (
            f"Assessed: {variable.assessed[0]}; this and all that is easier is covered. "
            f"From the easiest to the hardest: {order}."
        )
    if variable.kind == "as_assessed":
        one = "this alone is" if len(variable.assessed) == 1 else "these alone are"
        return f"Assessed: {listed(variable.assessed)}; {one} covered."
    assert variable.unit is not None
    assert variable.size is not None
    shown = base_text(variable.size, variable.unit)
    return f"Assessed: {shown}; {_factors(variable)} is covered."


def _factors(variable: Variable) -> str:
    low = None if variable.low is None else _factor(variable.low)
    high = None if variable.high is None else _factor(variable.high)
    if low is None:
        return f"up to {high}"
    return f"{low} and more" if high is None else f"from {low} to {high}"


def _factor(value: Exact) -> str:
    named = {Fraction(1, 2): "half that size", 1: "that size", 2: "twice that size"}.get(value)
    if named is not None:
        return named
    # A small fraction reads as a fraction (2/3), others as decimals (1.25).
    plain = f"{value.numerator}/{value.denominator}" if value.denominator in (3, 4, 8) else None
    return f"{plain or number_text(value)} times that size"


def continuity_sentence(continuity: Continuity | None) -> str:
    """How a record goes on counting, in words."""
    if continuity is None:
        return "No confirmation is asked for: a record counts until its last day."
    return (
        f"The record counts while work of its kind is confirmed {_every(continuity)}: each "
        f"confirmation reaches {_months(continuity.every_months)} from the last day worked"
        f"{_grace(continuity)}. After a gap it no longer counts: only a new record starts again."
    )


def continuity_brief(continuity: Continuity | None) -> str:
    """The same for a line beside the last day; empty where no confirmation is asked for.

    >>> continuity_brief(Continuity(every_months=6, grace_days=30))
    'every 6 months; after a gap it no longer counts'
    """
    if continuity is None:
        return ""
    return f"{_every(continuity)}; after a gap it no longer counts"


def _every(continuity: Continuity) -> str:
    one = continuity.every_months == 1
    return "every month" if one else f"every {continuity.every_months} months"


def _months(number: int) -> str:
    return "1 month" if number == 1 else f"{number} months"


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number} days"


def _grace(continuity: Continuity) -> str:
    if continuity.grace_days == 0:
        return " and is signed by the day it is due"
    return f" and is signed at most {_days(continuity.grace_days)} after the day it is due"


def renewal_sentence(renewal: Renewal | None, titles: Mapping[str, str] | None = None) -> str:
    """How a record is renewed, in words; ``titles`` names the stages."""
    if renewal is None:
        return "There is no shorter way to renew: a new record asks for a full attempt."
    names = [(titles or {}).get(stage, stage) for stage in renewal.stages]
    stages = "stage" if len(names) == 1 else "stages"
    after = (
        "to that day" if renewal.after_days == 0 else f"until {_days(renewal.after_days)} after it"
    )
    return (
        f"From {_days(renewal.before_days)} before the record's last day {after}, a shorter "
        f"attempt at the {stages} {listed([f'“{name}”' for name in names])} may renew it."
    )

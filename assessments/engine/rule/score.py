"""Scores over several criteria: exact weighted means, never rounded."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from assessments.engine.numbers import Exact, tidy
from assessments.engine.rule.combine import Combined
from assessments.engine.standard.model import Group


@dataclass(frozen=True, slots=True)
class Score:
    """``low`` and ``high`` as in Combined; both None where no criterion counts.

    ``counted`` are the positions of the criteria that count, ``left_out`` of those that do not
    apply.
    """

    low: Exact | None
    high: Exact | None
    counted: tuple[int, ...]
    left_out: tuple[int, ...]


def score(group: Group, criteria: list[Combined]) -> Score:
    """The weighted mean over the criteria of a group that apply.

    What does not apply is left out with its weight, so that the other weights make up the
    whole again in their own proportions.
    """
    total = whole = 0
    parts: dict[int, int] = {}
    open_rise: Exact = 0
    counted, left_out = [], []
    for position, weight, _ in group.parts:
        low, high = criteria[position].low, criteria[position].high
        if low is None or high is None:
            left_out.append(position)
            continue
        counted.append(position)
        total += weight
        # Whole numbers over each denominator are added up first: far faster than fractions.
        if isinstance(low, int):
            whole += weight * low
        else:
            below = low.denominator
            parts[below] = parts.get(below, 0) + weight * low.numerator
        if high is not low:
            open_rise += weight * (high - low)
    if not counted:
        return Score(None, None, (), tuple(left_out))
    mean = Fraction(whole, total)
    for below, above in parts.items():
        mean += Fraction(above, below * total)
    best = mean + Fraction(open_rise) / total if open_rise else mean
    return Score(tidy(mean), tidy(best), tuple(counted), tuple(left_out))

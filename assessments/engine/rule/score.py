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
    total = 0
    counted, left_out = [], []
    lows: list[tuple[int, Exact]] = []
    highs: list[tuple[int, Exact]] = []
    differ = False
    for position, weight, _ in group.parts:
        found = criteria[position]
        if found.low is None or found.high is None:
            left_out.append(position)
            continue
        counted.append(position)
        total += weight
        lows.append((weight, found.low))
        highs.append((weight, found.high))
        differ = differ or found.low is not found.high
    if not counted:
        return Score(None, None, (), tuple(left_out))
    low = _mean(lows, total)
    high = _mean(highs, total) if differ else low
    return Score(low, high, tuple(counted), tuple(left_out))


def _mean(scores: list[tuple[int, Exact]], total: int) -> Exact:
    # Whole numbers over each denominator are added up first: far faster than fractions.
    whole = 0
    parts: dict[int, int] = {}
    for weight, score in scores:
        if isinstance(score, int):
            whole += weight * score
        else:
            below = score.denominator
            parts[below] = parts.get(below, 0) + weight * score.numerator
    found = Fraction(whole, total)
    for below, above in parts.items():
        found += Fraction(above, below * total)
    return tidy(found)

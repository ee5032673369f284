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
    low: Exact = 0
    high: Exact = 0
    total = 0
    counted, left_out = [], []
    for position, weight, _ in group.parts:
        found = criteria[position]
        if found.low is None:
            left_out.append(position)
            continue
        assert found.high is not None
        counted.append(position)
        total += weight
        low += weight * found.low
        high += weight * found.high
    if not counted:
        return Score(None, None, (), tuple(left_out))
    return Score(
        tidy(Fraction(low) / total),
        tidy(Fraction(high) / total),
        tuple(counted),
        tuple(left_out),
    )

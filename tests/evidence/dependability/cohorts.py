"""Invented cohorts for the tests of this package."""

from __future__ import annotations

import numpy as np

from assessments.evidence.scores import Array, Item, Scores


def item(number: int, *, weight: float = 1.0, levels: tuple[float, ...] = (0.0, 1.0)) -> Item:
    """A criterion; with more than two levels it is met from the middle one."""
    return Item(
        f"c{number}",
        f"Criterion {number}",
        "rated" if len(levels) > 2 else "checked",
        False,
        weight,
        levels[len(levels) // 2],
        levels,
    )


def scores_of(
    values: Array,
    *,
    cut: float | None = 0.7,
    items: tuple[Item, ...] | None = None,
    applies: Array | None = None,
) -> Scores:
    """Scores of trainees x criteria x assessors, with letters for names."""
    people, criteria, assessors = values.shape
    return Scores(
        trainees=tuple(f"Trainee {number + 1}" for number in range(people)),
        items=items or tuple(item(number) for number in range(criteria)),
        assessors=tuple(f"Assessor {letter}" for letter in "ABCDEFGHIJ"[:assessors]),
        values=values,
        applies=np.ones((people, criteria), bool) if applies is None else applies.astype(bool),
        results=("",) * people,
        alone=np.zeros((people, criteria), bool),
        minutes=np.full((people, criteria), np.nan),
        cut=cut,
    )


def marks(people: int, criteria: int, assessors: int = 1, *, seed: int = 1) -> Array:
    """Marks of 0 and 1 with differences between trainees, criteria and assessors."""
    rng = np.random.default_rng(seed)
    able = rng.normal(0.5, 1.2, (people, 1, 1))
    hard = rng.normal(0, 0.8, (1, criteria, 1))
    strict = rng.normal(0, 0.3, (1, 1, assessors))
    drawn = rng.random((people, criteria, assessors))
    return np.asarray(drawn < 1 / (1 + np.exp(hard + strict - able)), float)

"""What was scored by two assessors or more, taken out of the scores of a cohort."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assessments.evidence.agreement.ratings import NEAR, counts, distinct
from assessments.evidence.scores import Array, Item, Scores


@dataclass(frozen=True, slots=True)
class DoubleScored:
    """A criterion in the attempts in which two assessors or more scored it.

    ``levels`` is attempts x assessors: the number of the level from 0 up, nan where not scored;
    ``trainees`` are the rows of the cohort that the attempts come from, ``steps`` the shares of
    the levels, rising. A share that is no level of the criterion counts as a level of its own.
    """

    item: Item
    levels: Array
    trainees: NDArray[np.int64]
    steps: Array

    @property
    def given(self) -> Array:
        """Attempts x levels: how many assessors gave each level."""
        return counts(self.levels, np.arange(len(self.steps), dtype=float))

    @property
    def met(self) -> Array:
        """Attempts x assessors: 1 met, 0 not, nan where not scored."""
        found: Array = np.where(np.isnan(self.levels), np.nan, (self.levels >= self.met_from) * 1.0)
        return found

    @property
    def met_from(self) -> int:
        """The number of the lowest level that is met."""
        return int((self.steps < self.item.met_share - NEAR).sum())


def double_scored(scores: Scores) -> tuple[DoubleScored, ...]:
    """The criteria in their order, each with its attempts scored at least twice (or none)."""
    found = []
    for number, item in enumerate(scores.items):
        shares = np.where(scores.applies[:, number, None], scores.values[:, number, :], np.nan)
        rows = np.flatnonzero((~np.isnan(shares)).sum(axis=1) >= 2)
        shares = shares[rows]
        steps = distinct(np.concatenate((np.array(item.levels, dtype=float), shares.ravel())))
        place = np.abs(shares[:, :, None] - steps).argmin(axis=2).astype(float)
        levels = np.where(np.isnan(shares), np.nan, place)
        found.append(DoubleScored(item, levels, rows, steps))
    return tuple(found)


def pair_tables(levels: Array, size: int) -> Array:
    """Attempts x levels x levels: the pairs of levels that each attempt's assessors gave.

    With two assessors throughout, rows are the first one's levels and columns the second's.
    With more, each pair counts both ways and each attempt as one in all, so that chance is taken
    from all assessors together (as Fleiss 1971, Psychol. Bull. 76:378).
    """
    known = ~np.isnan(levels)
    who = np.flatnonzero(known.any(axis=0))
    if len(who) == 2:
        first, second = (levels[:, each].astype(int) for each in who)
        found = np.zeros((len(levels), size, size))
        found[np.arange(len(levels)), first, second] = 1
        return found
    given = counts(levels, np.arange(size, dtype=float))
    each = given.sum(axis=1)[:, None, None]
    both: Array = (given[:, :, None] * given[:, None, :] - given[:, :, None] * np.eye(size)) / (
        each * (each - 1)
    )
    return both


def level_pairs(given: Array) -> Array:
    """Levels x levels, filled from the diagonal up: how many pairs of scores were those two.

    >>> level_pairs(np.array([[1.0, 1.0], [2.0, 0.0]])).tolist()
    [[1.0, 1.0], [0.0, 0.0]]
    """
    both = given.T @ given
    same = (given * (given - 1) / 2).sum(axis=0)
    found: Array = np.triu(both, 1) + np.diag(same)
    return found

"""Ratings as the statistics of agreement take them: units x assessors, nan where there is a gap."""

from __future__ import annotations

from typing import Any

import numpy as np

from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import NotComputed
from assessments.evidence.scores import Array

NEAR = 1e-6


def ratings_array(ratings: Any) -> Array:
    """The ratings as an array of units x assessors; EvidenceError where it is none."""
    try:
        found = np.asarray(ratings, dtype=float)
    except (TypeError, ValueError) as error:
        raise EvidenceError(
            "ratings", "Numbers are needed, in rows of the same length; nan marks a gap."
        ) from error
    if found.ndim != 2:
        raise EvidenceError("ratings", "One row for each unit and one column for each assessor.")
    if np.isinf(found).any():
        raise EvidenceError("ratings", "Ratings are numbers; nan marks a gap.")
    return found


def paired(ratings: Array) -> Array:
    """The units (rows) that at least two assessors rated."""
    found: Array = ratings[(~np.isnan(ratings)).sum(axis=1) >= 2]
    return found


def why_not(key: str, title: str, ratings: Array) -> NotComputed | None:
    """Why no agreement can be told from these ratings; None where it can."""
    rated = ~np.isnan(ratings)
    if (rated.any(axis=0)).sum() < 2:
        return NotComputed(
            key,
            title,
            "Fewer than two assessors have scored: let a second assessor score some attempts "
            "alone, without seeing the first scores.",
        )
    if not len(paired(ratings)):
        return NotComputed(
            key,
            title,
            "Nothing was scored by two assessors: let two assessors score the same attempts, "
            "each alone.",
        )
    return None


def counts(ratings: Array, values: Array) -> Array:
    """Units x values: how many assessors gave a unit each of the values (within 0.000001)."""
    found: Array = (np.abs(ratings[:, :, None] - values) <= NEAR).sum(axis=1).astype(float)
    return found


def distinct(ratings: Array) -> Array:
    """The values that occur, rising; those within 0.000001 of each other are one."""
    known = np.unique(ratings[~np.isnan(ratings)])
    if not known.size:
        return known
    found: Array = known[np.concatenate(([True], np.diff(known) > NEAR))]
    return found


def ratings_of(table: Any) -> Array:
    """The ratings behind a cross table of two assessors: one unit for each count in a cell.

    >>> ratings_of([[1, 0], [1, 0]]).tolist()
    [[0.0, 0.0], [1.0, 0.0]]
    """
    cells = cross_table_array(table)
    rows, columns = np.indices(cells.shape)
    times = cells.ravel().astype(int)
    return np.column_stack(
        (np.repeat(rows.ravel(), times), np.repeat(columns.ravel(), times))
    ).astype(float)


def cross_table_array(table: Any) -> Array:
    """A square table of counts, as an array; EvidenceError where it is none."""
    try:
        found = np.asarray(table, dtype=float)
    except (TypeError, ValueError) as error:
        raise EvidenceError("table", "A square table of counts is needed.") from error
    if found.ndim != 2 or found.shape[0] != found.shape[1] or found.shape[0] < 2:
        raise EvidenceError("table", "A square table of counts, of two categories or more.")
    if not np.isfinite(found).all() or (found < 0).any():
        raise EvidenceError("table", "Counts are numbers from 0 up.")
    return found


def cross_table(first: Any, second: Any, categories: Any) -> Array:
    """How often the one assessor gave a category (rows) and the other (columns).

    Both are lists of the same units in the same order. EvidenceError for lists of unlike length
    and for a rating that is none of the ``categories``.

    >>> cross_table([0, 1, 1], [0, 1, 0], [0, 1]).tolist()
    [[1.0, 0.0], [1.0, 1.0]]
    """
    if len(first) != len(second):
        raise EvidenceError("second", "One rating for each of the first assessor's is needed.")
    place = {value: number for number, value in enumerate(categories)}
    found = np.zeros((len(place), len(place)))
    for one, other in zip(first, second, strict=True):
        if one not in place or other not in place:
            raise EvidenceError("categories", f"{one}, {other}: not among the categories.")
        found[place[one], place[other]] += 1
    return found

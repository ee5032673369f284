"""Sums of squares, mean squares and variance components of balanced crossed layouts.

Axis 0 holds the trainees, the others one facet each (criteria, assessors, tasks). An effect is
named by its axes: (0,) trainees, (1,) the first facet, (0, 1) trainees x first facet. Every
array of results has one entry a resample.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import prod

import numpy as np

from assessments.evidence.dependability.resampling import whole
from assessments.evidence.errors import EvidenceError
from assessments.evidence.scores import Array

Effect = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Square:
    """The line of an effect in the table of the analysis of variance."""

    degrees: int
    sum_of_squares: Array
    mean_square: Array


def effects(axes: int) -> tuple[Effect, ...]:
    """All effects of a crossed layout, main effects first.

    >>> effects(3)
    ((0,), (1,), (2,), (0, 1), (0, 2), (1, 2), (0, 1, 2))
    """
    return tuple(
        subset for size in range(1, axes + 1) for subset in combinations(range(axes), size)
    )


def checked(values: Array) -> Array:
    """The values as an array of two or three axes without gaps, at least two along each."""
    array = np.asarray(values, dtype=float)
    if array.ndim not in (2, 3):
        raise EvidenceError("values", "Give trainees x one facet, or trainees x two facets.")
    if min(array.shape) < 2:
        raise EvidenceError("values", "At least two trainees and two of each facet are needed.")
    if not np.isfinite(array).all():
        raise EvidenceError("values", "There are gaps: leave those trainees out, or that facet.")
    return array


def analysis(values: Array, counts: Array | None = None) -> dict[Effect, Square]:
    """The analysis of variance of a balanced crossed layout, for every resample at once.

    ``values``: trainees x facet (x facet). ``counts``: resamples x trainees, how often each
    trainee counts; without it the cohort as it is. With T(a) the sum of squared means over the
    axes outside a, each times the number of values behind it, the sum of squares of an effect
    is the alternating sum of T over its subsets. Units: squares of the values' unit.
    Source: Brennan 2001, Generalizability Theory, chapters 3 and 4; Cornfield & Tukey 1956.

    Raises EvidenceError for fewer than two of anything, or gaps.

    >>> table = analysis(np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8],
    ...                            [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]))
    >>> [round(float(table[effect].mean_square[0]), 3) for effect in effects(2)]
    [11.242, 32.486, 1.019]
    """
    array = checked(values)
    # Taking the mean off first keeps the digits of values that differ only in the last places.
    array = array - array.mean()
    counts = whole(array.shape[0]) if counts is None else counts
    everything = ((), *effects(array.ndim))
    sums = {effect: _squared_means(array, counts, effect) for effect in everything}
    table: dict[Effect, Square] = {}
    for effect in everything[1:]:
        total = np.zeros(counts.shape[0])
        for size in range(len(effect) + 1):
            for subset in combinations(effect, size):
                total += (-1) ** (len(effect) - size) * sums[subset]
        degrees = prod(array.shape[axis] - 1 for axis in effect)
        table[effect] = Square(degrees, total, total / degrees)
    return table


def _squared_means(array: Array, counts: Array, effect: Effect) -> Array:
    people = array.shape[0]
    others = tuple(axis for axis in range(1, array.ndim) if axis not in effect)
    means = array.mean(axis=others) if others else array
    flat = means.reshape(people, -1)
    behind = prod(array.shape[axis] for axis in others)
    found: Array
    if 0 in effect:
        found = behind * (counts @ (flat**2).sum(axis=1))
        return found
    found = behind * people * ((counts @ flat / people) ** 2).sum(axis=1)
    return found


def components(table: dict[Effect, Square], shape: tuple[int, ...]) -> dict[Effect, Array]:
    """The variance components, as estimated: an estimate may come out below zero.

    Mean squares are set equal to their expectations in the random model and solved: for each
    effect the alternating sum of the mean squares of all effects that contain it, over the
    number of values behind one level of it. Units: squares of the values' unit.
    Source: Brennan 2001, Generalizability Theory, chapters 3 and 4.

    >>> data = np.array([[1, 0, 1], [1, 1, 1], [0, 0, 1]])
    >>> found = components(analysis(data), data.shape)
    >>> {effect: round(float(value[0]), 4) for effect, value in found.items()}
    {(0,): 0.0556, (1,): 0.0556, (0, 1): 0.1667}
    """
    found: dict[Effect, Array] = {}
    scale = sum(square.mean_square for square in table.values())
    for effect in table:
        total = np.zeros_like(table[effect].mean_square)
        for wider, square in table.items():
            if set(effect) <= set(wider):
                total = total + (-1) ** (len(wider) - len(effect)) * square.mean_square
        total = np.where(np.abs(total) < 1e-12 * scale, 0.0, total)
        found[effect] = total / prod(n for axis, n in enumerate(shape) if axis not in effect)
    return found

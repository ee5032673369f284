"""The generalizability study: where the differences between scores come from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assessments.evidence.dependability.layout import Effect, analysis, checked, components
from assessments.evidence.dependability.resampling import DUST
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import NotComputed, Table
from assessments.evidence.scores import Array

LETTERS = {"criteria": "i", "assessors": "r", "tasks": "t"}
SOURCE = "Brennan 2001, Generalizability Theory"


@dataclass(frozen=True, slots=True)
class Component:
    """One effect: its line of the analysis of variance and its variance component.

    ``estimated`` is the component as it comes out, ``variance`` the same with a value below
    zero set to zero, as every further figure takes it. Units: squared shares.
    """

    effect: Effect
    letters: str
    title: str
    degrees: int
    sum_of_squares: float
    mean_square: float
    estimated: float

    @property
    def variance(self) -> float:
        """The component that further figures take: never below zero."""
        return max(self.estimated, 0.0)


@dataclass(frozen=True, slots=True)
class Study:
    """A balanced crossed study of trainees by one or two facets, with its components."""

    facets: tuple[str, ...]
    shape: tuple[int, ...]
    mean: float
    components: tuple[Component, ...]

    @property
    def negative(self) -> tuple[str, ...]:
        """The titles of the components that came out below zero."""
        return tuple(part.title for part in self.components if part.estimated < 0)

    @property
    def notes(self) -> tuple[str, ...]:
        """What must be said of components below zero, if there are any."""
        if not self.negative:
            return ()
        return (
            f"Estimated below zero, and taken as zero in what follows: {', '.join(self.negative)}.",
        )

    def variances(self) -> dict[Effect, Array]:
        """The components as further figures take them, one entry each."""
        return {part.effect: np.array([part.variance]) for part in self.components}

    def table(self, key: str, title: str) -> Table:
        """The table of variance components."""
        total = sum(part.variance for part in self.components)
        return Table(
            key,
            title,
            (
                "Source of differences",
                "Sign",
                "Degrees of freedom",
                "Mean square",
                "Variance as estimated",
                "Variance used",
                "Share of all variance",
            ),
            tuple(
                (
                    part.title,
                    part.letters,
                    part.degrees,
                    part.mean_square,
                    part.estimated,
                    part.variance,
                    part.variance / total if total > 0 else None,
                )
                for part in self.components
            ),
        )


def g_study(values: Array, facets: tuple[str, ...] = ("criteria",)) -> Study | NotComputed:
    """The generalizability study of a balanced crossed layout, every facet random.

    ``values``: scores, trainees x first facet (x second facet), without gaps; ``facets`` names
    them: criteria, assessors or tasks. The designs p x i, p x r, p x t x r and p x i x r of the
    literature. Components by expected mean squares (see ``layout.components``).
    Source: Cronbach, Gleser, Nanda & Rajaratnam 1972; Brennan 2001, chapters 3 and 4.

    Raises EvidenceError for gaps, fewer than two of anything or facets that do not fit the
    array; gives NotComputed when all scores are the same.

    >>> study = g_study(np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8],
    ...                           [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]), ("assessors",))
    >>> [(part.letters, round(part.estimated, 4)) for part in study.components]
    [('p', 2.5556), ('r', 5.2444), ('pr,e', 1.0194)]
    """
    array = checked(values)
    if len(facets) != array.ndim - 1 or len(set(facets)) != len(facets):
        raise EvidenceError("facets", f"Name {array.ndim - 1} different facets.")
    for facet in facets:
        if facet not in LETTERS:
            raise EvidenceError("facets", f"Known facets are {', '.join(LETTERS)}.")
    if array.var() <= DUST:
        return NotComputed(
            "study",
            "Variance components",
            "All scores are the same: there are no differences to trace to a source. Score more"
            " trainees, or criteria that not everyone masters.",
        )
    table = analysis(array)
    estimates = components(table, array.shape)
    parts = []
    for effect, square in table.items():
        whole = len(effect) == array.ndim
        names = ["trainees" if axis == 0 else facets[axis - 1] for axis in effect]
        letters = "".join("p" if axis == 0 else LETTERS[facets[axis - 1]] for axis in effect)
        parts.append(
            Component(
                effect,
                letters + (",e" if whole else ""),
                " × ".join(names) + (", and chance" if whole else ""),
                square.degrees,
                float(square.sum_of_squares[0]),
                float(square.mean_square[0]),
                float(estimates[effect][0]),
            )
        )
    return Study(facets, array.shape, float(array.mean()), tuple(parts))

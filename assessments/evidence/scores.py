"""The scores of a cohort, as the analyses read them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assessments.evidence.errors import EvidenceError

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Item:
    """A criterion: its key and title, kind, weight in the overall score, and score to be met.

    ``levels`` are the shares of the levels of a rated criterion, rising; (0, 1) for the others.
    """

    key: str
    title: str
    kind: str
    critical: bool
    weight: float
    met_share: float
    levels: tuple[float, ...] = (0.0, 1.0)
    outcomes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Scores:
    """What assessors scored: an array of trainees x criteria x assessors.

    ``values`` holds shares from 0 to 1, nan where that assessor did not score that criterion of
    that trainee (or it does not apply). ``applies`` (trainees x criteria) is False where a
    criterion was held not to apply: those are no gaps. ``results`` is the decision of each
    trainee: met, not_yet_met, incomplete or "" while open. ``alone`` (trainees x criteria)
    marks the criteria that decided alone: without them the standard would have been met.
    ``minutes`` (trainees x criteria) is the time taken until the score, nan where not known.
    ``cut`` is the overall cut of the standard, None where it has none.
    """

    trainees: tuple[str, ...]
    items: tuple[Item, ...]
    assessors: tuple[str, ...]
    values: Array
    applies: NDArray[np.bool_]
    results: tuple[str, ...]
    alone: NDArray[np.bool_]
    minutes: Array
    cut: float | None

    def __post_init__(self) -> None:
        people, items, assessors = len(self.trainees), len(self.items), len(self.assessors)
        shapes = {
            "values": (people, items, assessors),
            "applies": (people, items),
            "alone": (people, items),
            "minutes": (people, items),
        }
        for name, shape in shapes.items():
            if getattr(self, name).shape != shape:
                raise EvidenceError(name, f"An array of {shape} is needed.")
        if len(self.results) != people:
            raise EvidenceError("results", f"{people} results are needed.")
        known = self.values[~np.isnan(self.values)]
        if known.size and (known.min() < 0 or known.max() > 1):
            raise EvidenceError("values", "Scores are shares from 0 to 1.")

    @property
    def weights(self) -> Array:
        """The weights of the criteria."""
        return np.array([item.weight for item in self.items], dtype=float)

    def combined(self) -> Array:
        """Trainees x criteria: the mean over the assessors who scored; nan where none did."""
        known = ~np.isnan(self.values)
        count = known.sum(axis=2)
        total = np.where(known, self.values, 0.0).sum(axis=2)
        return np.where(count > 0, total / np.maximum(count, 1), np.nan)

    def met(self) -> Array:
        """Trainees x criteria x assessors: 1 met, 0 not, nan where not scored."""
        needed = np.array([item.met_share for item in self.items])[None, :, None]
        found: Array = np.where(
            np.isnan(self.values), np.nan, (self.values >= needed - 1e-12) * 1.0
        )
        return found

"""The judges' estimates, checked: who gave what, and what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Table
from assessments.evidence.scores import Array


@dataclass(frozen=True, slots=True)
class Estimates:
    """Shares from 0 to 1, judges x criteria; nan is a gap, and is never filled in."""

    values: Array
    weights: Array
    judges: tuple[str, ...]
    items: tuple[str, ...]

    @property
    def complete(self) -> NDArray[np.bool_]:
        """Which judges estimated every criterion."""
        return np.asarray(~np.isnan(self.values).any(axis=1))

    @property
    def whole(self) -> Array:
        """The estimates of the judges without a gap."""
        return self.values[self.complete]

    def cuts(self) -> Array:
        """Each judge's cut, the weighted mean of the estimates; nan for a judge with a gap."""
        found: Array = self.values @ self.weights / self.weights.sum()
        return found

    def gaps(self, why: str = "no estimate") -> Table:
        """Every missing estimate by judge and criterion."""
        return Table(
            "gaps",
            "Missing estimates: these judges are left out of the cut",
            ("Judge", "Criterion", "What is missing"),
            tuple(
                (self.judges[judge], self.items[item], why)
                for judge, item in np.argwhere(np.isnan(self.values)).tolist()
            ),
        )


def checked(
    estimates: ArrayLike, weights: ArrayLike, judges: Sequence[str], items: Sequence[str]
) -> Estimates:
    """The estimates, or EvidenceError at the judge and criterion where they cannot be used."""
    if not items:
        raise EvidenceError("items", "Name at least one criterion.")
    return Estimates(
        shares(estimates, judges, items, "estimates"),
        checked_weights(weights, items),
        tuple(judges),
        tuple(items),
    )


def shares(values: ArrayLike, judges: Sequence[str], items: Sequence[str], path: str) -> Array:
    """Judges x criteria of shares from 0 to 1 or nan; None counts as nan."""
    shape = (len(judges), len(items))
    try:
        found: Array = np.array(values, dtype=float)
    except (TypeError, ValueError) as error:
        raise EvidenceError(path, f"Give {shape[0]} x {shape[1]} numbers.") from error
    if found.size == 0 and not judges:
        found = found.reshape(shape)
    if found.shape != shape:
        raise EvidenceError(path, f"Give {shape[0]} judges x {shape[1]} criteria.")
    wrong = np.argwhere((found < 0) | (found > 1))
    if len(wrong):
        judge, item = wrong[0].tolist()
        raise EvidenceError(
            f"{path}[{judge}][{item}]",
            f"{judges[judge]} gave {found[judge, item]:g} for {items[item]}: give a share from "
            "0 to 1.",
        )
    return found


def checked_weights(weights: ArrayLike, items: Sequence[str]) -> Array:
    """One weight for each criterion: not negative, and not all zero."""
    try:
        found: Array = np.array(weights, dtype=float)
    except (TypeError, ValueError) as error:
        raise EvidenceError("weights", "Give a number for each criterion.") from error
    if found.shape != (len(items),):
        raise EvidenceError("weights", f"Give {len(items)} weights, one for each criterion.")
    wrong = np.flatnonzero(~(np.isfinite(found) & (found >= 0)))
    if len(wrong):
        raise EvidenceError(
            f"weights[{wrong[0]}]", f"The weight of {items[wrong[0]]} must be 0 or more."
        )
    if found.sum() <= 0:
        raise EvidenceError("weights", "At least one criterion needs a weight above 0.")
    return found

"""The numbers of attempts, checked before anything is fitted to them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from assessments.evidence.errors import EvidenceError
from assessments.evidence.scores import Array


def numbers(values: ArrayLike, path: str) -> Array:
    """A row of finite numbers, or EvidenceError at the one that is none."""
    try:
        found: Array = np.array(values, dtype=float)
    except (TypeError, ValueError) as error:
        raise EvidenceError(path, "Give one number for each attempt.") from error
    if found.ndim != 1:
        raise EvidenceError(path, "Give one number for each attempt, in a row.")
    wrong = np.flatnonzero(~np.isfinite(found))
    if len(wrong):
        raise EvidenceError(f"{path}[{wrong[0]}]", "A number is missing: leave the attempt out.")
    return found


def score_shares(scores: ArrayLike) -> Array:
    """Scores as shares from 0 to 1."""
    found = numbers(scores, "scores")
    wrong = np.flatnonzero((found < 0) | (found > 1))
    if len(wrong):
        raise EvidenceError(f"scores[{wrong[0]}]", "Give a share from 0 to 1.")
    return found


def same_length(path: str, one: Array, other: Array) -> None:
    """EvidenceError unless there is one value for each score."""
    if len(one) != len(other):
        raise EvidenceError(path, f"Give {len(other)} values, one for each score.")

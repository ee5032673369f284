"""One cut from the cuts of several judges, and how far chance among judges may move it."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, sqrt

import numpy as np
from scipy import stats

from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import LEVEL
from assessments.evidence.scores import Array

STATISTICS = ("mean", "median", "trimmed")
# Spreads below this are rounding in floating point.
TINY = 1e-12


@dataclass(frozen=True, slots=True)
class Centre:
    """The middle of the judges' cuts. ``standard_error`` is None where they do not differ.

    ``multiple`` is Student's t at the level of the interval for ``freedom`` degrees of freedom.
    """

    value: float
    standard_error: float | None
    freedom: int
    multiple: float
    how: str
    source: str

    @property
    def band(self) -> float | None:
        """Half the width of the interval."""
        if self.standard_error is None:
            return None
        return self.multiple * self.standard_error


def centre(
    cuts: Array, statistic: str, *, trim: float = 0.2, samples: int = 10_000, seed: int = 1
) -> Centre | str:
    """The mean, median or trimmed mean of at least two cuts with its standard error.

    Mean: SD / sqrt(J). Median: SD of the medians of ``samples`` panels drawn with replacement
    (bootstrap; Efron 1979, Ann. Statist. 7:1). Trimmed mean: sqrt(SSD_w / (h (h - 1))), SSD_w
    the sum of squares of the Winsorised cuts, h the cuts that are kept (Tukey & McLaughlin 1963,
    Sankhya A 25:331). Units as the cuts. A sentence instead where trimming leaves fewer than two
    judges; EvidenceError for an unknown statistic or a share to trim outside 0 to 0.5.

    >>> found = centre(np.array([0.60, 0.70, 0.80]), "mean")
    >>> round(found.value, 3), round(found.standard_error, 4), round(found.band, 4)
    (0.7, 0.0577, 0.2484)
    """
    if statistic not in STATISTICS:
        raise EvidenceError("statistic", f"Write one of {', '.join(STATISTICS)}.")
    if statistic == "trimmed":
        return _trimmed(cuts, trim)
    freedom = len(cuts) - 1
    if statistic == "median":
        return _centre(
            float(np.median(cuts)),
            _bootstrap_error(cuts, samples, seed),
            freedom,
            f"standard error from {samples} bootstrap panels (seed {seed})",
            "Efron 1979 (bootstrap)",
        )
    return _centre(
        float(cuts.mean()),
        float(cuts.std(ddof=1)) / sqrt(len(cuts)),
        freedom,
        "standard error SD / √J, the criteria taken as fixed",
        "MacCann & Stanley 2004",
    )


def _centre(value: float, error: float, freedom: int, how: str, source: str) -> Centre:
    multiple = float(stats.t.ppf((1 + LEVEL) / 2, freedom))
    return Centre(value, error if error > TINY else None, freedom, multiple, how, source)


def _trimmed(cuts: Array, trim: float) -> Centre | str:
    if not 0 <= trim < 0.5:
        raise EvidenceError("trim", "Give the share to trim at each end, from 0 to below 0.5.")
    judges = len(cuts)
    cut_off = floor(trim * judges + TINY)
    kept = judges - 2 * cut_off
    if kept < 2:
        return (
            f"Trimming {trim:g} at each end of {judges} judges leaves fewer than two: trim less, "
            "or ask more judges."
        )
    ordered = np.sort(cuts)
    middle = ordered[cut_off : judges - cut_off]
    winsorised = ordered.clip(middle[0], middle[-1])
    squares = float(((winsorised - winsorised.mean()) ** 2).sum())
    return _centre(
        float(middle.mean()),
        sqrt(squares / (kept * (kept - 1))),
        kept - 1,
        f"standard error from the Winsorised cuts, {cut_off} trimmed at each end",
        "Tukey & McLaughlin 1963",
    )


def _bootstrap_error(cuts: Array, samples: int, seed: int) -> float:
    if samples < 2:
        raise EvidenceError("samples", "Draw at least two bootstrap samples.")
    drawn = np.random.default_rng(seed).integers(len(cuts), size=(samples, len(cuts)))
    return float(np.median(cuts[drawn], axis=1).std(ddof=1))

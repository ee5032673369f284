"""Kappa, AC1 and alpha of the same scores, with intervals that take whole attempts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assessments.evidence.agreement.ac1 import AC1_SOURCE, ac1_of_samples
from assessments.evidence.agreement.alpha import ONE_VALUE, alpha_of_samples
from assessments.evidence.agreement.alpha import SOURCE as ALPHA_SOURCE
from assessments.evidence.agreement.kappa import (
    ONE_CATEGORY,
    SOURCES,
    agreement_weights,
    kappa_of_tables,
)
from assessments.evidence.agreement.proportions import CLOPPER_PEARSON, proportion_interval
from assessments.evidence.agreement.ratings import counts
from assessments.evidence.agreement.resampling import bootstrap_words, percentile_interval
from assessments.evidence.agreement.units import pair_tables
from assessments.evidence.results import Figure, NotComputed, Result
from assessments.evidence.scores import Array

SURE = (
    "no difference was seen: the lower end is that of exact agreement (Clopper-Pearson, 95%, "
    "over attempts), less chance"
)


@dataclass(frozen=True, slots=True)
class BeyondChance:
    """The three coefficients of agreement beyond chance."""

    kappa: Result
    ac1: Result
    alpha: Result


@dataclass(frozen=True, slots=True)
class Draw:
    """The resampled attempts: ``weights`` (samples x attempts), and how they were drawn.

    ``place`` is the number of the attempt that each unit belongs to, None where each is its own.
    """

    weights: Array
    attempts: int
    samples: int
    seed: int
    place: NDArray[np.intp] | None = None

    def over(self, units: Array) -> Array:
        """The sums of the columns of ``units`` (units x columns) in each sample.

        >>> Draw(np.array([[2.0, 0.0]]), 2, 1, 1, np.array([0, 1, 1])).over(np.eye(3)).tolist()
        [[2.0, 0.0, 0.0]]
        """
        if self.place is None:
            return self.weights @ units
        attempts = np.zeros((self.weights.shape[1], units.shape[1]))
        np.add.at(attempts, self.place, units)
        return self.weights @ attempts


def beyond_chance(levels: Array, size: int, draw: Draw, *, prefix: str = "") -> BeyondChance:
    """Kappa (linear weights), AC1 and alpha (ordinal) of levels (units x assessors).

    With two levels the weights and the scale make no difference. Formulas and sources: see
    ``cohen_kappa``, ``gwet_ac1``, ``krippendorff_alpha``. Each unit has two scores or more, and
    the intervals are percentiles over resampled attempts.
    """
    given = counts(levels, np.arange(size, dtype=float))
    pairs = pair_tables(levels, size).reshape(len(levels), -1)
    # Units scored alike count alike: there are many units, and few kinds of them.
    kinds, kind = np.unique(np.hstack([given, pairs]), axis=0, return_inverse=True)
    kinds_given, kinds_pairs = kinds[:, :size], kinds[:, size:]
    units = np.eye(len(kinds))[kind]
    drawn_kinds = draw.over(units)
    weights = agreement_weights("linear", size)
    steps = np.arange(size, dtype=float)
    whole = units.sum(axis=0, keepdims=True)

    def kappas(drawn: Array) -> Array:
        return kappa_of_tables((drawn @ kinds_pairs).reshape(-1, size, size), weights)

    def alphas(drawn: Array) -> Array:
        return alpha_of_samples(kinds_given, steps, "nominal" if size == 2 else "ordinal", drawn)

    total = pairs.mean(axis=0).reshape(size, size)
    share = given.sum(axis=0) / given.sum()
    mean = (given / given.sum(axis=1, keepdims=True)).mean(axis=0)
    word = "weighted kappa" if size > 2 else "kappa"
    return BeyondChance(
        _result(
            (f"{prefix}kappa", f"Agreement beyond chance ({word})", ONE_CATEGORY),
            SOURCES["weighted" if size > 2 else "nominal"],
            float(kappas(whole)[0]),
            kappas(drawn_kinds),
            float(1 - total.sum(axis=0) @ total.sum(axis=1)),
            draw,
            len(levels),
        ),
        _result(
            (f"{prefix}ac1", "Agreement beyond chance (AC1)", ""),
            AC1_SOURCE,
            float(ac1_of_samples(kinds_given, whole)[0]),
            ac1_of_samples(kinds_given, drawn_kinds),
            float(1 - (mean * (1 - mean)).sum() / (size - 1)),
            draw,
            len(levels),
        ),
        _result(
            (f"{prefix}alpha", "Agreement beyond chance (alpha)", ONE_VALUE),
            ALPHA_SOURCE,
            float(alphas(whole)[0]),
            alphas(drawn_kinds),
            float(1 - share @ share),
            draw,
            len(levels),
        ),
    )


def _result(
    about: tuple[str, str, str],
    source: str,
    value: float,
    drawn: Array,
    chance_of_difference: float,
    draw: Draw,
    n: int,
) -> Result:
    key, title, undefined = about
    if np.isnan(value):
        return NotComputed(key, title, undefined)
    ends = percentile_interval(drawn)
    words = bootstrap_words(draw.samples, draw.seed)
    if value >= 1 - 1e-12:
        # Resampling what never differed shows no spread, which is not certainty.
        least, _ = proportion_interval(draw.attempts, draw.attempts, method=CLOPPER_PEARSON)
        ends, words = (max(-1.0, 1 - (1 - least) / chance_of_difference), 1.0), SURE
    low, high = (None, None) if ends is None else (min(ends[0], value), max(ends[1], value))
    return Figure(
        key,
        title,
        value,
        low,
        high,
        interval="none: resampling shows no spread" if ends is None else words,
        n=n,
        indicative=True,
        source=source,
    )

"""Kappa, AC1 and alpha of the same scores, with intervals that take whole attempts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

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
    """The resampled attempts: ``weights`` (samples x units), and how they were drawn."""

    weights: Array
    attempts: int
    samples: int
    seed: int


def beyond_chance(levels: Array, size: int, draw: Draw, *, prefix: str = "") -> BeyondChance:
    """Kappa (linear weights), AC1 and alpha (ordinal) of levels (units x assessors).

    With two levels the weights and the scale make no difference. Formulas and sources: see
    ``cohen_kappa``, ``gwet_ac1``, ``krippendorff_alpha``. Each unit has two scores or more, and
    the intervals are percentiles over resampled attempts.
    """
    given = counts(levels, np.arange(size, dtype=float))
    tables = pair_tables(levels, size)
    weights = agreement_weights("linear", size)
    steps = np.arange(size, dtype=float)
    whole = np.ones((1, len(levels)))

    def kappas(drawn: Array) -> Array:
        flat = drawn @ tables.reshape(len(tables), -1)
        return kappa_of_tables(flat.reshape(-1, size, size), weights)

    def alphas(drawn: Array) -> Array:
        return alpha_of_samples(given, steps, "nominal" if size == 2 else "ordinal", drawn)

    total = tables.sum(axis=0) / len(levels)
    share = given.sum(axis=0) / given.sum()
    mean = (given / given.sum(axis=1, keepdims=True)).mean(axis=0)
    word = "weighted kappa" if size > 2 else "kappa"
    return BeyondChance(
        _result(
            (f"{prefix}kappa", f"Agreement beyond chance ({word})", ONE_CATEGORY),
            SOURCES["weighted" if size > 2 else "nominal"],
            float(kappas(whole)[0]),
            kappas(draw.weights),
            float(1 - total.sum(axis=0) @ total.sum(axis=1)),
            draw,
        ),
        _result(
            (f"{prefix}ac1", "Agreement beyond chance (AC1)", ""),
            AC1_SOURCE,
            float(ac1_of_samples(given, whole)[0]),
            ac1_of_samples(given, draw.weights),
            float(1 - (mean * (1 - mean)).sum() / (size - 1)),
            draw,
        ),
        _result(
            (f"{prefix}alpha", "Agreement beyond chance (alpha)", ONE_VALUE),
            ALPHA_SOURCE,
            float(alphas(whole)[0]),
            alphas(draw.weights),
            float(1 - share @ share),
            draw,
        ),
    )


def _result(
    about: tuple[str, str, str],
    source: str,
    value: float,
    drawn: Array,
    chance_of_difference: float,
    draw: Draw,
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
        n=draw.weights.shape[1],
        indicative=True,
        source=source,
    )

"""Kappa: agreement of two assessors beyond what their own habits would bring by chance."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from scipy.stats import norm
from statsmodels.stats.inter_rater import cohens_kappa

from assessments.evidence.agreement.ratings import cross_table_array
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import LEVEL, Figure, NotComputed, Result
from assessments.evidence.scores import Array

Weighting = Literal["nominal", "linear", "quadratic"]
SOURCES = {
    "nominal": "Cohen 1960, Educ. Psychol. Meas. 20:37; Fleiss, Cohen & Everitt 1969",
    "weighted": "Cohen 1968, Psychol. Bull. 70:213; Fleiss, Cohen & Everitt 1969",
}
ONE_CATEGORY = (
    "Both assessors gave one and the same level throughout, so agreement beyond chance cannot be "
    "told from agreement by chance: double-score attempts of unlike quality."
)


def agreement_weights(weights: Weighting | Any, size: int) -> Array:
    """The weights of agreement of a table of ``size`` categories: 1 the same, 0 nothing alike.

    nominal: 1 on the diagonal, else 0. linear: 1 - |i-j|/(size-1). quadratic: 1 - (i-j)²/(size-1)².
    Any other square array is taken as it is: symmetric, 1 on the diagonal, 0 to 1 elsewhere;
    EvidenceError otherwise. Source: Cicchetti & Allison 1971 (linear), Fleiss & Cohen 1973.

    >>> agreement_weights("linear", 3).tolist()
    [[1.0, 0.5, 0.0], [0.5, 1.0, 0.5], [0.0, 0.5, 1.0]]
    """
    if size < 2:
        raise EvidenceError("size", "At least two categories are needed.")
    apart = np.abs(np.subtract.outer(np.arange(size), np.arange(size))) / (size - 1)
    if isinstance(weights, str):
        if weights == "nominal":
            return np.eye(size)
        if weights in ("linear", "quadratic"):
            found: Array = 1 - (apart if weights == "linear" else apart**2)
            return found
        raise EvidenceError("weights", "Choose nominal, linear or quadratic, or give a table.")
    own = np.asarray(weights, dtype=float)
    if own.shape != (size, size):
        raise EvidenceError("weights", f"A table of {size} rows and columns is needed.")
    if not np.isfinite(own).all() or own.min() < 0 or own.max() > 1:
        raise EvidenceError("weights", "Weights of agreement lie between 0 and 1.")
    if not np.allclose(np.diag(own), 1) or not np.allclose(own, own.T):
        raise EvidenceError("weights", "Weights are 1 on the diagonal and the same both ways.")
    if np.allclose(own, 1):
        raise EvidenceError("weights", "Some pair of categories needs a weight below 1.")
    return own


def cohen_kappa(
    table: Any,
    *,
    weights: Weighting | Any = "nominal",
    key: str = "kappa",
    title: str = "Agreement beyond chance (kappa)",
) -> Result:
    """Cohen's kappa of a cross table (rows one assessor, columns the other), -1 to 1.

    κ = (p_o - p_e)/(1 - p_e), with p_o the weighted share of agreement and p_e what the two
    assessors' own shares of each category would bring. The standard error is that of Fleiss,
    Cohen & Everitt 1969 for large samples, the interval κ ± 1.96 SE; both by statsmodels.
    EvidenceError for a table or weights that are none; NotComputed where it is undefined: no
    units, or all in one category. Source: Cohen 1960; Cohen 1968.

    >>> figure = cohen_kappa([[0, 4, 1], [0, 8, 0], [0, 1, 5]])
    >>> round(figure.value, 4), round(figure.standard_error, 4)
    (0.4842, 0.138)
    """
    cells = cross_table_array(table)
    agreement = agreement_weights(weights, len(cells))
    n = cells.sum()
    if n == 0:
        return NotComputed(key, title, "No unit was scored by both assessors: double-score some.")
    value = float(kappa_of_tables(cells, agreement))
    if np.isnan(value):
        return NotComputed(key, title, ONE_CATEGORY)
    nominal = isinstance(weights, str) and weights == "nominal"
    with np.errstate(invalid="ignore", divide="ignore"):
        # The largest kappa that statsmodels also gives can be 0/0; it is not used.
        found = cohens_kappa(cells, weights=None if nominal else 1 - agreement)
    error = float(max(found.var_kappa, 0.0)) ** 0.5
    reach = float(norm.ppf((1 + LEVEL) / 2)) * error
    sure = error <= 1e-12
    return Figure(
        key,
        title,
        float(found.kappa),
        None if sure else max(-1.0, value - reach),
        None if sure else min(1.0, value + reach),
        None if sure else error,
        interval="none: the assessors never differed" if sure else "large sample, 95%",
        n=round(n),
        indicative=True,
        source=SOURCES["nominal" if nominal else "weighted"],
    )


def kappa_of_tables(tables: Array, agreement: Array) -> Array:
    """Kappa of one or many cross tables (... x K x K), nan where undefined; see cohen_kappa."""
    total = tables.sum(axis=(-2, -1))
    rows, columns = tables.sum(axis=-1), tables.sum(axis=-2)
    cost = 1 - agreement
    seen = (tables * cost).sum(axis=(-2, -1)) * total
    chance = ((rows @ cost) * columns).sum(axis=-1)
    defined = chance > 1e-12
    found: Array = np.where(defined, 1 - seen / np.where(defined, chance, 1.0), np.nan)
    return found

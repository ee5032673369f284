"""AC1 and Brennan-Prediger: chance that does not depend on how often each level was given."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.stats import t as student

from assessments.evidence.agreement.ratings import counts, distinct, ratings_array, why_not
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import LEVEL, Figure, NotComputed, Result
from assessments.evidence.scores import Array

AC1_SOURCE = "Gwet 2008, Br. J. Math. Stat. Psychol. 61:29"
BP_SOURCE = "Brennan & Prediger 1981, Educ. Psychol. Meas. 41:687"


def gwet_ac1(
    ratings: Any,
    *,
    categories: Any = None,
    key: str = "ac1",
    title: str = "Agreement beyond chance (AC1)",
) -> Result:
    """Gwet's AC1 of ratings (units x assessors, nan a gap), -1 to 1; any number of assessors.

    AC1 = (p_a - p_e)/(1 - p_e); p_a the mean over units of the share of its pairs that agree,
    p_e = Σ π_k (1 - π_k)/(q - 1) with π_k the mean share of category k and q the number of
    ``categories`` (those that could have been given; the ones that occur, unless named). The
    standard error is Gwet's over units (divisor n-1), the interval AC1 ± t(n-1) SE. Where all gave
    one category AC1 is 1, unlike kappa. EvidenceError for a rating outside ``categories``;
    NotComputed with fewer than two assessors or units scored twice. Source: Gwet 2008.

    >>> figure = gwet_ac1([[1, 1], [1, 1], [0, 0], [1, 0]])
    >>> round(figure.value, 4)
    0.5294
    """
    return _beyond_chance(ratings, categories, key, title, gwet=True)


def brennan_prediger(
    ratings: Any,
    *,
    categories: Any = None,
    key: str = "brennan_prediger",
    title: str = "Agreement beyond chance, all levels alike (Brennan-Prediger)",
) -> Result:
    """The coefficient of Brennan and Prediger, -1 to 1: as AC1, but with p_e = 1/q.

    Arguments, interval, errors: see ``gwet_ac1``. Source: Brennan & Prediger 1981.

    >>> brennan_prediger([[1, 1], [1, 1], [0, 0], [1, 0]]).value
    0.5
    """
    return _beyond_chance(ratings, categories, key, title, gwet=False)


def _beyond_chance(ratings: Any, categories: Any, key: str, title: str, *, gwet: bool) -> Result:
    array = ratings_array(ratings)
    values = distinct(array) if categories is None else distinct(np.array([categories], float))
    given = counts(array, values)
    if given.sum() != (~np.isnan(array)).sum():
        raise EvidenceError("categories", "Some rating is none of the categories.")
    missing = why_not(key, title, array)
    if missing:
        return missing
    if len(values) < 2:
        return NotComputed(
            key, title, "Only one category is known: name the categories that could be given."
        )
    given = given[given.sum(axis=1) > 0]
    value, error = _with_error(given, gwet=gwet)
    n = len(given)
    sure = error <= 1e-12 or n < 2
    reach = 0.0 if sure else float(student.ppf((1 + LEVEL) / 2, n - 1)) * error
    why = "none: a single unit" if n < 2 else "none: the assessors did not vary in agreement"
    return Figure(
        key,
        title,
        value,
        None if sure else max(-1.0, value - reach),
        None if sure else min(1.0, value + reach),
        None if sure else error,
        interval=why if sure else "t over units, 95%",
        n=int((given.sum(axis=1) >= 2).sum()),
        indicative=True,
        source=AC1_SOURCE if gwet else BP_SOURCE,
    )


def pair_agreement(given: Array) -> Array:
    """Each unit's share of pairs of its assessors that agree; 0 for units with one rating."""
    each = given.sum(axis=1)
    found: Array = (given * (given - 1)).sum(axis=1) / np.maximum(each * (each - 1), 1)
    return found


def ac1_of_samples(given: Array, weights: Array) -> Array:
    """AC1 for each row of ``weights`` (samples x units), of units that all have two ratings."""
    drawn = weights.sum(axis=1)
    seen = weights @ pair_agreement(given) / drawn
    share = weights @ (given / given.sum(axis=1, keepdims=True)) / drawn[:, None]
    chance = (share * (1 - share)).sum(axis=1) / (given.shape[1] - 1)
    found: Array = (seen - chance) / (1 - chance)
    return found


def _with_error(given: Array, *, gwet: bool) -> tuple[float, float]:
    n, q = given.shape
    each = given.sum(axis=1)
    twice = each >= 2
    pairs = pair_agreement(given)
    seen = pairs.sum() / twice.sum()
    share = (given / each[:, None]).mean(axis=0)
    chance = float((share * (1 - share)).sum() / (q - 1)) if gwet else 1 / q
    value = (seen - chance) / (1 - chance)
    if n < 2:
        return float(value), 0.0
    each_unit = n / twice.sum() * (pairs - chance * twice) / (1 - chance)
    if gwet:
        unit_chance = given @ (1 - share) / each / (q - 1)
        each_unit = each_unit - 2 * (1 - value) * (unit_chance - chance) / (1 - chance)
    return float(value), float((((each_unit - value) ** 2).sum() / (n * (n - 1))) ** 0.5)

"""Classification consistency with a beta distribution of trainees' true shares."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import ceil

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaln, gammaln

from assessments.evidence.dependability.consistency import (
    Consistency,
    Consistent,
    checked,
    consistency,
    own_reliability,
    reliable,
    usable,
)
from assessments.evidence.dependability.reliability import alpha_of, moments, weighted
from assessments.evidence.dependability.resampling import DUST, ratio, whole
from assessments.evidence.errors import EvidenceError
from assessments.evidence.scores import Array

# A longer effective length changes the figures by less than their intervals show.
LONGEST = 200


def huynh(
    totals: Array,
    criteria: int,
    cut: int,
    *,
    reliability: float | None = None,
    samples: int = 1000,
    seed: int = 1,
) -> Consistency:
    """Consistency by Huynh: binomial errors about true shares with a beta distribution.

    alpha = (1/r - 1) M, beta = (1/r - 1) (n - M), with r = KR-21 unless ``reliability`` is
    given. p0 and chance from the bivariate beta-binomial distribution of two administrations.
    Arguments and errors as for ``subkoviak``.
    Source: Huynh 1976, Journal of Educational Measurement 13, 253-264.

    >>> found = huynh(np.array([0, 4, 2, 0, 2, 2, 1, 3, 4, 5]), 5, 4)
    >>> [round(result.value, 4) for result in found.results]
    [0.7933, 0.475]
    """
    array = checked(totals, criteria, cut, reliability)

    def kernel(counts: Array) -> Consistent:
        mean, _ = moments(array, counts)
        r = reliable(array, criteria, counts, reliability)
        return _classified(criteria, cut, *beta_of(r, mean, criteria))

    own = own_reliability(array, criteria, reliability)
    return consistency("huynh", "Huynh 1976", kernel, array >= cut, own, samples, seed)


def beta_of(reliability: Array, mean: Array, criteria: Array | int) -> tuple[Array, Array]:
    """The two parameters of the beta distribution of true shares.

    (1/r - 1) M and (1/r - 1) (n - M), M being the mean number of criteria met out of n; nan
    where r is nan. No unit. Source: Huynh 1976; Keats & Lord 1962.

    >>> r, mean = np.array([0.6552]), np.array([2.3])
    >>> [round(float(value[0]), 3) for value in beta_of(r, mean, 5)]
    [1.21, 1.421]
    """
    spread = ratio(1 - reliability, reliability)
    return spread * mean, spread * (criteria - mean)


def effective_length(
    mean: float, variance: float, reliability: float, lowest: float = 0, highest: float = 1
) -> float:
    """How many criteria, met or not, would make scores as dependable as these are.

    [(M - lowest) (highest - M) - r s2] / [s2 (1 - r)]; M, s2 the mean and variance (divisor:
    trainees) of the overall score, in its unit. For the number of criteria met and r = KR-21 it
    is the number of criteria. Not rounded. Unit: criteria.
    Source: Livingston & Lewis 1995, Journal of Educational Measurement 32, 179-197.

    Raises EvidenceError without variance or for a reliability that is not between 0 and 1.

    >>> round(effective_length(2.3, 2.61, 0.6551724, 0, 5), 3)
    5.0
    """
    if not variance > DUST:
        raise EvidenceError("variance", "All scores are the same: there is no length to tell.")
    if not 0 < reliability < 1:
        raise EvidenceError("reliability", "A reliability between 0 and 1 is needed.")
    upper = (mean - lowest) * (highest - mean) - reliability * variance
    return upper / (variance * (1 - reliability))


def livingston_lewis(
    values: Array,
    cut: float,
    *,
    weights: Sequence[float] | Array | None = None,
    reliability: float | None = None,
    samples: int = 1000,
    seed: int = 1,
) -> Consistency:
    """Consistency of weighted scores with levels between met and not met, by effective length.

    ``values``: trainees x criteria in shares; ``cut`` the overall share to reach; ``weights``
    one a criterion. The overall score is taken as one of the effective number of criteria that
    are met or not (rounded, at most 200; see ``effective_length``), at the smallest number that
    reaches the cut; then as Huynh. ``reliability`` is alpha unless given. Two departures from
    the source, both for small cohorts: true shares follow a beta distribution with two
    parameters, not four, and the margins are those of the model.
    Source: Livingston & Lewis 1995, Journal of Educational Measurement 32, 179-197.

    Raises EvidenceError for gaps, weights or a cut out of range; NotComputed as ``huynh``, and
    when the reliability is 1.

    >>> data = np.array([[1, 0, 0], [1, 1, 0], [1, 1, 1], [0, 0, 0], [1, 1, 1]])
    >>> [round(result.value, 3) for result in livingston_lewis(data, 0.6, samples=200).results]
    [0.836, 0.67]
    """
    array = weighted(values, None if weights is None else np.asarray(weights, dtype=float))
    if not 0 < cut <= 1:
        raise EvidenceError("cut", "The cut is a share above 0, at most 1.")
    if array.min() < 0 or array.sum(axis=1).max() > 1 + 1e-9:
        raise EvidenceError("values", "Scores are shares from 0 to 1.")
    scores = np.minimum(array.sum(axis=1), 1.0)

    def kernel(counts: Array) -> Consistent:
        r = alpha_of(array, counts) if reliability is None else np.full(len(counts), reliability)
        return _by_length(scores, cut, r, counts)

    own = float(alpha_of(array, whole(len(scores)))[0])
    own = own if reliability is None or np.isnan(own) else reliability
    return consistency(
        "livingston_lewis",
        "Livingston & Lewis 1995",
        kernel,
        scores >= cut - 1e-9,
        own,
        samples,
        seed,
        notes=_length_note(scores, own),
    )


def _by_length(scores: Array, cut: float, r: Array, counts: Array) -> Consistent:
    mean, variance = moments(scores, counts)
    known = usable(r) & (variance > 0)
    r = np.where(known, r, np.nan)
    lengths = ratio(mean * (1 - mean) - r * variance, variance * (1 - r))
    rounded = np.clip(np.round(np.where(known, lengths, 1)), 1, LONGEST).astype(int)
    same, chance = np.full(len(counts), np.nan), np.full(len(counts), np.nan)
    for length in np.unique(rounded[known]).tolist():
        here = known & (rounded == length)
        shapes = beta_of(r[here], mean[here] * length, length)
        same[here], chance[here] = _classified(length, ceil(cut * length - 1e-9), *shapes)
    return same, chance


def _classified(length: int, cut: int, a: Array, b: Array) -> Consistent:
    """p0 and chance of two beta-binomial scores that share the true share, cut at ``cut``."""
    known = np.isfinite(a) & (a > 0) & (b > 0)
    first, second = np.where(known, a, 1.0)[:, None], np.where(known, b, 1.0)[:, None]
    totals = np.arange(2 * length + 1)
    # How probable each total of both administrations is; then how it splits between the two,
    # which does not depend on the true share.
    log = -np.log(2 * length + 1) - betaln(2 * length - totals + 1, totals + 1)
    together = np.exp(
        log + betaln(totals + first, 2 * length - totals + second) - betaln(first, second)
    )
    both, one = _splits(length, cut)
    met_twice, met_once = together @ both, together @ one
    same = 1 - 2 * (met_once - met_twice)
    chance = met_once**2 + (1 - met_once) ** 2
    return np.where(known, same, np.nan), np.where(known, chance, np.nan)


@lru_cache(maxsize=512)
def _splits(length: int, cut: int) -> tuple[Array, Array]:
    """For each total of two administrations: P(both reach the cut), P(the first does).

    Given the total of 2n like trials, the number in the first n is hypergeometric.
    """
    totals: NDArray[np.int_] = np.arange(2 * length + 1)[:, None]
    first: NDArray[np.int_] = np.arange(length + 1)[None, :]
    second = totals - first
    possible = (second >= 0) & (second <= length)
    rest = np.where(possible, second, 0)

    def choose(n: int, k: NDArray[np.int_]) -> Array:
        found: Array = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
        return found

    log = choose(length, first) + choose(length, rest) - choose(2 * length, totals)
    share = np.where(possible, np.exp(log), 0.0)
    reached = first >= cut
    return (share * (reached & (second >= cut))).sum(axis=1), (share * reached).sum(axis=1)


def _length_note(scores: Array, reliability: float) -> tuple[str, ...]:
    if not usable(np.array(reliability)):
        return ()
    length = effective_length(float(scores.mean()), float(scores.var()), reliability)
    return (f"Effective length: {min(max(round(length), 1), LONGEST)} criteria met or not.",)

"""Would the same trainees get the same decision again? From one administration.

Agreement p0 is the share of trainees expected to get the same decision twice, kappa that share
beyond chance: (p0 - chance) / (1 - chance). Neither has a unit; p0 runs from 0 to 1.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, owens_t
from scipy.stats import binom

from assessments.evidence.dependability.reliability import (
    NO_VARIANCE,
    checked_totals,
    kr21_of,
    moments,
)
from assessments.evidence.dependability.resampling import NOTHING, figure, ratio, resamples, whole
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import NotComputed, Result
from assessments.evidence.scores import Array

# p0 and chance in each resample; nan where there is none.
Consistent = tuple[Array, Array]
Flags = NDArray[np.bool_]
TOO_LOW = (
    "The reliability comes out at zero or below: trainees differ from each other by no more than"
    " chance would make them. Score more trainees, or have two assessors score each of them."
)
PERFECT = (
    "The reliability comes out at 1: all criteria tell the trainees apart alike, so there is no"
    " chance to take into account. Score more trainees."
)


@dataclass(frozen=True, slots=True)
class Consistency:
    """Agreement p0 and kappa of one method, and the agreement that chance alone would give."""

    method: str
    agreement: Result
    kappa: Result
    chance: float | None

    @property
    def results(self) -> tuple[Result, Result]:
        """Both figures."""
        return self.agreement, self.kappa


def subkoviak(
    totals: Array,
    criteria: int,
    cut: int,
    *,
    reliability: float | None = None,
    samples: int = 1000,
    seed: int = 1,
) -> Consistency:
    """Consistency by Subkoviak: a binomial for each trainee, about a regressed share.

    p = r x/n + (1 - r) M/n; P = P(Binomial(n, p) >= C); p0 = mean of P2 + (1 - P)2; chance from
    the mean of P. ``totals`` criteria met out of ``criteria``, ``cut`` C in criteria;
    ``reliability`` stays fixed when given, else KR-21 anew in each resample.
    Source: Subkoviak 1976, Journal of Educational Measurement 13, 265-276.

    Raises EvidenceError for totals or a cut out of range; NotComputed for a reliability at zero
    or below, and kappa when everyone or nobody meets the cut.

    >>> found = subkoviak(np.array([0, 4, 2, 0, 2, 2, 1, 3, 4, 5]), 5, 4, reliability=0.58)
    >>> [round(result.value, 4) for result in found.results], round(found.chance, 4)
    ([0.7544, 0.2795], 0.6591)
    """
    array = checked(totals, criteria, cut, reliability)

    def kernel(counts: Array) -> Consistent:
        r = reliable(array, criteria, counts, reliability)[:, None]
        mean, _ = moments(array, counts)
        share = r * array / criteria + (1 - r) * mean[:, None] / criteria
        reached = binom.sf(cut - 1, criteria, np.where(np.isnan(share), 0.5, share))
        same = (counts * (reached**2 + (1 - reached) ** 2)).sum(axis=1) / len(array)
        met = (counts * reached).sum(axis=1) / len(array)
        return np.where(np.isnan(r[:, 0]), np.nan, same), met**2 + (1 - met) ** 2

    own = own_reliability(array, criteria, reliability)
    return consistency("subkoviak", "Subkoviak 1976", kernel, array >= cut, own, samples, seed)


def normal_consistency(z: Array | float, reliability: Array | float) -> tuple[Array, Array]:
    """Agreement p0 and kappa of two normal scores with correlation ``reliability``, cut at z.

    q = P(Z > z); p11 = P(both > z) = q - 2 T(z, sqrt((1-r)/(1+r))), T being Owen's function;
    p0 = 1 - 2 (q - p11), kappa = (p11 - q2) / (q - q2). ``z`` in standard deviations.
    Source: Peng & Subkoviak 1980, Journal of Educational Measurement 17, 359-368; Owen 1956 for
    the bivariate normal.

    Raises EvidenceError for a reliability outside -1 to 1.

    >>> [round(float(value), 3) for value in normal_consistency(0.5, 0.7)]
    [0.778, 0.48]
    """
    cut, r = np.asarray(z, dtype=float), np.asarray(reliability, dtype=float)
    if (np.abs(r[np.isfinite(r)]) > 1).any():
        raise EvidenceError("reliability", "A reliability lies between -1 and 1.")
    over = ndtr(-cut)
    both = over - 2 * owens_t(cut, np.sqrt((1 - r) / np.maximum(1 + r, 1e-300)))
    return 1 - 2 * (over - both), ratio(both - over**2, over - over**2)


def peng_subkoviak(
    totals: Array,
    criteria: int,
    cut: int,
    *,
    reliability: float | None = None,
    samples: int = 1000,
    seed: int = 1,
) -> Consistency:
    """Consistency by the normal approximation: z = (C - 1/2 - M) / S, correlation KR-21.

    Arguments, errors and source as for ``subkoviak`` and ``normal_consistency``; S has the
    number of trainees as its divisor.

    >>> found = peng_subkoviak(np.array([0, 4, 2, 0, 2, 2, 1, 3, 4, 5]), 5, 4)
    >>> [round(result.value, 3) for result in found.results]
    [0.797, 0.424]
    """
    array = checked(totals, criteria, cut, reliability)

    def kernel(counts: Array) -> Consistent:
        mean, variance = moments(array, counts)
        z = ratio(cut - 0.5 - mean, np.sqrt(variance))
        r = reliable(array, criteria, counts, reliability)
        same, _ = normal_consistency(z, r)
        over = ndtr(-z)
        return same, over**2 + (1 - over) ** 2

    own = own_reliability(array, criteria, reliability)
    return consistency("peng", "Peng & Subkoviak 1980", kernel, array >= cut, own, samples, seed)


def consistency(
    key: str,
    method: str,
    kernel: Callable[[Array], Consistent],
    passed: Flags,
    reliability: float,
    samples: int,
    seed: int,
    notes: tuple[str, ...] = (),
) -> Consistency:
    """Both figures of a method, from what it gives in the cohort and in each resample.

    ``passed`` (one a trainee) is who met the cut: when all or none did, there is no kappa.
    ``reliability`` is that of the cohort, nan without variance: it tells why there is no figure.
    """
    people = len(passed)
    titles = {
        f"{key}_agreement": f"Same decision again (p₀, {method})",
        f"{key}_kappa": f"Same decision again, beyond chance (κ, {method})",
    }
    own, chance = (float(value[0]) for value in kernel(whole(people)))
    if np.isnan(own):
        reason = TOO_LOW if reliability <= NOTHING else PERFECT if reliability > 0 else NO_VARIANCE
        missing = [NotComputed(name, title, reason) for name, title in titles.items()]
        return Consistency(method, missing[0], missing[1], None)
    same, by_chance = kernel(resamples(people, samples, seed))
    (first, first_title), (second, second_title) = titles.items()
    agreement = figure(
        first, first_title, own, same, seed=seed, n=people, source=method, notes=notes
    )
    kappa: Result
    if passed.all() or not passed.any():
        who = "Everyone" if passed.all() else "Nobody"
        kappa = NotComputed(
            second,
            second_title,
            f"{who} met the cut: without both decisions there is nothing beyond chance to tell.",
        )
    else:
        drawn = ratio(same - by_chance, 1 - by_chance)
        value = (own - chance) / (1 - chance)
        kappa = figure(
            second, second_title, value, drawn, seed=seed, n=people, source=method, notes=notes
        )
    return Consistency(method, agreement, kappa, chance)


def checked(totals: Array, criteria: int, cut: int, reliability: float | None) -> Array:
    array = checked_totals(totals, criteria)
    if cut != int(cut) or not 1 <= cut <= criteria:
        raise EvidenceError("cut", f"The cut is a whole number of criteria, 1 to {criteria}.")
    if reliability is not None and not reliability <= 1:
        raise EvidenceError("reliability", "A reliability is at most 1.")
    return array


def reliable(totals: Array, criteria: int, counts: Array, fixed: float | None) -> Array:
    """The reliability in each resample, nan unless it lies between 0 and 1."""
    _, variance = moments(totals, counts)
    found = kr21_of(totals, criteria, counts) if fixed is None else np.full(len(counts), fixed)
    return np.where((variance > 0) & usable(found), found, np.nan)


def usable(reliability: Array) -> Flags:
    """Where a reliability leaves room for chance, and is more than chance."""
    found: Flags = (reliability > NOTHING) & (reliability < 1 - 1e-9)
    return found


def own_reliability(totals: Array, criteria: int, fixed: float | None) -> float:
    """The reliability of the cohort itself, nan without variance."""
    own = kr21_of(totals, criteria, whole(len(totals)))[0]
    return float(own) if fixed is None or np.isnan(own) else fixed

"""The decision study: how dependable decisions would be with more criteria, tasks, assessors."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import prod, sqrt

import numpy as np

from assessments.evidence.dependability.layout import Effect, analysis, checked, components
from assessments.evidence.dependability.resampling import figure, ratio, resamples
from assessments.evidence.dependability.study import SOURCE, Study, g_study
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Cell, NotComputed, Result, Table
from assessments.evidence.scores import Array

ONE = {"criteria": "criterion", "assessors": "assessor", "tasks": "task"}
WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, slots=True)
class Decision:
    """What a design would give: error variances and coefficients; None where undefined.

    ``generalizability`` is E-rho2 (ranking trainees), ``phi`` is Phi (their scores as such),
    ``phi_cut`` is Phi(lambda) (telling them from a cut). Variances in squared shares.
    """

    sizes: Mapping[str, int]
    trainees: float
    relative: float
    absolute: float
    generalizability: float | None
    phi: float | None
    phi_cut: float | None

    @property
    def sem(self) -> float:
        """The absolute standard error of measurement, sigma(Delta), as a share."""
        return sqrt(self.absolute)


def errors(variances: Mapping[Effect, Array], sizes: tuple[int, ...]) -> tuple[Array, Array, Array]:
    """Variance of trainees, relative and absolute error variance with ``sizes`` of each facet.

    Relative error holds the effects that involve trainees, absolute error all effects but
    trainees, each over the number of conditions it is averaged over; components below zero
    count as zero. Units: squared shares.
    Source: Brennan 2001, chapters 2 and 4 (sigma2(delta), sigma2(Delta)).
    """
    relative = np.zeros_like(variances[(0,)])
    absolute = np.zeros_like(relative)
    for effect, variance in variances.items():
        if effect == (0,):
            continue
        part = np.maximum(variance, 0) / prod(sizes[axis - 1] for axis in effect if axis)
        absolute = absolute + part
        if 0 in effect:
            relative = relative + part
    return np.maximum(variances[(0,)], 0), relative, absolute


def cut_distance(
    variances: Mapping[Effect, Array], shape: tuple[int, ...], mean: Array, cut: float
) -> Array:
    """The squared distance of the mean from the cut, less what chance adds to it.

    (X - lambda)2 - sigma2(X), sigma2(X) being the error variance of the mean over the trainees
    and conditions of the study. Units: squared shares. Source: Brennan & Kane 1977, Journal of
    Educational Measurement 14, 277-289; Brennan 2001, chapter 2.
    """
    chance = np.zeros_like(mean)
    for effect, variance in variances.items():
        chance = chance + np.maximum(variance, 0) / prod(shape[axis] for axis in effect)
    distance: Array = (mean - cut) ** 2 - chance
    return distance


def decide(study: Study, sizes: Mapping[str, int], *, cut: float | None = None) -> Decision:
    """What the coefficients would be with ``sizes`` conditions of each facet.

    E-rho2 = tau / (tau + delta), Phi = tau / (tau + Delta), Phi(lambda) = (tau + d) / (tau + d +
    Delta), with tau the variance of trainees, delta and Delta the relative and absolute error
    variances, d the squared distance of the mean from the cut corrected for chance.
    Source: Brennan & Kane 1977; Brennan 2001, chapters 2 to 4.

    Raises EvidenceError for a facet that is missing or below one, or a cut outside 0 to 1.

    >>> study = g_study(np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8],
    ...                           [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]), ("assessors",))
    >>> [round(decide(study, {"assessors": n}).phi, 4) for n in (1, 4)]
    [0.2898, 0.6201]
    """
    counts = _sizes(study.facets, sizes)
    variances = study.variances()
    tau, relative, absolute = errors(variances, counts)
    phi_cut = None
    if cut is not None:
        _cut(cut)
        mean = np.array([study.mean])
        upper = tau + cut_distance(variances, study.shape, mean, cut)
        # Below zero there is nothing to divide: two negatives would make any number.
        phi_cut = None if upper[0] < 0 else _known(ratio(upper, upper + absolute))
    return Decision(
        sizes=dict(zip(study.facets, counts, strict=True)),
        trainees=float(tau[0]),
        relative=float(relative[0]),
        absolute=float(absolute[0]),
        generalizability=_known(ratio(tau, tau + relative)),
        phi=_known(ratio(tau, tau + absolute)),
        phi_cut=phi_cut,
    )


def decision_table(
    study: Study,
    designs: Iterable[Mapping[str, int]],
    *,
    cut: float | None = None,
    key: str = "decision_study",
    title: str = "What other designs would give",
) -> Table:
    """One row a design: its sizes, standard error, E-rho2, Phi and Phi at the cut."""
    rows: list[tuple[Cell, ...]] = []
    for design in designs:
        found = decide(study, design, cut=cut)
        rows.append(
            (
                *(found.sizes[facet] for facet in study.facets),
                found.sem,
                found.generalizability,
                found.phi,
                found.phi_cut,
            )
        )
    titles = tuple(facet.capitalize() for facet in study.facets)
    return Table(
        key,
        title,
        (*titles, "Standard error (share)", "Ranking, Eρ²", "Scores, Φ", "At the cut, Φ(λ)"),
        tuple(rows),
    )


def decision_sentence(study: Study, sizes: Mapping[str, int], *, cut: float | None = None) -> str:
    """A design and what it would give, in one sentence.

    >>> study = g_study(np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8],
    ...                           [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]), ("assessors",))
    >>> decision_sentence(study, {"assessors": 2})
    'Two assessors would give a dependability of 0.45 (Φ).'
    """
    found = decide(study, sizes, cut=cut)
    names = [f"{_word(n)} {_noun(facet, n)}" for facet, n in found.sizes.items()]
    text = " and ".join(names)
    value, sign = (found.phi, "Φ") if cut is None else (found.phi_cut, "Φ(λ) at the cut")
    if value is None:
        return f"What {text} would give cannot be told: trainees do not differ beyond chance."
    return f"{text[0].upper()}{text[1:]} would give a dependability of {value:.2f} ({sign})."


def coefficients(
    values: Array,
    facets: tuple[str, ...] = ("criteria",),
    *,
    sizes: Mapping[str, int] | None = None,
    cut: float | None = None,
    samples: int = 1000,
    seed: int = 1,
    prefix: str = "",
    indicative: bool = True,
) -> tuple[Result, ...]:
    """E-rho2, Phi, the standard error sigma(Delta) and, with a cut, Phi(lambda), with intervals.

    ``values`` and ``facets`` as for ``g_study``; ``sizes`` as for ``decide``, the study's own
    when left out. Formulas and sources as in ``decide``. Coefficients run from 0 to 1, the
    standard error is a share. Intervals: percentiles of resamples of trainees, the study being
    done anew in each. ``prefix`` goes before the keys of the figures.

    Raises EvidenceError as ``g_study`` and ``decide`` do.

    >>> data = np.array([[1, 0, 0], [1, 1, 0], [1, 1, 1], [0, 0, 0], [1, 1, 1]])
    >>> found = coefficients(data, cut=0.7, samples=200)
    >>> [(result.key, round(result.value, 3)) for result in found]
    [('generalizability', 0.794), ('phi', 0.771), ('sem', 0.211), ('phi_cut', 0.724)]
    """
    study = g_study(values, facets)
    titles = {
        f"{prefix}generalizability": "Generalizability for ranking trainees (Eρ²)",
        f"{prefix}phi": "Dependability of scores (Φ)",
        f"{prefix}sem": "Standard error of a trainee's score, σ(Δ)",
    }
    if cut is not None:
        _cut(cut)
        titles[f"{prefix}phi_cut"] = f"Dependability at the cut {cut:g}, Φ(λ)"
    if isinstance(study, NotComputed):
        return tuple(NotComputed(key, title, study.reason) for key, title in titles.items())
    own = dict(zip(facets, study.shape[1:], strict=True))
    counts = _sizes(facets, own if sizes is None else sizes)
    array = checked(values)
    whole = _kernel(array, counts, cut, np.ones((1, study.shape[0])))
    drawn = _kernel(array, counts, cut, resamples(study.shape[0], samples, seed))
    results: list[Result] = []
    for (key, title), value, draws in zip(titles.items(), whole, drawn, strict=True):
        if np.isfinite(value[0]) and value[0] >= 0:
            results.append(
                figure(
                    key,
                    title,
                    float(value[0]),
                    draws,
                    seed=seed,
                    n=study.shape[0],
                    source=SOURCE,
                    notes=study.notes,
                    indicative=indicative,
                )
            )
        else:
            results.append(
                NotComputed(
                    key,
                    title,
                    "Trainees do not differ from each other, or from the cut, by more than"
                    " chance: the estimate comes out below zero. Score more trainees.",
                )
            )
    return tuple(results)


def _kernel(
    array: Array, sizes: tuple[int, ...], cut: float | None, counts: Array
) -> tuple[Array, ...]:
    variances = components(analysis(array, counts), array.shape)
    tau, relative, absolute = errors(variances, sizes)
    found = (ratio(tau, tau + relative), ratio(tau, tau + absolute), np.sqrt(absolute))
    if cut is None:
        return found
    mean = counts @ array.reshape(len(array), -1).mean(axis=1) / len(array)
    upper = tau + cut_distance(variances, array.shape, mean, cut)
    # Below zero the whole has no value; a resample counts as nought, or the interval would be
    # that of the favourable ones alone.
    upper = np.maximum(upper, 0.0 if len(counts) > 1 else np.where(upper < 0, np.nan, 0.0))
    return (*found, ratio(upper, upper + absolute))


def _sizes(facets: tuple[str, ...], sizes: Mapping[str, int]) -> tuple[int, ...]:
    if set(sizes) != set(facets):
        raise EvidenceError("sizes", f"Say how many of each: {', '.join(facets)}.")
    for facet, count in sizes.items():
        if count < 1:
            raise EvidenceError(f"sizes.{facet}", "At least one is needed.")
    return tuple(sizes[facet] for facet in facets)


def _cut(cut: float) -> None:
    if not 0 <= cut <= 1:
        raise EvidenceError("cut", "The cut is a share from 0 to 1.")


def _known(value: Array) -> float | None:
    return float(value[0]) if np.isfinite(value[0]) else None


def _word(count: int) -> str:
    return WORDS[count] if count < len(WORDS) else str(count)


def _noun(facet: str, count: int) -> str:
    return ONE[facet] if count == 1 else facet

"""How far decisions under a standard would come out the same again: the section of a report."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from assessments.evidence.dependability.beta_binomial import huynh, livingston_lewis
from assessments.evidence.dependability.blocks import Block, complete, crossed
from assessments.evidence.dependability.consistency import peng_subkoviak, subkoviak
from assessments.evidence.dependability.decision import (
    coefficients,
    decide,
    decision_sentence,
    decision_table,
)
from assessments.evidence.dependability.reliability import (
    alpha,
    cut_in_criteria,
    k2,
    kr20,
    kr21,
    sem_at,
)
from assessments.evidence.dependability.study import Study, g_study
from assessments.evidence.drawings import ACCENT, INK, LINE_STYLES, drawing
from assessments.evidence.results import Drawing, Figure, NotComputed, Result, Section, Table
from assessments.evidence.scores import Array, Scores

if TYPE_CHECKING:
    from matplotlib.axes import Axes

KEY = "dependability"
TITLE = "Would the decisions come out the same again?"
LENGTHS = (5, 10, 15, 20)
UP_TO = 3
# Below this, figures about assessors are indicative as well.
SMALL = 30

NOTES = (
    "Rest on double marking first: two assessors who score the same trainees on their own show"
    " what another assessor would have decided. Figures from one scoring show less: they are"
    " indicative.",
    "Where several assessors scored, their mean is taken for the figures of one scoring."
    " Criteria count alike in the figures about the share of criteria met; the figures by"
    " Livingston and Lewis, and those about assessors, use the weights of the standard.",
    "The overall cut alone is looked at here. Critical criteria and minima of outcomes can make"
    " a decision come out otherwise.",
    "Scores of one practical task do not show what another task would bring. For that, have"
    " trainees do two tasks.",
)
NO_CUT = "The standard has no overall cut, so there is nothing to be on either side of."
CUT_ZERO = "The overall cut is 0: everyone meets it, whatever the scores."


def dependability_section(scores: Scores, *, samples: int = 1000, seed: int = 1) -> Section:
    """All of this package on the scores of a cohort.

    Trainees x criteria with the mean over the assessors (Phi, Phi(lambda), reliability,
    classification consistency), and trainees x assessors of the same trainees (what one, two or
    three assessors give). ``samples`` resamples of trainees, from ``seed``. Shares from 0 to 1.
    What cannot be worked out stands as NotComputed with its reason; nothing is raised for
    scores, however few. EvidenceError for fewer than 100 samples.
    Sources: in each figure.
    """
    single, double = complete(scores), crossed(scores)
    figures: list[Result] = []
    tables: list[Table] = []
    drawings: list[Drawing] = []
    if isinstance(double, NotComputed):
        figures.append(NotComputed("assessors_phi", "Dependability of assessors", double.reason))
    else:
        found, added = _assessors(double, scores.cut, samples, seed)
        figures += found
        tables += added
    if isinstance(single, NotComputed):
        figures.append(NotComputed("phi", "Dependability of scores (Φ)", single.reason))
    else:
        figures += _criteria(single, scores.cut, samples, seed)
        more, drawn = _criteria_study(single, scores.cut)
        tables += more
        drawings += drawn
    return Section(
        KEY,
        TITLE,
        _summary(figures, single, double),
        tuple(figures),
        tuple(tables),
        tuple(drawings),
        NOTES,
    )


def _assessors(
    block: Block, cut: float | None, samples: int, seed: int
) -> tuple[list[Result], list[Table]]:
    """Trainees x assessors on the weighted overall score, and trainees x criteria x assessors."""
    overall: Array = np.einsum("pir,i->pr", block.values, block.weights)
    figures: list[Result] = []
    for count, words in ((1, "one assessor"), (2, "two assessors")):
        results = coefficients(
            overall,
            ("assessors",),
            sizes={"assessors": count},
            cut=cut,
            samples=samples,
            seed=seed,
            prefix=f"assessors_{count}_",
            indicative=len(overall) < SMALL,
        )
        figures += [_retitled(result, words) for result in results]
    tables: list[Table] = []
    studies = (
        ("assessors", "Overall score", overall, ("assessors",)),
        ("criteria_assessors", "Single scores", block.values, ("criteria", "assessors")),
    )
    for key, title, values, facets in studies:
        study = g_study(values, facets)
        if isinstance(study, NotComputed):
            continue
        tables.append(study.table(f"{key}_components", f"{title}: where differences come from"))
        tables.append(
            decision_table(
                study,
                _designs(study),
                cut=cut,
                key=f"{key}_decision_study",
                title=f"{title}: what other designs would give",
            )
        )
    if block.left_out:
        tables.append(block.table("assessors_left_out", "Left out of the study of assessors"))
    return figures, tables


def _criteria(block: Block, cut: float | None, samples: int, seed: int) -> list[Result]:
    """Everything from trainees x criteria of one scoring."""
    met, weights = block.met(), block.weights
    totals, criteria = met.sum(axis=1), met.shape[1]
    figures: list[Result] = [
        *coefficients(block.values, cut=cut, samples=samples, seed=seed),
        alpha(block.values, weights=weights, samples=samples, seed=seed),
        kr20(met, samples=samples, seed=seed),
        kr21(totals, criteria, samples=samples, seed=seed),
    ]
    if cut is None or cut == 0:
        reason = NO_CUT if cut is None else CUT_ZERO
        titles = {
            "k2": "Reliability about the cut (Livingston's k²)",
            "sem_cut": "Standard error at the cut",
            "consistency": "Same decision again",
        }
        figures += [NotComputed(key, title, reason) for key, title in titles.items()]
        return figures
    needed = cut_in_criteria(cut, criteria)
    figures.append(_sem_at_cut(cut, criteria, len(totals)))
    figures.append(k2(totals, criteria, needed, samples=samples, seed=seed))
    weighted = livingston_lewis(block.values, cut, weights=weights, samples=samples, seed=seed)
    figures += weighted.results
    for method in (huynh, subkoviak, peng_subkoviak):
        figures += method(totals, criteria, needed, samples=samples, seed=seed).results
    return figures


def _sem_at_cut(cut: float, criteria: int, people: int) -> Figure:
    error = sem_at(cut, criteria)
    return Figure(
        key="sem_cut",
        title=f"Standard error of the share of criteria met, at the cut {cut:g}",
        value=error,
        interval="none: it follows from the cut and the number of criteria",
        n=people,
        indicative=True,
        notes=(
            "About two in three of those who stand exactly at the cut would score between"
            f" {max(cut - error, 0):.2f} and {min(cut + error, 1):.2f}.",
        ),
        source="Lord 1957",
    )


def _criteria_study(block: Block, cut: float | None) -> tuple[list[Table], list[Drawing]]:
    tables: list[Table] = []
    drawings: list[Drawing] = []
    study = g_study(block.values)
    if not isinstance(study, NotComputed):
        tables.append(study.table("components", "Where differences between scores come from"))
        designs = _designs(study)
        tables.append(decision_table(study, designs, cut=cut))
        drawings.append(_curve(study, cut))
    if block.left_out:
        tables.append(block.table("left_out", "Left out of the figures of one scoring"))
    return tables, drawings


def _designs(study: Study) -> list[Mapping[str, int]]:
    """Up to three assessors or tasks; 5 to 20 criteria and the standard's own number."""
    designs: list[dict[str, int]] = [{}]
    for facet, size in zip(study.facets, study.shape[1:], strict=True):
        sizes = sorted({*LENGTHS, size}) if facet == "criteria" else range(1, UP_TO + 1)
        designs = [{**design, facet: count} for design in designs for count in sizes]
    return list(designs)


def _curve(study: Study, cut: float | None) -> Drawing:
    """Phi(lambda) over the cut, with the cut of the standard marked."""
    own = {"criteria": study.shape[1]}
    shares = np.linspace(0.3, 1, 71)
    found = [decide(study, own, cut=float(share)).phi_cut for share in shares]
    heights = np.array([np.nan if value is None else value for value in found])
    at_cut = None if cut is None else decide(study, own, cut=cut).phi_cut

    def draw(axes: Axes) -> None:
        axes.plot(shares, heights, color=INK, linestyle=LINE_STYLES[0])
        if cut is not None:
            axes.axvline(cut, color=ACCENT, linestyle=LINE_STYLES[1])
            axes.annotate(f"cut {cut:g}", (cut, 0.02), xytext=(4, 0), textcoords="offset points")
        if cut is not None and at_cut is not None:
            axes.plot([cut], [at_cut], color=INK, marker="o")
        axes.set_xlim(0.3, 1)
        axes.set_ylim(0, 1.02)
        axes.set_xlabel("Cut, as a share")
        axes.set_ylabel("Φ(λ)")

    words = _curve_words(shares, heights, study.mean)
    if at_cut is not None:
        words += f" At the standard's cut of {cut:g} it stands at {at_cut:.2f}."
    return drawing("phi_over_cut", "Dependability over the cut", words, draw)


def _curve_words(shares: Array, heights: Array, mean: float) -> str:
    known = np.isfinite(heights)
    if not known.any():
        return "No line: whatever the cut, the trainees differ from it by no more than chance."
    if known.all():
        return (
            f"A line, lowest at {heights.min():.2f} for a cut of"
            f" {shares[int(heights.argmin())]:.2f}, near the mean of the cohort, {mean:.2f};"
            " higher the further the cut lies from it."
        )
    gaps = shares[~known]
    return (
        f"A line that rises on both sides of the mean of the cohort, {mean:.2f}; for cuts from"
        f" {gaps.min():.2f} to {gaps.max():.2f} there is none, as the trainees differ from such"
        " a cut by no more than chance."
    )


def _retitled(result: Result, words: str) -> Result:
    return replace(result, title=f"{result.title}, {words}")


def _summary(
    figures: list[Result], single: Block | NotComputed, double: Block | NotComputed
) -> str:
    """What to read first: assessors, then the same decision again, then Phi(lambda)."""
    known = {result.key: result for result in figures if isinstance(result, Figure)}
    parts = []
    if not isinstance(double, NotComputed) and "assessors_1_phi" in known:
        overall: Array = np.einsum("pir,i->pr", double.values, double.weights)
        study = g_study(overall, ("assessors",))
        assert isinstance(study, Study)
        parts += [decision_sentence(study, {"assessors": count}) for count in (1, 2)]
    agreement = known.get("livingston_lewis_agreement")
    if agreement is not None:
        people = len(single.trainees) if isinstance(single, Block) else 0
        parts.append(
            f"By the scores of {people} trainees, about {round(100 * agreement.value)} in 100"
            f"{_range(agreement)} would get the same decision about the overall cut if assessed"
            " again (p₀)."
        )
    if "phi_cut" in known:
        parts.append(
            f"The dependability of the decision at the cut is {known['phi_cut'].value:.2f} of 1"
            " (Φ(λ))."
        )
    if not parts:
        reason = next(result.reason for result in figures if isinstance(result, NotComputed))
        return f"How dependable the decisions are cannot be told yet. {reason}"
    if any(result.indicative for result in known.values()):
        parts.append("Take this as an indication: few trainees, or one scoring, carry no more.")
    return " ".join(parts)


def _range(result: Figure) -> str:
    if result.low is None or result.high is None:
        return ""
    return f" (from {round(100 * result.low)} to {round(100 * result.high)})"

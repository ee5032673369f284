"""The section on agreement between assessors: all of it, in the order in which it is read."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from assessments.evidence.agreement.chance import Draw, beyond_chance
from assessments.evidence.agreement.criteria import (
    LEAST,
    LOW,
    CriterionAgreement,
    advice_table,
    chance_tables,
    criterion_agreement,
    level_table,
    share_tables,
)
from assessments.evidence.agreement.overall import decisions, score_results
from assessments.evidence.agreement.proportions import CLOPPER_PEARSON, proportion
from assessments.evidence.agreement.ratings import why_not
from assessments.evidence.agreement.resampling import (
    bootstrap_words,
    percentile_interval,
    resample_counts,
)
from assessments.evidence.agreement.units import DoubleScored, double_scored
from assessments.evidence.drawings import Dot, dots
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Cell, Drawing, Figure, NotComputed, Result, Section, Table
from assessments.evidence.scores import Scores

KEY, TITLE = "agreement", "Agreement between assessors"
EXACT = "Same score by all assessors (exact agreement)"
ADJACENT = "At most one level apart (adjacent agreement)"
CLUSTERED = (
    "Scores of one attempt are not independent of each other: the table of intervals also has "
    "one that takes whole attempts."
)


def agreement_section(
    scores: Scores, *, samples: int = 1000, seed: int = 1, least: float = LEAST
) -> Section:
    """Agreement between assessors over all that two or more of them scored, and by criterion.

    ``least`` is the exact agreement below which a criterion is named (see ``criteria.finding``).
    Intervals over attempts are percentile bootstraps of ``samples`` draws from ``seed``. Figures
    that the scores cannot give are NotComputed. EvidenceError for fewer than 100 samples or a
    ``least`` outside 0 to 1. Formulas and sources: the functions of this package.
    """
    if samples < 100:
        raise EvidenceError("samples", "Draw at least 100 samples; 1000 is usual.")
    if not 0 < least <= 1:
        raise EvidenceError("least", "A share above 0 and at most 1 is needed.")
    units = [each for each in double_scored(scores) if len(each.levels)]
    whole = score_results(scores, samples=samples, seed=seed)
    same, deciding = decisions(scores)
    if not units:
        return _nothing(scores, (*whole, same))
    found = tuple(
        criterion_agreement(each, samples=samples, seed=seed, least=least) for each in units
    )
    figures, intervals = _pooled(units, samples, seed)
    tables = [
        advice_table(found),
        intervals,
        deciding,
        *share_tables(found),
        *chance_tables(found),
        *(level_table(each) for each in found),
    ]
    return Section(
        KEY,
        TITLE,
        _summary(scores, figures[1], found),
        (*figures, same, *whole),
        tuple(table for table in tables if table is not None),
        _drawings(found, least),
        _notes(least),
    )


def _pooled(units: list[DoubleScored], samples: int, seed: int) -> tuple[tuple[Result, ...], Table]:
    """All criteria together: shares of scores, and met or not met beyond chance."""
    trainees = np.concatenate([each.trainees for each in units])
    attempts, place = np.unique(trainees, return_inverse=True)
    draw = Draw(resample_counts(len(attempts), samples, seed), len(attempts), samples, seed, place)
    met = np.concatenate([each.met for each in units])
    beyond = beyond_chance(met, 2, draw, prefix="met_")
    shares, rows = _shares(units, draw)
    counted = Figure(
        "double_scored", "Attempts scored by two or more assessors (number)", float(len(attempts))
    )
    named = (
        replace(result, title=f"{result.title[:-1]}, met or not met)")
        for result in (beyond.kappa, beyond.ac1, beyond.alpha)
    )
    title = f"Intervals of all criteria together ({bootstrap_words(samples, seed)})"
    columns = (
        *("Share", "Scores", "Value", "Wilson from", "Wilson to", "Clopper-Pearson from"),
        *("Clopper-Pearson to", "Over attempts from", "Over attempts to"),
    )
    return (counted, *shares, *named), Table("agreement_intervals", title, columns, tuple(rows))


def _shares(units: list[DoubleScored], draw: Draw) -> tuple[list[Result], list[tuple[Cell, ...]]]:
    """Exact and adjacent agreement, and their rows with each kind of interval."""
    span = np.concatenate(
        [np.nanmax(each.levels, axis=1) - np.nanmin(each.levels, axis=1) for each in units]
    )
    graded = np.concatenate([np.full(len(each.levels), len(each.steps) > 2) for each in units])
    shares: list[Result] = []
    rows: list[tuple[Cell, ...]] = []
    for key, title, most, of in (
        ("exact", EXACT, 0, np.ones(len(span), dtype=bool)),
        ("adjacent", ADJACENT, 1, graded),
    ):
        inside = (span <= most) & of
        count, n = int(inside.sum()), int(of.sum())
        none = "No criterion with three or more levels was scored twice: double-score some."
        share = proportion(key, title, count, n, none=none)
        sure = proportion(key, title, count, n, method=CLOPPER_PEARSON, none=none)
        if isinstance(share, Figure) and isinstance(sure, Figure):
            ends = _over_attempts(inside, of, draw) or (None, None)
            rows.append((title, n, share.value, share.low, share.high, sure.low, sure.high, *ends))
            share = replace(share, notes=(CLUSTERED,))
        shares.append(share)
    return shares, rows


def _over_attempts(
    inside: NDArray[np.bool_], of: NDArray[np.bool_], draw: Draw
) -> tuple[float, float] | None:
    """The interval of a share over resampled attempts."""
    n, hits = draw.over(np.stack([of, inside], axis=1).astype(float)).T
    return percentile_interval(np.where(n > 0, hits / np.maximum(n, 1), np.nan))


def _nothing(scores: Scores, rest: tuple[Result, ...]) -> Section:
    people, items, assessors = scores.values.shape
    ratings = scores.values.reshape(people * items, assessors)
    known = why_not("exact", EXACT, ratings)
    reason = known.reason if known else "Nothing that applies was scored by two assessors."
    titles = (
        ("exact", EXACT),
        ("adjacent", ADJACENT),
        ("met_kappa", "Agreement beyond chance (kappa, met or not met)"),
        ("met_ac1", "Agreement beyond chance (AC1, met or not met)"),
        ("met_alpha", "Agreement beyond chance (alpha, met or not met)"),
    )
    figures = tuple(NotComputed(key, title, reason) for key, title in titles)
    return Section(KEY, TITLE, reason, (*figures, *rest))


def _summary(scores: Scores, exact: Result, found: tuple[CriterionAgreement, ...]) -> str:
    assert isinstance(exact, Figure), "something was scored twice"
    attempts = len({int(row) for each in found for row in each.units.trainees})
    said = (
        f"{attempts} of {len(scores.trainees)} attempts have criteria scored by two or more "
        f"assessors. On {exact.value:.0%} of these {exact.n} scores they gave exactly the same "
        f"(exact agreement; 95%: {exact.low:.0%} to {exact.high:.0%})."
    )
    low = [each.units.item.title for each in found if each.finding == LOW]
    perhaps = sum(bool(each.finding) for each in found) - len(low)
    if low:
        said += f" Agreement is low on: {'; '.join(low)}."
    if perhaps:
        noun = "criterion" if perhaps == 1 else "criteria"
        said += f" It may be low on {perhaps} {'further ' if low else ''}{noun}."
    if not low and not perhaps:
        said += " No criterion stands out as scored differently."
    return said


def _drawings(found: tuple[CriterionAgreement, ...], least: float) -> tuple[Drawing, ...]:
    rows = [
        Dot(each.units.item.title, each.exact.value, each.exact_sure.low, each.exact_sure.high)
        for each in found
    ]
    words = "; ".join(
        f"{each.units.item.title} {each.exact.value:.0%} "
        f"({each.exact_sure.low:.0%} to {each.exact_sure.high:.0%})"
        for each in found
    )
    return dots(
        "agreement_exact",
        f"Exact agreement by criterion, with interval (Clopper-Pearson, 95%); dotted: {least:.0%}",
        f"Exact agreement of assessors by criterion, with interval: {words}.",
        rows,
        axis="Share of attempts",
        reference=least,
    )


def _notes(least: float) -> tuple[str, ...]:
    return (
        f"A criterion is named low where the whole interval (Clopper-Pearson, 95%) of its exact "
        f"agreement lies below {least:.0%}, perhaps low where the share does but the interval "
        "reaches it. The limit is common practice without a source.",
        "Levels are numbered from 0, as on the task sheet. Exact agreement of more than two "
        "assessors means all of them; adjacent, that the two furthest apart are at most one level "
        "apart. Criteria with two levels do not count towards adjacent agreement overall.",
        "Kappa, AC1 and alpha take off the agreement that chance would bring, each by its own idea "
        "of chance; where nearly all work is met, kappa and alpha fall low although assessors "
        "agree, and AC1 does not. By criterion, a difference of more levels weighs more in kappa "
        "(linear weights) and alpha (ordinal); all criteria together are met or not met.",
        "Intervals from resampling are too narrow where they rest on fewer than about ten "
        "attempts.",
        "Same side of the cut looks at the overall cut and the weights alone: not at critical "
        "criteria, hold points or minimums of outcomes.",
    )

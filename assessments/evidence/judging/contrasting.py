"""Contrasting groups: the score that parts work held competent from work held not yet so."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from assessments.evidence.drawings import ACCENT, INK, SOFT, drawing
from assessments.evidence.errors import EvidenceError
from assessments.evidence.judging.centre import TINY
from assessments.evidence.judging.crossing import Normal, between, normal_crossings, resampled
from assessments.evidence.judging.given import numbers, same_length, score_shares
from assessments.evidence.judging.logistic import Logistic, logistic, separation
from assessments.evidence.judging.recommendation import SUGGESTION, Recommendation
from assessments.evidence.judging.words import count, percent, points
from assessments.evidence.results import LEVEL, Drawing, Figure, NotComputed, Result, Section, Table
from assessments.evidence.scores import Array

_CUT = "Recommended cut"
_BAND = "Band around the cut"
_TITLE = "The passing standard by contrasting groups"
_SOURCE = "Livingston & Zieky 1982"
_Z = float(stats.norm.ppf((1 + LEVEL) / 2))
# An interval from fewer of the samples than this would leave out what it should tell.
_ENOUGH = 0.95
_FLAT = "The scores do not tell the groups apart, so they give no cut: judge more attempts."
Bools = NDArray[np.bool_]


def contrasting_groups(
    competent: ArrayLike, scores: ArrayLike, *, samples: int = 1000, seed: int = 1
) -> Recommendation:
    """The cut at which an attempt is as likely to be held competent as not.

    ``competent`` is n booleans, the judges' view of each attempt without its score; ``scores`` n
    shares from 0 to 1. The cut is the score at which logistic regression gives one half, with a
    standard error by the delta method and a normal interval. Where one score parts the groups
    wholly there is no such fit: the cut is the middle of the gap, without standard error, and
    the figures gap_low and gap_high are its ends. Beside it stands where normal curves of both
    groups cross, with equal and with observed shares; intervals from ``samples`` draws within
    each group. Not computed: a group without attempts, competent work that scores lower, a cut
    outside 0 to 1. EvidenceError for scores out of range, unequal lengths and what is neither
    true nor false.

    Livingston & Zieky 1982, Passing Scores: A Manual for Setting Standards of Performance.

    >>> found = contrasting_groups(
    ...     [False, False, True, False, True, True], [0.4, 0.5, 0.6, 0.7, 0.8, 0.9])
    >>> round(found.cut.value, 3), found.cut.n
    (0.65, 6)
    """
    scored, held = score_shares(scores), _booleans(competent)
    same_length("competent", held.astype(float), scored)
    if samples < 2:
        raise EvidenceError("samples", "Draw at least two samples.")
    cut, fit = _cut(held, scored)
    figures = [cut, _band(cut)]
    if isinstance(cut, Figure) and cut.standard_error is None:
        low, high = _gap_ends(held, scored)
        figures += [
            Figure("gap_low", "Highest score of work held not yet competent", low),
            Figure("gap_high", "Lowest score of work held competent", high),
        ]
    if fit is not None:
        half = _Z * fit.slope_error / 10
        rise = fit.slope / 10
        figures.append(
            Figure(
                "slope",
                "Rise of the log odds of competent for ten percentage points of score",
                rise,
                rise - half,
                rise + half,
                fit.slope_error / 10,
                interval="normal interval of the maximum-likelihood fit",
                n=len(scored),
                indicative=True,
            )
        )
    figures += [_crossing(held, scored, equal, samples, seed) for equal in (True, False)]
    section = Section(
        "contrasting",
        _TITLE,
        _summary(cut, held, scored),
        tuple(figures),
        (_table(held, scored),),
        (_picture(held, scored, cut, fit),) if len(scored) else (),
        ("The standard never applies to the attempts it was made from.",),
    )
    return Recommendation("contrasting", cut, section)


def _booleans(competent: ArrayLike) -> Bools:
    found = numbers(competent, "competent")
    wrong = np.flatnonzero((found != 0) & (found != 1))
    if len(wrong):
        raise EvidenceError(f"competent[{wrong[0]}]", "Give true or false for each attempt.")
    return found > 0


def _cut(held: Bools, scored: Array) -> tuple[Result, Logistic | None]:
    if held.all() or not held.any():
        return NotComputed("cut", _CUT, _one_group(held)), None
    if np.ptp(scored) == 0:
        return NotComputed("cut", _CUT, "Every attempt has the same score."), None
    parted = separation(held, scored)
    if parted == "rising":
        return _gap(held, scored), None
    fit = None if parted == "falling" else logistic(held, scored)
    if parted == "falling" or (fit is not None and fit.slope <= 0):
        reason = (
            "Work held competent does not score higher here, so the scores give no cut: talk over "
            "how the judges sorted it."
        )
        return NotComputed("cut", _CUT, reason), fit
    if fit is None:
        return NotComputed("cut", _CUT, _FLAT), None
    if not 0 <= fit.cut <= 1:
        reason = f"The fit gives {percent(fit.cut)}, outside 0 to 100 %: that is no cut."
        return NotComputed("cut", _CUT, reason), fit
    return _fitted(fit, len(scored)), fit


def _one_group(held: Bools) -> str:
    if not len(held):
        return "No attempt was judged."
    word = "competent" if held.all() else "not yet competent"
    return f"Every attempt was held {word}: the method needs attempts of both kinds."


def _fitted(fit: Logistic, n: int) -> Figure:
    low, high = fit.cut - _Z * fit.cut_error, fit.cut + _Z * fit.cut_error
    notes = ["The score at which an attempt is as likely to be held competent as not."]
    if low < 0 or high > 1:
        notes.append("The interval is cut off at 0 or 100 %.")
    if fit.slope - _Z * fit.slope_error <= 0:
        notes.append("Scores that say nothing cannot be ruled out: the cut rests on little.")
    return Figure(
        "cut",
        _CUT,
        fit.cut,
        max(low, 0.0),
        min(high, 1.0),
        fit.cut_error,
        interval="normal interval, standard error by the delta method",
        n=n,
        indicative=True,
        notes=tuple(notes),
        source=f"{_SOURCE}; Agresti 2013, section 5.1",
    )


def _gap(held: Bools, scored: Array) -> Figure:
    low, high = _gap_ends(held, scored)
    return Figure(
        "cut",
        _CUT,
        (low + high) / 2,
        interval=f"{percent(low)} to {percent(high)}, the gap between the groups; it is no "
        "confidence interval, and there is no standard error",
        n=len(scored),
        indicative=True,
        notes=(
            "One score parts the groups wholly (perfect separation), so logistic regression has "
            "no finite answer. Any cut in the gap fits these attempts; the middle is shown.",
        ),
        source=f"{_SOURCE}; Albert & Anderson 1984 (separation)",
    )


def _gap_ends(held: Bools, scored: Array) -> tuple[float, float]:
    return float(scored[~held].max()), float(scored[held].min())


def _band(cut: Result) -> Result:
    if isinstance(cut, NotComputed):
        return NotComputed("band", _BAND, "There is no cut to set it around.")
    if cut.standard_error is None:
        return NotComputed(
            "band", _BAND, "The groups do not overlap, so there is no standard error to set it by."
        )
    return Figure(
        "band",
        _BAND,
        _Z * cut.standard_error,
        indicative=True,
        notes=(
            SUGGESTION,
            f"{_Z:.3f} times the standard error of {points(cut.standard_error)}: normal, 95 %.",
        ),
        source=_SOURCE,
    )


def _crossing(held: Bools, scored: Array, equal: bool, samples: int, seed: int) -> Result:
    key = "crossing_equal" if equal else "crossing_observed"
    title = (
        "Where normal curves of both groups cross, "
        f"{'both groups as equally common' if equal else 'the groups as common as here'}"
    )
    low, high = scored[~held], scored[held]
    if min(len(low), len(high)) < 2 or min(np.ptp(low), np.ptp(high)) < 1e-9:
        return NotComputed(key, title, "Each group needs two attempts with different scores.")
    curves = [Normal(float(one.mean()), float(one.std(ddof=1))) for one in (low, high)]
    share = 0.5 if equal else len(high) / len(scored)
    roots = normal_crossings(curves[0], curves[1], share)
    value = between(curves[0], curves[1], share)
    if value is None:
        return NotComputed(key, title, _no_crossing(roots, curves))
    drawn = resampled(low, high, equal, samples, seed)
    others = [root for root in roots if root != value]
    notes = [f"The curves cross a second time at {percent(others[0])}."] if others else []
    ends: tuple[float | None, float | None] = (None, None)
    if len(drawn) >= _ENOUGH * samples:
        ends = (float(np.quantile(drawn, 0.025)), float(np.quantile(drawn, 0.975)))
        how = f"percentiles of {len(drawn)} of {samples} bootstrap samples (seed {seed})"
    else:
        how = "none: too many bootstrap samples have no crossing between the groups"
    return Figure(
        key,
        title,
        value,
        *ends,
        interval=how,
        n=len(scored),
        indicative=True,
        notes=tuple(notes),
        source=_SOURCE,
    )


def _no_crossing(roots: tuple[float, ...], curves: list[Normal]) -> str:
    if curves[0].mean >= curves[1].mean - TINY:
        return "Work held competent does not score higher on average."
    if not roots:
        return "The curves do not cross: one group is denser at every score."
    where = " and ".join(percent(root) for root in roots)
    return f"The curves do not cross between the groups' means, but at {where}."


def _summary(cut: Result, held: Bools, scored: Array) -> str:
    if isinstance(cut, NotComputed):
        return f"There is no recommended cut. {cut.reason}"
    groups = (
        f"{count(int(held.sum()), 'attempt', 'attempts')} held competent and "
        f"{count(int((~held).sum()), 'attempt', 'attempts')} held not yet competent"
    )
    if cut.standard_error is None:
        low, high = (percent(one) for one in _gap_ends(held, scored))
        return (
            f"From {groups}: every competent attempt scores at least {high} and every other at "
            f"most {low} (perfect separation). The middle, {percent(cut.value)}, is shown; it has "
            "no standard error."
        )
    return (
        f"From {groups} the cut is {percent(cut.value)}, between {percent(cut.low or 0.0)} and "
        f"{percent(cut.high or 0.0)} (95 % interval): there an attempt is as likely to be held "
        "competent as not."
    )


def _table(held: Bools, scored: Array) -> Table:
    rows = []
    for name, own in (("Competent", scored[held]), ("Not yet competent", scored[~held])):
        some = len(own) > 0
        rows.append(
            (
                name,
                len(own),
                float(own.mean()) if some else None,
                float(own.std(ddof=1)) if len(own) > 1 else None,
                float(own.min()) if some else None,
                float(own.max()) if some else None,
            )
        )
    return Table(
        "groups",
        "Scores of both groups (shares)",
        ("Group", "Attempts", "Mean", "SD", "Lowest", "Highest"),
        tuple(rows),
    )


def _picture(held: Bools, scored: Array, cut: Result, fit: Logistic | None) -> Drawing:
    words = [
        f"{name}: {percent(own.min())} to {percent(own.max())}."
        for name, own in (("Competent", scored[held]), ("Not yet competent", scored[~held]))
        if len(own)
    ]

    def draw(axes: Axes) -> None:
        axes.plot(100 * scored[held], np.ones(held.sum()), "o", color=ACCENT, fillstyle="none")
        axes.plot(100 * scored[~held], np.zeros((~held).sum()), "s", color=INK, fillstyle="none")
        if fit is not None:
            grid = np.linspace(scored.min(), scored.max(), 101)
            axes.plot(100 * grid, [fit.probability(float(one)) for one in grid], color=INK)
        if isinstance(cut, Figure):
            axes.axvline(100 * cut.value, color=SOFT, linestyle="--")
        axes.set_ylim(-0.15, 1.15)
        axes.set_yticks([0, 1], ["Not yet", "Competent"])
        axes.set_xlabel("Score (%); dashed: cut")

    if isinstance(cut, Figure):
        words.append(f"The cut is {percent(cut.value)}.")
    return drawing("contrasting-groups", "Scores of both groups", " ".join(words), draw)

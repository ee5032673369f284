"""Borderline regression: the score that goes with the borderline rating of the whole piece."""

from __future__ import annotations

from math import sqrt

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from numpy.typing import ArrayLike
from scipy import stats

from assessments.evidence.drawings import ACCENT, INK, SOFT, drawing
from assessments.evidence.errors import EvidenceError
from assessments.evidence.judging.centre import TINY
from assessments.evidence.judging.ends import r_squared_ends, sd_ends
from assessments.evidence.judging.given import numbers, same_length, score_shares
from assessments.evidence.judging.line import Line, fitted
from assessments.evidence.judging.recommendation import SUGGESTION, Recommendation
from assessments.evidence.judging.words import percent, points
from assessments.evidence.results import LEVEL, Drawing, Figure, NotComputed, Result, Section, Table
from assessments.evidence.scores import Array

_LEAST = 3
_CUT = "Recommended cut"
_BAND = "Band around the cut"
_TITLE = "The passing standard by borderline regression"
_SOURCE = "Kramer et al. 2003, Med. Educ. 37:132"


def borderline_regression(
    ratings: ArrayLike, scores: ArrayLike, *, borderline: float = 3.0
) -> Recommendation:
    """The cut where the line through ratings of whole pieces and their scores is borderline.

    ``ratings`` are n overall ratings (higher is better), ``scores`` n shares from 0 to 1. The cut
    is intercept + slope x ``borderline`` by ordinary least squares, a share of the overall score;
    its standard error is that of the fitted mean, its interval Student's t with n - 2 degrees of
    freedom, cut off at 0 and 1. Not computed: fewer than three attempts, all ratings or all
    scores alike, a slope of zero or below, a borderline outside the ratings given, or a cut
    outside 0 to 1. EvidenceError for scores out of range and for unequal lengths.

    Kramer, Muijtjens, Jansen, Düsman, Tan & van der Vleuten 2003, Medical Education 37:132.

    >>> found = borderline_regression([2, 3, 4, 5], [0.5, 0.7, 0.8, 0.9])
    >>> round(found.cut.value, 3), round(found.cut.standard_error, 4)
    (0.66, 0.0212)
    """
    rated, scored = numbers(ratings, "ratings"), score_shares(scores)
    same_length("ratings", rated, scored)
    if not np.isfinite(borderline):
        raise EvidenceError("borderline", "Give the rating that stands for the borderline.")
    reason = _no_line(rated, scored, borderline)
    line = None if reason else fitted(rated, scored)
    if line is not None:
        reason = _no_cut(line, borderline)
    tables = (_table(rated, scored),) if len(rated) else ()
    if line is None or reason is not None:
        cut: Result = NotComputed("cut", _CUT, reason or "")
        section = Section(
            "borderline", _TITLE, f"There is no recommended cut. {reason}", (cut,), tables
        )
        return Recommendation("borderline", cut, section)
    multiple = float(stats.t.ppf((1 + LEVEL) / 2, line.freedom))
    found = _cut(line, borderline, multiple)
    section = Section(
        "borderline",
        _TITLE,
        _summary(found, line),
        (
            found,
            _band(line, borderline, multiple),
            *(() if line.exact else _fit(line, multiple)),
        ),
        tables,
        (_picture(rated, scored, line, borderline, found),),
        ("The standard never applies to the attempts it was made from.",),
    )
    return Recommendation("borderline", found, section)


def _no_line(rated: Array, scored: Array, borderline: float) -> str | None:
    if len(rated) < _LEAST:
        return f"A line needs at least three rated attempts; there are {len(rated)}."
    if np.ptp(rated) == 0:
        return "Every attempt has the same rating, so there is no line: rate a wider cohort."
    if np.ptp(scored) == 0:
        return "Every attempt has the same score, so there is no line: rate a wider cohort."
    if not rated.min() <= borderline <= rated.max():
        side = "above" if rated.min() > borderline else "below"
        return (
            f"Every rating is {side} the borderline of {borderline:g}: the line would have to be "
            "drawn on beyond the ratings given."
        )
    return None


def _no_cut(line: Line, borderline: float) -> str | None:
    if line.slope <= TINY:
        return (
            "Better ratings do not go with higher scores here, so the line gives no cut: talk "
            "over how the judges rated."
        )
    value = line.at(borderline)[0]
    if not 0 <= value <= 1:
        return f"The line gives {percent(value)}, outside 0 to 100 %: that is no cut."
    return None


def _cut(line: Line, borderline: float, multiple: float) -> Figure:
    value, error = line.at(borderline)
    if line.exact:
        return Figure(
            "cut",
            _CUT,
            value,
            interval="none: every attempt lies on the line",
            n=line.n,
            indicative=True,
            notes=("Every attempt lies on the line, so it cannot tell how sure it is.",),
            source=_SOURCE,
        )
    low, high = value - multiple * error, value + multiple * error
    notes = [f"The fitted score at the rating {borderline:g}."]
    if low < 0 or high > 1:
        notes.append("The interval is cut off at 0 or 100 %.")
    if line.slope - multiple * line.slope_error <= 0:
        notes.append("A line without slope cannot be ruled out: the cut rests on little.")
    return Figure(
        "cut",
        _CUT,
        value,
        max(low, 0.0),
        min(high, 1.0),
        error,
        interval=f"t interval of the fitted mean with {line.freedom} degrees of freedom",
        n=line.n,
        indicative=True,
        notes=tuple(notes),
        source=_SOURCE,
    )


def _band(line: Line, borderline: float, multiple: float) -> Result:
    if line.exact:
        reason = "Every attempt lies on the line, so there is no standard error to set it by."
        return NotComputed("band", _BAND, reason)
    error = line.at(borderline)[1]
    return Figure(
        "band",
        _BAND,
        multiple * error,
        indicative=True,
        notes=(
            SUGGESTION,
            f"{multiple:.3f} times the standard error of {points(error)}: Student's t, 95 %, "
            f"{line.freedom} degrees of freedom.",
        ),
        source=_SOURCE,
    )


def _fit(line: Line, multiple: float) -> tuple[Figure, ...]:
    half = multiple * line.slope_error
    return (
        Figure(
            "slope",
            "Rise of the score for one step of the rating",
            line.slope,
            line.slope - half,
            line.slope + half,
            line.slope_error,
            interval=f"t interval with {line.freedom} degrees of freedom",
            n=line.n,
            indicative=True,
        ),
        Figure(
            "intercept",
            "Fitted score at the rating 0",
            line.intercept,
            line.intercept - multiple * line.at(0.0)[1],
            line.intercept + multiple * line.at(0.0)[1],
            line.at(0.0)[1],
            interval=f"t interval with {line.freedom} degrees of freedom",
            n=line.n,
            indicative=True,
        ),
        Figure(
            "r_squared",
            "Share of the differences in score that the ratings account for (R²)",
            line.r_squared,
            *r_squared_ends(sqrt(line.r_squared), line.n),
            interval="from Fisher's z" if line.n > _LEAST else "none: too few attempts",
            n=line.n,
            indicative=True,
        ),
        Figure(
            "residual_sd",
            "SD of the scores about the line",
            line.residual_sd,
            *sd_ends(line.residual_sd, line.freedom),
            interval=f"chi-squared interval with {line.freedom} degrees of freedom",
            n=line.n,
            indicative=True,
        ),
    )


def _summary(cut: Figure, line: Line) -> str:
    if cut.standard_error is None:
        return (
            f"From {line.n} rated attempts the cut is {percent(cut.value)}; all of them lie on "
            "one line, so there is no telling how sure it is."
        )
    return (
        f"From {line.n} rated attempts the cut is {percent(cut.value)}, between "
        f"{percent(cut.low or 0.0)} and {percent(cut.high or 0.0)} (95 % interval). The ratings "
        f"account for {percent(line.r_squared)} of the differences in score (R²)."
    )


def _table(rated: Array, scored: Array) -> Table:
    rows = []
    for rating in np.unique(rated):
        own = scored[rated == rating]
        rows.append(
            (float(rating), len(own), float(own.mean()), float(own.min()), float(own.max()))
        )
    return Table(
        "ratings",
        "Scores by rating (shares)",
        ("Rating", "Attempts", "Mean score", "Lowest", "Highest"),
        tuple(rows),
    )


def _picture(rated: Array, scored: Array, line: Line, borderline: float, cut: Figure) -> Drawing:
    ends = np.array([rated.min(), rated.max()])

    def draw(axes: Axes) -> None:
        axes.plot(rated, 100 * scored, "o", color=ACCENT, fillstyle="none")
        axes.plot(ends, 100 * (line.intercept + line.slope * ends), color=INK)
        axes.plot(
            [borderline, borderline, ends[0]],
            [0, 100 * cut.value, 100 * cut.value],
            color=SOFT,
            linestyle="--",
        )
        axes.xaxis.set_major_locator(MaxNLocator(integer=True))
        axes.set_ylim(0, 104)
        axes.set_xlabel("Rating of the whole piece")
        axes.set_ylabel("Score (%)")

    return drawing(
        "borderline-line",
        "Scores and ratings",
        f"The line through {line.n} attempts rises by {points(line.slope)} a rating and stands at "
        f"{percent(cut.value)} at the borderline rating {borderline:g}.",
        draw,
    )

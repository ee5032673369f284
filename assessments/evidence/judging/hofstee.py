"""Hofstee's compromise: whether a cut and the share that would fail are tolerable together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike

from assessments.evidence.drawings import ACCENT, INK, SHADE, SOFT, drawing
from assessments.evidence.errors import EvidenceError
from assessments.evidence.judging.ends import share_ends
from assessments.evidence.judging.given import numbers
from assessments.evidence.judging.recommendation import Recommendation
from assessments.evidence.judging.words import percent
from assessments.evidence.results import Drawing, Figure, NotComputed, Result, Section, Table
from assessments.evidence.scores import Array

_TITLE = "Sense check by Hofstee's method"
_CUT = "Where Hofstee's line meets the scores (a sense check, no recommendation)"
_SOURCE = "Hofstee 1983"
_ENOUGH = 0.95
_TINY = 1e-9


@dataclass(frozen=True, slots=True)
class _Limits:
    """What the judges can tolerate: cuts in the unit of the scores, failing as shares."""

    least_cut: float
    most_cut: float
    least_fail: float
    most_fail: float
    step: float
    shares: bool

    def cuts(self) -> Array:
        """Every cut to try, rising: step by step, and the highest."""
        steps = int(np.floor((self.most_cut - self.least_cut) / self.step + _TINY))
        found = np.round(self.least_cut + self.step * np.arange(steps + 1), 12)
        return found if found[-1] >= self.most_cut - _TINY else np.append(found, self.most_cut)

    def line(self, cuts: Array) -> Array:
        """The share that may fail, from the most at the least cut down to the least."""
        along = (cuts - self.least_cut) / (self.most_cut - self.least_cut)
        return np.asarray(self.most_fail + along * (self.least_fail - self.most_fail))

    def said(self, cut: float) -> str:
        """A cut in words."""
        return percent(cut) if self.shares else f"{cut:g}"


def hofstee(
    scores: ArrayLike,
    least_cut: float,
    most_cut: float,
    least_fail: float,
    most_fail: float,
    *,
    step: float | None = None,
    samples: int = 1000,
    seed: int = 1,
) -> Recommendation:
    """The lowest cut at which as many fail as the line of tolerance allows: a sense check only.

    ``scores``, the cuts and ``step`` are all shares from 0 to 1, or all counts (marks); failing
    is a share. F(c) is the share with score < c; the line runs from (least_cut, most_fail) to
    (most_cut, least_fail). The result is the smallest cut from ``least_cut`` in steps (one mark,
    or one percentage point, unless given) with F(c) >= line(c); its interval the percentiles of
    ``samples`` draws with replacement. Where F lies wholly above or below the line it is not
    computed, and the reason says on which side. EvidenceError for limits in the wrong order,
    shares out of range, and a step that is none.

    Hofstee 1983, in Anderson & Helmick (eds.), On Educational Testing, p. 109.

    >>> found = hofstee([0.5, 0.6, 0.7, 0.8], 0.55, 0.75, 0.0, 0.5)
    >>> round(found.cut.value, 2)
    0.61
    """
    found = numbers(scores, "scores")
    limits = _limits(found, least_cut, most_cut, least_fail, most_fail, step)
    if samples < 2:
        raise EvidenceError("samples", "Draw at least two samples.")
    cut = _cut(found, limits, samples, seed)
    section = Section(
        "hofstee",
        _TITLE,
        _summary(found, limits, cut),
        (cut, _failing(found, limits, cut)),
        (_table(found, limits),) if len(found) else (),
        (_picture(found, limits, cut),) if len(found) else (),
        ("A sense check on a cut found otherwise; by itself it is never the recommendation.",),
    )
    return Recommendation("hofstee", cut, section)


def _limits(
    scores: Array,
    least_cut: float,
    most_cut: float,
    least_fail: float,
    most_fail: float,
    step: float | None,
) -> _Limits:
    if not (np.isfinite(least_cut) and np.isfinite(most_cut) and 0 <= least_cut < most_cut):
        raise EvidenceError("least_cut", "Give a lowest cut of 0 or more, below the highest.")
    if not 0 <= least_fail < most_fail <= 1:
        raise EvidenceError(
            "least_fail", "Give shares from 0 to 1, the lowest share failing below the highest."
        )
    if len(scores) and scores.min() < 0:
        raise EvidenceError("scores", "Give scores of 0 or more.")
    counts = most_cut > 1
    if not counts and len(scores) and scores.max() > 1:
        raise EvidenceError("scores", "Give scores and cuts in one unit: shares, or counts.")
    size = step if step is not None else (1.0 if counts else 0.01)
    if not 0 < size <= most_cut - least_cut + _TINY:
        raise EvidenceError("step", "Give a step above 0 that fits between the cuts.")
    return _Limits(least_cut, most_cut, least_fail, most_fail, size, not counts)


def _below(scores: Array, cuts: Array) -> Array:
    """Scores x cuts: 1 where the score is below the cut, rounding aside."""
    return np.asarray(scores[:, None] < cuts[None, :] - _TINY, dtype=float)


def _side(failing: Array, limits: _Limits) -> int:
    """-1 below the line even at the highest cut, 1 above it even at the lowest, 0 across."""
    if failing[0] > limits.most_fail + _TINY:
        return 1
    return -1 if failing[-1] < limits.line(limits.cuts())[-1] - _TINY else 0


def _cut(scores: Array, limits: _Limits, samples: int, seed: int) -> Result:
    if not len(scores):
        return NotComputed("cut", _CUT, "There are no scores to look at.")
    cuts, line = limits.cuts(), limits.line(limits.cuts())
    below = _below(scores, cuts)
    failing = below.mean(axis=0)
    side = _side(failing, limits)
    if side:
        return NotComputed("cut", _CUT, _no_crossing(failing, limits, side))
    value = float(cuts[np.argmax(failing >= line - _TINY)])
    # Each row says how often each score is drawn.
    n = len(scores)
    draws = np.random.default_rng(seed).multinomial(n, np.full(n, 1 / n), size=samples)
    drawn = draws @ below / n
    across = (drawn[:, 0] <= limits.most_fail + _TINY) & (drawn[:, -1] >= line[-1] - _TINY)
    met = cuts[np.argmax(drawn[across] >= line - _TINY, axis=1)]
    ends: tuple[float | None, float | None] = (None, None)
    how = "none: in too many bootstrap samples the scores do not cross the line"
    if len(met) >= _ENOUGH * samples:
        ends = (float(np.quantile(met, 0.025)), float(np.quantile(met, 0.975)))
        how = f"percentiles of {len(met)} of {samples} bootstrap samples (seed {seed})"
    return Figure(
        "cut",
        _CUT,
        value,
        *ends,
        interval=how,
        n=n,
        indicative=True,
        notes=(
            f"In steps of {limits.said(limits.step)}.",
            *(() if limits.shares else ("In marks, the unit of the scores.",)),
        ),
        source=_SOURCE,
    )


def _no_crossing(failing: Array, limits: _Limits, side: int) -> str:
    if side > 0:
        return (
            f"Even at the lowest tolerable cut, {limits.said(limits.least_cut)}, "
            f"{percent(failing[0])} would not meet it, more than the {percent(limits.most_fail)} "
            "that the judges can tolerate: the scores lie above the line."
        )
    return (
        f"Even at the highest tolerable cut, {limits.said(limits.most_cut)}, only "
        f"{percent(failing[-1])} would not meet it, fewer than the "
        f"{percent(limits.least_fail)} that the judges expect: the scores lie below the line."
    )


def _failing(scores: Array, limits: _Limits, cut: Result) -> Result:
    title = "Share of these attempts that would not meet that cut"
    if isinstance(cut, NotComputed):
        return NotComputed("failing", title, "There is no cut to count by.")
    share = float(_below(scores, np.array([cut.value])).mean())
    allowed = float(limits.line(np.array([cut.value]))[0])
    return Figure(
        "failing",
        title,
        share,
        *share_ends(round(share * len(scores)), len(scores)),
        interval="Wilson's interval, the cut as given",
        n=len(scores),
        indicative=True,
        notes=(f"The line of tolerance stands at {percent(allowed)} there.",),
    )


def _summary(scores: Array, limits: _Limits, cut: Result) -> str:
    if isinstance(cut, NotComputed):
        return f"The sense check gives no cut. {cut.reason}"
    share = float(_below(scores, np.array([cut.value])).mean())
    return (
        f"What the judges can tolerate and what {len(scores)} attempts scored meet at a cut of "
        f"{limits.said(cut.value)}, which {percent(share)} would not meet. Compare this with the "
        "recommended cut; it does not replace it."
    )


def _table(scores: Array, limits: _Limits) -> Table:
    """F and the line at up to some twenty cuts between the limits."""
    cuts = limits.cuts()
    cuts = cuts[:: max(1, -(-len(cuts) // 20))]
    failing, line = _below(scores, cuts).mean(axis=0), limits.line(cuts)
    unit = "share" if limits.shares else "marks"
    return Table(
        "line",
        "What would fail and what may, cut by cut",
        (f"Cut ({unit})", "Would not meet it (share)", "Line of tolerance (share)"),
        tuple(
            (round(float(one), 9), float(two), float(three))
            for one, two, three in zip(cuts, failing, line, strict=True)
        ),
    )


def _picture(scores: Array, limits: _Limits, cut: Result) -> Drawing:
    unit = 100.0 if limits.shares else 1.0
    lowest, highest = limits.least_cut, limits.most_cut
    ends = np.unique(np.concatenate([[lowest, highest], scores]))
    # F jumps just above a score, and a step drawn "pre" stands up to its right end.
    failing = _below(scores, ends).mean(axis=0)

    def draw(axes: Axes) -> None:
        axes.fill_between(
            [unit * lowest, unit * highest],
            100 * limits.least_fail,
            100 * limits.most_fail,
            facecolor=SHADE,
            edgecolor=SOFT,
        )
        axes.step(unit * ends, 100 * failing, where="pre", color=ACCENT)
        axes.plot(
            [unit * lowest, unit * highest],
            [100 * limits.most_fail, 100 * limits.least_fail],
            color=INK,
            linestyle="--",
        )
        if isinstance(cut, Figure):
            axes.axvline(unit * cut.value, color=SOFT, linestyle=":")
        axes.set_ylim(0, 104)
        axes.set_xlabel("Cut (%)" if limits.shares else "Cut (marks)")
        axes.set_ylabel("Would not meet it (%)")

    met = f"They meet at {limits.said(cut.value)}." if isinstance(cut, Figure) else cut.reason
    return drawing(
        "hofstee-line",
        "Scores and what is tolerable",
        f"The share that would not meet a cut rises with it; the dashed line of tolerance falls "
        f"from {percent(limits.most_fail)} at {limits.said(lowest)} to "
        f"{percent(limits.least_fail)} at {limits.said(highest)}. {met}",
        draw,
    )

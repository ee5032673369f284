"""What judges are shown between rounds: every estimate, by letter and not by name."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from math import isnan

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike

from assessments.evidence.drawings import ACCENT
from assessments.evidence.errors import EvidenceError
from assessments.evidence.judging.estimates import Estimates, checked, shares
from assessments.evidence.judging.panel import far_apart
from assessments.evidence.judging.pictures import estimates_drawings
from assessments.evidence.judging.words import count, letter, listed, points
from assessments.evidence.results import Cell, Drawing, Section, Table
from assessments.evidence.scores import Array

# Between two rows, for the letters above one and below the other.
_ROOM_MM = 11.0


def spread(
    estimates: ArrayLike,
    *,
    items: Sequence[str],
    weights: ArrayLike | None = None,
    previous: ArrayLike | None = None,
    judges: Sequence[str] | None = None,
    key: str = "spread",
) -> Section:
    """The estimates of a round for its judges: by criterion, drawn, with mean and change.

    ``estimates`` is J judges x I criteria of shares from 0 to 1, nan where there is none; Ebel's
    method hands in the share of the cell that each criterion was placed in. The rows are called
    Judge A, Judge B and so on, or by the letters ``judges``: keep their order from round to
    round, and do not let it tell the names. ``weights`` are needed for the judges' cuts alone,
    and equal without. ``previous`` is the round before, in the same order. ``key`` tells the
    sections of several rounds on one page apart. Nothing is filled in; a cut needs every
    estimate.
    EvidenceError as for ``angoff``. Feedback between rounds is common practice, no source.

    >>> section = spread([[0.6, 0.8], [0.7, 0.9]], items=["Bed", "Face"])
    >>> section.tables[0].columns[-2:], section.tables[0].rows[0][-2:]
    (('Judge A', 'Judge B'), (0.6, 0.7))
    """
    held = np.array(estimates, dtype=object)
    if held.ndim == 0:
        raise EvidenceError("estimates", "Give judges x criteria.")
    letters = [letter(place) for place in range(len(held))] if judges is None else judges
    named = [f"Judge {each}" for each in letters]
    even = np.ones(len(items)) if weights is None else weights
    given = checked(estimates, even, named, items)
    before = None
    if previous is not None:
        before = Estimates(
            shares(previous, named, items, "previous"), given.weights, given.judges, given.items
        )
    return Section(
        key,
        "What the judges estimated",
        " ".join(_summary(given, before)),
        tables=(_criteria(given, before), _cuts(given, before)),
        drawings=() if np.isnan(given.values).all() else _letters(key, given),
        notes=("The letters stand for the judges. A missing estimate is never filled in.",),
    )


def _summary(given: Estimates, before: Estimates | None) -> list[str]:
    if np.isnan(given.values).all():
        return ["No judge has estimated a criterion yet."]
    said = [f"{count(len(given.judges), 'judge', 'judges').capitalize()} estimated."]
    apart = far_apart(given)
    said.append(
        f"{apart} Talk these over before the next round."
        if apart
        else "On no criterion are the judges far apart."
    )
    gone = [judge for judge, whole in zip(given.judges, given.complete, strict=True) if not whole]
    if gone:
        said.append(f"Estimates are missing from {listed(gone)}.")
    if before is not None:
        both = given.complete & before.complete
        if both.sum() >= 2:
            now, then = (float(which.cuts()[both].std(ddof=1)) for which in (given, before))
            said.append(
                f"The judges' cuts now spread by {points(now)} (SD), {points(then)} in the round "
                "before."
            )
    return said


def _criteria(given: Estimates, before: Estimates | None) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for place, item in enumerate(given.items):
        estimates = given.values[:, place]
        known = estimates[~np.isnan(estimates)]
        row: list[Cell] = [item]
        if len(known):
            row += [float(known.mean()), float(known.min()), float(known.max())]
        else:
            row += [None, None, None]
        if before is not None:
            row += [_moved(estimates, before.values[:, place])]
        rows.append((*row, *(_known(value) for value in estimates)))
    change = () if before is None else ("Change of the mean",)
    return Table(
        "criteria",
        "Estimates by criterion (shares)",
        ("Criterion", "Mean", "Lowest", "Highest", *change, *given.judges),
        tuple(rows),
    )


def _moved(now: Array, then: Array) -> float | None:
    """The mean change of the judges who estimated in both rounds."""
    change = (now - then)[~np.isnan(now - then)]
    return float(change.mean()) if len(change) else None


def _cuts(given: Estimates, before: Estimates | None) -> Table:
    cuts = given.cuts()
    rows: list[tuple[Cell, ...]] = []
    for place, judge in enumerate(given.judges):
        row: tuple[Cell, ...] = (judge, _known(cuts[place]))
        if before is not None:
            old = before.cuts()[place]
            row = (*row, _known(old), _known(cuts[place] - old))
        rows.append(row)
    columns = ("Judge", "Cut") if before is None else ("Judge", "Cut", "Round before", "Change")
    return Table("cuts", "The cut of each judge (shares)", columns, tuple(rows))


def _letters(key: str, given: Estimates) -> tuple[Drawing, ...]:
    return estimates_drawings(
        given,
        f"{key}-estimates",
        "The estimates for each criterion by judge",
        "Estimate (%); bar: mean",
        partial(_write_letters, [name.removeprefix("Judge ") for name in given.judges]),
        gap_mm=_ROOM_MM,
    )


def _write_letters(letters: Sequence[str], axes: Axes, row: float, estimates: Array) -> None:
    """Judges with the same estimate share one mark; letters stand above and below by turns."""
    known = estimates[~np.isnan(estimates)]
    for turn, value in enumerate(np.unique(known)):
        same = [name for name, one in zip(letters, estimates, strict=True) if one == value]
        axes.plot(100 * value, row, "o", color=ACCENT, fillstyle="none")
        axes.annotate(
            " ".join(same),
            (100 * value, row),
            (0, -7 if turn % 2 else 7),
            textcoords="offset points",
            ha="center",
            va="top" if turn % 2 else "bottom",
        )


def _known(value: float) -> float | None:
    return None if isnan(value) else float(value)

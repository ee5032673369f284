"""Judges' cuts and estimates as drawings: one row for each judge or criterion."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import ceil

import numpy as np
from matplotlib.axes import Axes

from assessments.evidence.drawings import ACCENT, INK, SHADE, SOFT, drawing, label
from assessments.evidence.judging.centre import Centre
from assessments.evidence.judging.estimates import Estimates
from assessments.evidence.judging.words import percent
from assessments.evidence.results import Drawing
from assessments.evidence.scores import Array

_LINE_MM = 5.5
_GAP_MM = 4.0
_FRAME_MM = 26.0
_SHEET_MM = 190.0


def cuts_drawing(key: str, given: Estimates, found: Centre) -> Drawing:
    """The cut of each judge without a gap, and the panel's with its interval."""
    names = [name for name, whole in zip(given.judges, given.complete, strict=True) if whole]
    cuts = given.cuts()[given.complete]
    band = found.band or 0.0

    def draw(axes: Axes) -> None:
        low, high = max(found.value - band, 0.0), min(found.value + band, 1.0)
        axes.axvspan(100 * low, 100 * high, facecolor=SHADE, edgecolor=SOFT, linestyle=":")
        axes.axvline(100 * found.value, color=INK, linestyle="--")
        axes.plot(100 * cuts, _rows(axes, names), "o", color=ACCENT)
        axes.set_xlabel("Cut (%); dashed: panel")
        axes.margins(x=0.1)

    each = "; ".join(f"{name} {percent(cut)}" for name, cut in zip(names, cuts, strict=True))
    words = f"The cut of each judge: {each}. The panel: {percent(found.value)}."
    return drawing(key, "The judges' cuts", words, draw, height_mm=_height(names))


def criteria_drawings(key: str, given: Estimates) -> tuple[Drawing, ...]:
    """Every estimate for each criterion, from the lowest to the highest, and the mean."""

    def one(axes: Axes, row: float, estimates: Array) -> None:
        known = estimates[~np.isnan(estimates)]
        axes.plot(100 * known, np.full(len(known), row), "o", color=ACCENT, fillstyle="none")

    return estimates_drawings(
        given,
        key,
        "The estimates for each criterion",
        "Estimate (%); bar: mean",
        one,
    )


def estimates_drawings(
    given: Estimates,
    key: str,
    title: str,
    axis: str,
    one: Callable[[Axes, float, Array], None],
    gap_mm: float = _GAP_MM,
) -> tuple[Drawing, ...]:
    """A row for each criterion; ``one`` draws its estimates, ``gap_mm`` apart from the next.

    As many drawings as it takes for each to fit on a page, filled evenly and on one scale.
    """
    # Whole tens, and room for the marks on the edge.
    low, high = np.nanmin(given.values), np.nanmax(given.values)
    ends = (100 * np.floor(10 * low) / 10 - 2, 100 * np.ceil(10 * high) / 10 + 2)
    sheets = ceil((_height(given.items, gap_mm) - _FRAME_MM) / (_SHEET_MM - _FRAME_MM))
    found = []
    for number, places in enumerate(np.array_split(np.arange(len(given.items)), sheets), start=1):
        names = [given.items[place] for place in places]
        columns = given.values.T[places]
        part = f" ({number} of {sheets})" if sheets > 1 else ""
        words = " ".join(map(_words, names, columns))
        found.append(
            drawing(
                key if number == 1 else f"{key}-{number}",
                title + part,
                words,
                partial(_draw_estimates, names, columns, axis, ends, one, gap_mm),
                height_mm=_height(names, gap_mm),
            )
        )
    return tuple(found)


def _draw_estimates(
    names: Sequence[str],
    columns: Array,
    axis: str,
    ends: tuple[float, float],
    one: Callable[[Axes, float, Array], None],
    gap_mm: float,
    axes: Axes,
) -> None:
    for row, estimates in zip(_rows(axes, names, gap_mm), columns, strict=True):
        known = 100 * estimates[~np.isnan(estimates)]
        if len(known):
            axes.plot([known.min(), known.max()], [row, row], color=SOFT, linewidth=0.8)
            axes.plot(known.mean(), row, "|", color=INK, markersize=14)
            one(axes, row, estimates)
    axes.set_xlim(*ends)
    axes.set_xlabel(axis)


def _words(item: str, estimates: Array) -> str:
    known = estimates[~np.isnan(estimates)]
    if not len(known):
        return f"{item}: no estimate."
    return (
        f"{item}: {percent(known.min())} to {percent(known.max())}, mean {percent(known.mean())}."
    )


def _rows(axes: Axes, names: Sequence[str], gap_mm: float = _GAP_MM) -> list[float]:
    """Name the rows, the first on top; their heights on the axis, in lines of text."""
    tops: list[float] = []
    used = 0.0
    for name in names:
        high = _lines(name) * _LINE_MM + gap_mm
        tops.append(used + high / 2)
        used += high
    axes.set_ylim(used, 0)
    axes.set_yticks(tops, [label(name) for name in names])
    axes.tick_params(axis="y", length=0)
    axes.grid(axis="x")
    axes.set_axisbelow(True)
    return tops


def _height(names: Sequence[str], gap_mm: float = _GAP_MM) -> float:
    return _FRAME_MM + sum(_lines(name) * _LINE_MM + gap_mm for name in names)


def _lines(name: str) -> int:
    return label(name).count("\n") + 1

"""Lines, bars of counts, and points with a fitted line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from assessments.evidence.drawings.drawing import drawing
from assessments.evidence.drawings.style import ACCENT, INK, LINE_STYLES, MARKERS, SHADE, label
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Drawing

LETTERS = 40


@dataclass(frozen=True, slots=True)
class Series:
    """Points that belong together, joined in their order; x and y are of one length."""

    title: str
    x: Sequence[float]
    y: Sequence[float]


@dataclass(frozen=True, slots=True)
class Mark:
    """A value to be seen, with its words: an upright line, or a level one if ``level``."""

    title: str
    value: float
    level: bool = False


def lines(
    key: str,
    title: str,
    alternative: str,
    series: Sequence[Series],
    *,
    x_label: str,
    y_label: str,
    marks: Sequence[Mark] = (),
    y_limits: tuple[float, float] | None = None,
    height_mm: float = 90,
) -> Drawing:
    """Each series with its own marker and manner of line; marks and series in the key above.

    EvidenceError when a series has no points, or x and y differ in length.
    """
    for number, one in enumerate(series):
        _same_length(f"series[{number}]", one.x, one.y)

    def draw(axes: Axes) -> None:
        for number, one in enumerate(series):
            axes.plot(
                one.x,
                one.y,
                linestyle=LINE_STYLES[number % len(LINE_STYLES)],
                marker=MARKERS[number % len(MARKERS)],
                color=ACCENT if number == 0 else INK,
                markersize=6,
                label=label(one.title, LETTERS),
            )
        if all(float(x).is_integer() for one in series for x in one.x):
            axes.xaxis.set_major_locator(MaxNLocator(integer=True))
        if y_limits is not None:
            axes.set_ylim(*y_limits)
        _finish(axes, x_label, y_label, marks, key_for=len(series) > 1)

    return drawing(key, title, alternative, draw, height_mm=height_mm)


def histogram(
    key: str,
    title: str,
    alternative: str,
    values: Sequence[float],
    *,
    edges: Sequence[float],
    x_label: str,
    y_label: str = "Trainees",
    marks: Sequence[Mark] = (),
    height_mm: float = 80,
) -> Drawing:
    """How many values lie between each two edges; the last interval holds its upper edge.

    EvidenceError when there are no values, or the edges do not rise.
    """
    if len(values) == 0:
        raise EvidenceError("values", "A drawing needs at least one value.")
    if len(edges) < 2 or any(b <= a for a, b in pairwise(edges)):
        raise EvidenceError("edges", "Two edges or more, rising, are needed.")

    def draw(axes: Axes) -> None:
        axes.hist(values, bins=list(edges), facecolor=SHADE, edgecolor=INK, linewidth=0.9)
        axes.yaxis.set_major_locator(MaxNLocator(integer=True, nbins=5))
        _finish(axes, x_label, y_label, marks, key_for=False)

    return drawing(key, title, alternative, draw, height_mm=height_mm)


def scatter(
    key: str,
    title: str,
    alternative: str,
    x: Sequence[float],
    y: Sequence[float],
    *,
    x_label: str,
    y_label: str,
    fitted: tuple[float, float] | None = None,
    marks: Sequence[Mark] = (),
    height_mm: float = 100,
) -> Drawing:
    """A ring for each pair; ``fitted`` is the intercept and the slope of a line through them.

    EvidenceError when there are no points, or x and y differ in length.
    """
    _same_length("x", x, y)

    def draw(axes: Axes) -> None:
        axes.plot(x, y, "o", markerfacecolor="none", markeredgecolor=INK, markersize=7)
        if fitted is not None:
            ends = [min(x), max(x)]
            intercept, slope = fitted
            fit = [intercept + slope * end for end in ends]
            axes.plot(ends, fit, "-", color=ACCENT, linewidth=1.8, label="Fitted line")
        _finish(axes, x_label, y_label, marks, key_for=fitted is not None)

    return drawing(key, title, alternative, draw, height_mm=height_mm)


def _same_length(path: str, x: Sequence[float], y: Sequence[float]) -> None:
    if len(x) == 0 or len(x) != len(y):
        raise EvidenceError(path, "As many x as y are needed, and at least one of each.")


def _finish(
    axes: Axes, x_label: str, y_label: str, marks: Sequence[Mark], *, key_for: bool
) -> None:
    """Marks, titles of the axes, and the key above the drawing, where nothing is covered."""
    for number, mark in enumerate(marks):
        put = axes.axhline if mark.level else axes.axvline
        style = LINE_STYLES[-1 - number % len(LINE_STYLES)]
        put(mark.value, color=INK, linestyle=style, label=label(mark.title, LETTERS))
    axes.set_xlabel(x_label)
    axes.set_ylabel(y_label)
    if key_for or marks:
        axes.legend(loc="lower left", bbox_to_anchor=(0, 1), borderaxespad=0.2, handlelength=3)

"""A dot with its interval for each criterion, under the criterion's title."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from matplotlib.axes import Axes

from assessments.evidence.drawings.drawing import drawing
from assessments.evidence.drawings.style import ACCENT, HAIR, INK, SOFT, TEXT_SHARE, label
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Drawing

WIDTH_MM = 150.0
# A line of text with the space to the next; what the axis and its title take below the rows.
LINE_MM = TEXT_SHARE * WIDTH_MM * 1.25 * 25.4 / 72
FOOT_MM = 18.0
# What fits on a page of a document, beside its head and foot.
SHEET_MM = 190.0
LETTERS = 44


@dataclass(frozen=True, slots=True)
class Dot:
    """A row: its title, the value with its interval, or why there is none."""

    title: str
    value: float | None
    low: float | None = None
    high: float | None = None
    reason: str = ""


def dots(
    key: str,
    title: str,
    alternative: str,
    rows: Sequence[Dot],
    *,
    axis: str,
    limits: tuple[float, float] = (0.0, 1.0),
    reference: float | None = None,
) -> tuple[Drawing, ...]:
    """Rows from the top down, in as many drawings as it takes for each to fit on a page.

    Titles stand above their dots, whole, so that the axis keeps the width of a telephone.
    ``limits`` are the ends of the axis; ``reference`` is a value to compare with, a broken line
    across all rows. EvidenceError when there are no rows.

    >>> one = [Dot("Face flush with the stone", 0.8, 0.5, 0.9)]
    >>> [drawing.key for drawing in dots("met", "Met", "Words.", one, axis="Share")]
    ['met']
    """
    if not rows:
        raise EvidenceError("rows", "A drawing needs at least one row.")
    sheets = _sheets(rows)
    found = []
    for number, sheet in enumerate(sheets, start=1):
        part = f" ({number} of {len(sheets)})" if len(sheets) > 1 else ""
        draw = partial(_draw, rows=sheet, axis=axis, limits=limits, reference=reference)
        found.append(
            drawing(
                key if number == 1 else f"{key}-{number}",
                title + part,
                alternative + part,
                draw,
                width_mm=WIDTH_MM,
                height_mm=sum(map(_lines, sheet)) * LINE_MM + FOOT_MM,
            )
        )
    return tuple(found)


def _sheets(rows: Sequence[Dot]) -> list[list[Dot]]:
    """The rows on as few sheets as they fit on, and these filled evenly."""
    fewest = _filled(rows, SHEET_MM - FOOT_MM)
    room = sum(map(_lines, rows)) * LINE_MM / len(fewest)
    while room < SHEET_MM - FOOT_MM:
        found = _filled(rows, room)
        if len(found) == len(fewest):
            return found
        room += LINE_MM
    return fewest


def _filled(rows: Sequence[Dot], room: float) -> list[list[Dot]]:
    """The rows on sheets with ``room`` millimetres for them, each as full as can be."""
    sheets: list[list[Dot]] = []
    left = 0.0
    for row in rows:
        needed = _lines(row) * LINE_MM
        # What is left is a difference of sums: half a hair more or less is the same.
        if not sheets or left < needed - 0.01:
            sheets.append([])
            left = room
        sheets[-1].append(row)
        left -= needed
    return sheets


def _lines(row: Dot) -> float:
    """The height of a row in lines of text: its title, its dot, and space."""
    return len(label(row.title, LETTERS).split("\n")) + 1.1


class _Path:
    """Strokes after each other, nan between them."""

    def __init__(self) -> None:
        self.x: list[float] = []
        self.y: list[float] = []

    def add(self, *points: tuple[float, float]) -> None:
        self.x += [*(x for x, _ in points), float("nan")]
        self.y += [*(y for _, y in points), float("nan")]


def _draw(
    axes: Axes,
    rows: Sequence[Dot],
    axis: str,
    limits: tuple[float, float],
    reference: float | None,
) -> None:
    low, high = limits
    top = 0.0
    ground, bars, ends, points = _Path(), _Path(), _Path(), _Path()
    for row in rows:
        text = label(row.title, LETTERS)
        axes.text(low, -top, text, va="top", ha="left", linespacing=1.2)
        y = -top - len(text.split("\n")) - 0.45
        top += _lines(row)
        if row.value is None:
            axes.text(low, y, row.reason or "not computed", va="center", color=SOFT, style="italic")
            continue
        ground.add((low, y), (high, y))
        points.add((row.value, y))
        if row.low is not None and row.high is not None:
            bars.add((row.low, y), (row.high, y))
            for end in (row.low, row.high):
                ends.add((end, y - 0.2), (end, y + 0.2))
    # One line for all rows: a line for each takes matplotlib several times as long.
    axes.plot(ground.x, ground.y, color=HAIR, linewidth=0.6, zorder=1)
    axes.plot(bars.x, bars.y, color=ACCENT, linewidth=2.2, zorder=2)
    axes.plot(ends.x, ends.y, color=ACCENT, linewidth=1.4, zorder=2)
    axes.plot(points.x, points.y, "o", color=INK, markersize=7, zorder=3, clip_on=False)
    if reference is not None:
        axes.axvline(reference, color=INK, linestyle=":", linewidth=1.2, zorder=1)
    margin = 0.02 * (high - low)
    axes.set_xlim(low - margin, high + margin)
    axes.set_ylim(-top, 0.1)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(axis)

"""An outcome in time as a small drawing: what was reached, and the standard's minimum as a line.

It carries its looks in attributes and takes its colour from the text around it. Practice pieces
are rings and attempts are squares. What it shows stands in words beside it, so it is hidden from
those who hear the page.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

SIDE, TOP = 8.0, 8.0


@dataclass(frozen=True)
class Spot:
    """A share from 0 to 1; ``attempt``: of an attempt, not of a practice piece."""

    share: Fraction
    attempt: bool


def progress_svg(
    spots: Sequence[Spot], minimum: Fraction | None, *, width: int = 150, height: int = 64
) -> str:
    """Return the SVG of shares in the order of time, evenly apart; the top is all, the foot none.

    >>> "path" in progress_svg([Spot(Fraction(1, 2), False)], None)
    True
    """
    foot = height - TOP
    span = foot - TOP

    def level(share: Fraction) -> float:
        return foot - span * float(share)

    parts = [_line(0, foot, width, "")]
    if minimum is not None:
        parts.append(_line(0, level(minimum), width, ' stroke-dasharray="5 4" stroke-width="1.5"'))
    places = [
        (_across(index, len(spots), width), level(spot.share), spot.attempt)
        for index, spot in enumerate(spots)
    ]
    if len(places) > 1:
        joined = "L".join(f"{_short(x)} {_short(y)}" for x, y, _ in places)
        parts.append(f'<path d="M{joined}" stroke-width="1.5"/>')
    parts += [_mark(x, y, attempt) for x, y, attempt in places]
    return (
        f'<svg class="progress-line" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" aria-hidden="true" focusable="false" fill="none" '
        f'stroke="currentColor">{"".join(parts)}</svg>'
    )


def _across(index: int, count: int, width: int) -> float:
    """The place of a point from the left: one alone stands in the middle."""
    if count == 1:
        return width / 2
    return SIDE + (width - 2 * SIDE) * index / (count - 1)


def _line(x: float, y: float, width: float, looks: str) -> str:
    return f'<path d="M{_short(x)} {_short(y)}h{_short(width)}"{looks}/>'


def _mark(x: float, y: float, attempt: bool) -> str:
    if attempt:
        return f'<path d="M{_short(x - 4)} {_short(y - 4)}h8v8h-8z" fill="currentColor"/>'
    return f'<circle cx="{_short(x)}" cy="{_short(y)}" r="4" fill="#fff" stroke-width="1.5"/>'


def _short(value: float) -> str:
    """A number for the drawing, in no language: a decimal point, and no more than it needs."""
    return f"{value:.1f}".removesuffix(".0")

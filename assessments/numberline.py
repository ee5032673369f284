"""A measured criterion drawn as a number line, for a page or a PDF.

The drawing carries all its looks in attributes, so that it needs no stylesheet, and tells what it
shows by shape, hatching and words: black on white is enough. Its numbers are for the eye only;
the engine has decided before, exactly.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from assessments.engine.numbers import Exact, exact
from assessments.engine.quantities import format_quantity

TEXT = 15  # height of the letters, in the drawing's own units
CHARACTER = 8.2  # how wide a letter is, reckoned amply
SIDE = 4.0
BAND = 22.0
DOT = 5.5
MOST_ROWS = 6  # dots stacked higher than this lie over each other
NAMES = {"mean": "Mean", "largest": "Largest", "smallest": "Smallest", "spread": "Spread"}
WORDS = {"met": "met", "not_met": "not met", "within_guard_band": "within the guard band"}


@dataclass(frozen=True, slots=True)
class Line:
    """Limits, width of the guard band, readings, and the values that the limits are for."""

    unit: str
    lower: Exact | None
    upper: Exact | None
    guard: Exact
    readings: Sequence[Exact]
    values: Sequence[Exact]
    statistic: str
    result: str

    def show(self, value: Exact) -> str:
        """A value with its unit, as the engine writes it."""
        return format_quantity(value, self.unit)

    @property
    def drawn(self) -> Sequence[Exact]:
        """The readings that belong on the line: a spread is not on the scale of its readings."""
        return () if self.statistic == "spread" else self.readings

    @property
    def name(self) -> str:
        """What the limits are held against, such as ``Mean 13/64 in``."""
        shown = " to ".join(self.show(each) for each in self.values)
        if self.statistic == "each":
            return f"Readings {shown}" if len(self.readings) > 1 else f"Reading {shown}"
        return f"{NAMES[self.statistic]} {shown}"


@dataclass(frozen=True, slots=True)
class Scale:
    """What the left and the right end of the line stand for."""

    low: float
    high: float
    width: int

    def x(self, value: Exact | float) -> float:
        """The place of a value, in the drawing's units from the left."""
        inner = self.width - 2 * (SIDE + DOT)
        return SIDE + DOT + inner * (float(value) - self.low) / (self.high - self.low)


def number_line_svg(figures: Mapping[str, Any], *, title: str, width: int = 480) -> str:
    """Return the SVG of a measured criterion: limits, guard band, readings and their statistic.

    ``figures`` as ``assessments.engine.numberline.figures`` gives them; every number an exact JSON
    text in ``unit``. ``width`` is that of the view box, against letters of 15: a smaller one makes
    the letters larger beside the line. Raises EngineError for a number that is not exact.
    """
    line = _read(figures)
    scale = _scale(line, width)
    labels, top = _limit_labels(line, scale)
    places, height = _stacked(line.drawn, scale)
    band = top + height + 4
    parts = [*labels, *_band(line, scale, top, band)]
    parts += [
        f'<circle cx="{x:.1f}" cy="{band - 3 - y:.1f}" r="{DOT}" fill="#fff" stroke="#000" '
        'stroke-width="2"/>'
        for x, y in places
    ]
    values, below = _values(line, scale, band + BAND)
    legend, bottom = _legend(line, width, below)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {bottom:.0f}" '
        f'width="{width}" height="{bottom:.0f}" role="img" font-family="sans-serif" '
        f'font-size="{TEXT}" fill="#000"><title>{escape(title)}</title>'
        f"<desc>{escape(_describe(line))}</desc>"
        f'<rect width="{width}" height="{bottom:.0f}" fill="#fff"/>'
        f"{''.join([*parts, *values, *legend])}</svg>"
    )


def _read(figures: Mapping[str, Any]) -> Line:
    def number(name: str) -> Exact | None:
        return None if figures[name] is None else exact(figures[name])

    return Line(
        unit=figures["unit"],
        lower=number("lower"),
        upper=number("upper"),
        guard=number("guard_band") or 0,
        readings=[exact(each) for each in figures["readings"]],
        values=[exact(each) for each in figures["values"]],
        statistic=figures["statistic"],
        result=figures["result"],
    )


def _describe(line: Line) -> str:
    """What the drawing shows, for who cannot see it."""
    says = [
        f"{name} limit {line.show(end)}."
        for name, end in (("Lower", line.lower), ("Upper", line.upper))
        if end is not None
    ]
    if line.guard:
        says.append(f"Guard band {line.show(line.guard)}, inside the limits.")
    readings = ", ".join(line.show(each) for each in line.readings)
    says.append(f"Readings: {readings}." if readings else "No readings yet.")
    if line.values:
        says.append(f"{line.name}: {WORDS[line.result]}.")
    return " ".join(says)


def _scale(line: Line, width: int) -> Scale:
    """The limits with room on both sides, and every reading."""
    marks = [float(each) for each in (*line.drawn, *line.values)]
    ends = [float(end) for end in (line.lower, line.upper) if end is not None]
    far = max((abs(mark - end) for mark in marks for end in ends), default=0.0)
    room = max(far, 4 * float(line.guard))
    if len(ends) == 2 and ends[1] > ends[0]:
        pad = 0.35 * (ends[1] - ends[0])
        low, high = ends[0] - pad, ends[1] + pad
    else:
        room = room or abs(ends[0]) or 1.0
        inside, outside = 1.3 * room, 0.6 * room
        low = ends[0] - (outside if line.lower is not None else inside)
        high = ends[0] + (outside if line.upper is not None else inside)
        if min([*marks, *ends]) >= 0:
            low = max(low, 0.0)
    low, high = min([low, *marks]), max([high, *marks])
    return Scale(low, high, width)


def _text(x: float, y: float, words: str, *, anchor: str = "middle", weight: int = 400) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-weight="{weight}">'
        f"{escape(words)}</text>"
    )


def _within(x: float, words: str, width: float) -> float:
    """The middle of a text at x, moved so far that the text stays in the drawing."""
    half = min(CHARACTER * len(words), width - 2 * SIDE) / 2
    return min(max(x, SIDE + half), width - SIDE - half)


def _limit_labels(line: Line, scale: Scale) -> tuple[list[str], float]:
    """The labels of the limits, on two rows where they would touch, and where they end."""
    labels = [
        (end, f"{name} {line.show(end)}")
        for name, end in (("min", line.lower), ("max", line.upper))
        if end is not None
    ]
    if line.lower is not None and line.lower == line.upper:
        labels = [(line.lower, f"exactly {line.show(line.lower)}")]
    middles = [_within(scale.x(end), words, scale.width) for end, words in labels]
    room = CHARACTER * sum(len(words) for _, words in labels) / 2 + 10
    rows = 2 if len(labels) == 2 and middles[1] - middles[0] < room else 1
    parts = [
        _text(middle, TEXT + (TEXT + 4) * (index if rows == 2 else 0), words)
        for index, (middle, (_, words)) in enumerate(zip(middles, labels, strict=True))
    ]
    return parts, float(TEXT + 6 + (rows - 1) * (TEXT + 4))


def _stacked(readings: Iterable[Exact], scale: Scale) -> tuple[list[tuple[float, float]], float]:
    """The place of each dot, from the band upward, equal readings on top of each other."""
    places: list[tuple[float, float]] = []
    step = 2 * DOT + 2
    for x in (scale.x(each) for each in readings):
        row = 0
        while row < MOST_ROWS - 1 and any(
            abs(x - other) < step and y == DOT + row * step for other, y in places
        ):
            row += 1
        places.append((x, DOT + row * step))
    return places, max((y + DOT for _, y in places), default=0.0) + 4


def _band(line: Line, scale: Scale, top: float, band: float) -> list[str]:
    """The line, what is allowed on it, the guard band inside that, and a stroke at each limit."""
    left = scale.x(line.lower) if line.lower is not None else 0.0
    right = scale.x(line.upper) if line.upper is not None else float(scale.width)
    guard = scale.x(scale.low + float(line.guard)) - scale.x(scale.low)
    met_left = min(left + guard, right) if line.lower is not None else left
    met_right = max(right - guard, left) if line.upper is not None else right
    middle = band + BAND / 2
    parts = [f'<path d="M0 {middle:.1f}H{scale.width}" stroke="#000" stroke-width="1.5"/>']
    parts.append(_box(left, right, band, "#fff"))
    if met_right > met_left:
        parts.append(_box(met_left, met_right, band, "#d9d9d9"))
        hatched = [(left, met_left), (met_right, right)]
        if met_right - met_left > CHARACTER * 4:
            parts.append(_text((met_left + met_right) / 2, middle + TEXT * 0.36, "met"))
    else:
        hatched = [(left, right)]
    for start, end in hatched:
        parts += _hatching(start, end, band, BAND)
    parts.append(
        f'<path d="M{left:.1f} {band:.1f}H{right:.1f}M{left:.1f} {band + BAND:.1f}H{right:.1f}" '
        'stroke="#000" stroke-width="1.5"/>'
    )
    parts += [
        f'<path d="M{scale.x(end):.1f} {top - 2:.1f}V{band + BAND + 4:.1f}" stroke="#000" '
        'stroke-width="3"/>'
        for end in (line.lower, line.upper)
        if end is not None
    ]
    return parts


def _box(left: float, right: float, top: float, fill: str) -> str:
    width = max(right - left, 0)
    return f'<rect x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="{BAND}" fill="{fill}"/>'


def _hatching(left: float, right: float, top: float, height: float) -> list[str]:
    """Slanting strokes cut off at the sides: a pattern would need a name unique to the page."""
    strokes = []
    start = left - height + 4
    while start < right:
        # The stroke rises from (start, bottom) to (start + height, top).
        a, b = max(start, left), min(start + height, right)
        if b > a:
            strokes.append(f"M{a:.1f} {top + height - (a - start):.1f}L{b:.1f} "
                           f"{top + height - (b - start):.1f}")  # fmt: skip
        start += 5.5
    return [f'<path d="{"".join(strokes)}" stroke="#000" stroke-width="1.3"/>'] if strokes else []


def _values(line: Line, scale: Scale, top: float) -> tuple[list[str], float]:
    """A pointer at each value that the limits are for, and what it came to; where that ends."""
    if not line.values:
        return [], top + 8
    places = [scale.x(each) for each in line.values]
    parts = [
        f'<path d="M{x:.1f} {top + 2:.1f}l7 13h-14z" fill="#000"/>' for x in places
    ]
    word = WORDS[line.result]
    whole = f"{line.name}: {word}"
    fits = CHARACTER * len(whole) <= scale.width - 2 * SIDE
    y = top + 15 + TEXT + 1
    for words in [whole] if fits else [f"{line.name}:", word]:
        middle = _within(sum(places) / len(places), words, scale.width)
        parts.append(_text(middle, y, words, weight=700))
        y += TEXT + 4
    return parts, y - TEXT


def _legend(line: Line, width: int, top: float) -> tuple[list[str], float]:
    """What the dots and the hatching mean; a row each where they do not fit on one."""
    entries: list[tuple[str, bool]] = []
    if line.drawn:
        entries.append(("reading", False))
    if line.guard:
        entries.append((f"guard band {line.show(line.guard)}", True))
    parts: list[str] = []
    x, y = SIDE, top + TEXT + 5
    for words, hatched in entries:
        length = 22 + CHARACTER * len(words)
        if x > SIDE and x + length > width:
            x, y = SIDE, y + TEXT + 4
        if hatched:
            parts += _hatching(x, x + 16, y - 11, 12)
            parts.append(f'<rect x="{x}" y="{y - 11:.1f}" width="16" height="12" fill="none" '
                         'stroke="#000"/>')  # fmt: skip
        else:
            parts.append(f'<circle cx="{x + 7}" cy="{y - 5:.1f}" r="{DOT}" fill="#fff" '
                         'stroke="#000" stroke-width="2"/>')  # fmt: skip
        parts.append(_text(x + 22, y, words, anchor="start"))
        x += length + 14
    return parts, (y + 6 if entries else top + 6)

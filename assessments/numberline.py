"""A measured criterion drawn as a number line, for a page or a PDF.

The drawing carries all its looks in attributes, so that it needs no stylesheet, and tells what it
shows by shape, hatching and words: black on white is enough. Its numbers are for the eye only;
the engine has decided before, exactly.

Without a ``Speech`` it speaks English and shows figures as they were taken, whoever is active:
records are made so, rebuilt and compared.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape
from typing import Any

from django.utils.translation import gettext_noop

TEXT = 15  # height of the letters, in the drawing's own units
CHARACTER = 8.2  # how wide a letter is, reckoned amply
SIDE = 4.0
BAND = 22.0
DOT = 5.5
MOST_ROWS = 6  # dots stacked higher than this lie over each other
NAMES = {
    "mean": gettext_noop("Mean {figure}"),
    "largest": gettext_noop("Largest {figure}"),
    "smallest": gettext_noop("Smallest {figure}"),
    "spread": gettext_noop("Spread {figure}"),
}
SEVERAL, ONE = gettext_noop("Readings {figure}"), gettext_noop("Reading {figure}")
WORDS = {
    "met": gettext_noop("met"),
    "not_met": gettext_noop("not met"),
    "within_guard_band": gettext_noop("within the guard band"),
    "missing": gettext_noop("readings missing"),
}
LIMITS = {"lower": gettext_noop("min {figure}"), "upper": gettext_noop("max {figure}")}
EXACTLY = gettext_noop("exactly {figure}")
RANGE = gettext_noop("{low} to {high}")
LEGEND = {"reading": gettext_noop("reading"), "guard_band": gettext_noop("guard band")}
DESCRIBED = {
    "lower": gettext_noop("Lower limit {figure}."),
    "upper": gettext_noop("Upper limit {figure}."),
    "guard_lower": gettext_noop("Guard band up to {figure}."),
    "guard_upper": gettext_noop("Guard band from {figure}."),
}
READINGS, NO_READINGS = gettext_noop("Readings: {figures}."), gettext_noop("No readings yet.")


Mark = Mapping[str, Any]
"""One place on the line: ``exact``, ``text`` to show, ``position`` from 0 to 1."""


@dataclass(frozen=True, slots=True)
class Speech:
    """How a drawing speaks: ``word`` gives the words for English ones, ``figure`` a mark's label.

    ``figure`` is asked with the mark and the unit that its ``exact`` is in.
    """

    word: Callable[[str], str]
    figure: Callable[[Mark, str], str]


PLAIN = Speech(word=str, figure=lambda mark, unit: str(mark["text"]))


@dataclass(frozen=True, slots=True)
class Drawing:
    """The engine's figures on a line of ``width``."""

    figures: Mapping[str, Any]
    width: int
    speech: Speech = PLAIN

    def shown(self, mark: Mark) -> str:
        """The label of a mark."""
        return self.speech.figure(mark, self.figures["unit"])

    def say(self, words: str, **figures: str) -> str:
        """A text with its figures in it, as the reader wants it."""
        return self.speech.word(words).format(**figures)

    def x(self, mark: Mark) -> float:
        """The place of a mark, in the drawing's units from the left."""
        return SIDE + DOT + (self.width - 2 * (SIDE + DOT)) * float(mark["position"])

    @property
    def limits(self) -> list[Mark]:
        """The lower and the upper limit, as far as there are any."""
        return [mark for mark in (self.figures["lower"], self.figures["upper"]) if mark]

    @property
    def exactly(self) -> bool:
        """Whether both limits are the same."""
        return len(self.limits) == 2 and self.limits[0]["exact"] == self.limits[1]["exact"]

    @property
    def guarded(self) -> bool:
        """Whether there is a guard band."""
        return bool(self.figures["guard_lower"] or self.figures["guard_upper"])

    @property
    def says(self) -> list[str]:
        """What the limits are held against, such as ``Mean 13/64 in``, and what it came to."""
        if not self.figures["values"]:
            return []
        shown = [self.shown(mark) for mark in self.figures["values"]]
        figure = shown[0] if len(shown) == 1 else self.say(RANGE, low=shown[0], high=shown[-1])
        several = SEVERAL if len(self.figures["readings"]) > 1 else ONE
        name = self.say(NAMES.get(self.figures["statistic"], several), figure=figure)
        result = self.figures.get("result")
        return [f"{name}:", self.say(WORDS[result])] if result else [name]


def number_line_svg(
    figures: Mapping[str, Any], *, title: str, width: int = 480, speech: Speech = PLAIN
) -> str:
    """Return the SVG of a measured criterion: limits, guard band, readings and their statistic.

    ``figures`` are those of ``assessments.engine.numberline.figures``, to which the caller may
    add the criterion's ``result``. ``width`` is that of the view box, against letters of 15:
    a smaller one makes the letters larger beside the line. Places are never written in the manner
    of a language: only what ``speech`` gives is.
    """
    drawing = Drawing(figures, width, speech)
    labels, top = _limit_labels(drawing)
    places, height = _stacked(drawing)
    band = top + height + 4
    parts = [*labels, *_band(drawing, top, band)]
    parts += [_dot(x, band - 3 - y) for x, y in places]
    values, below = _values(drawing, band + BAND)
    legend, bottom = _legend(drawing, below)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {bottom:.0f}" '
        f'width="{width}" height="{bottom:.0f}" role="img" font-family="sans-serif" '
        f'font-size="{TEXT}" fill="#000"><title>{escape(title)}</title>'
        f"<desc>{escape(_describe(drawing))}</desc>"
        f'<rect width="{width}" height="{bottom:.0f}" fill="#fff"/>'
        f"{''.join([*parts, *values, *legend])}</svg>"
    )


def described(figures: Mapping[str, Any], speech: Speech = PLAIN) -> str:
    """Return in words what the drawing of ``figures`` shows."""
    return _describe(Drawing(figures, 0, speech))


def _describe(drawing: Drawing) -> str:
    """What the drawing shows, for who cannot see it."""
    figures = drawing.figures
    says = [
        drawing.say(words, figure=drawing.shown(figures[name]))
        for name, words in DESCRIBED.items()
        if figures[name]
    ]
    if figures["readings"]:
        shown = ", ".join(drawing.shown(mark) for mark in figures["readings"])
        says.append(drawing.say(READINGS, figures=shown))
    if not figures["values"]:
        return " ".join([*says, drawing.say(NO_READINGS)])
    return " ".join([*says, *drawing.says]) + "."


def _text(x: float, y: float, words: str, *, anchor: str = "middle", weight: int = 400) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-weight="{weight}">'
        f"{escape(words)}</text>"
    )


def _within(x: float, words: str, width: float) -> float:
    """The middle of a text at x, moved so far that the text stays in the drawing."""
    half = min(CHARACTER * len(words), width - 2 * SIDE) / 2
    return min(max(x, SIDE + half), width - SIDE - half)


def _limit_labels(drawing: Drawing) -> tuple[list[str], float]:
    """The labels of the limits, on two rows where they would touch, and where they end."""
    labels = [
        (drawing.x(mark), drawing.say(words, figure=drawing.shown(mark)))
        for name, words in LIMITS.items()
        if (mark := drawing.figures[name])
    ]
    if drawing.exactly:
        labels = [(labels[0][0], drawing.say(EXACTLY, figure=drawing.shown(drawing.limits[0])))]
    middles = [_within(x, words, drawing.width) for x, words in labels]
    room = CHARACTER * sum(len(words) for _, words in labels) / 2 + 10
    rows = 2 if len(labels) == 2 and middles[1] - middles[0] < room else 1
    parts = [
        _text(middle, TEXT + (TEXT + 4) * (index if rows == 2 else 0), words)
        for index, (middle, (_, words)) in enumerate(zip(middles, labels, strict=True))
    ]
    return parts, float(TEXT + 6 + (rows - 1) * (TEXT + 4))


def _stacked(drawing: Drawing) -> tuple[list[tuple[float, float]], float]:
    """The place of each dot, from the band upward, equal readings on top of each other."""
    places: list[tuple[float, float]] = []
    step = 2 * DOT + 2
    for x in map(drawing.x, drawing.figures["readings"]):
        row = 0
        while row < MOST_ROWS - 1 and any(
            abs(x - other) < step and y == DOT + row * step for other, y in places
        ):
            row += 1
        places.append((x, DOT + row * step))
    return places, max((y + DOT for _, y in places), default=0.0) + 4


def _dot(x: float, y: float) -> str:
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{DOT}" fill="#fff" stroke="#000" stroke-width="2"/>'
    )


def _band(drawing: Drawing, top: float, band: float) -> list[str]:
    """The line, what is allowed on it, the guard band inside that, and a stroke at each limit."""
    figures = drawing.figures
    left = drawing.x(figures["lower"]) if figures["lower"] else 0.0
    right = drawing.x(figures["upper"]) if figures["upper"] else float(drawing.width)
    met_left = drawing.x(figures["guard_lower"]) if figures["guard_lower"] else left
    met_right = drawing.x(figures["guard_upper"]) if figures["guard_upper"] else right
    middle = band + BAND / 2
    parts = [
        f'<path d="M0 {middle:.1f}H{drawing.width}" stroke="#000" stroke-width="1.5"/>',
        _box(left, right, band, "#fff"),
    ]
    if met_right > met_left:
        parts.append(_box(met_left, met_right, band, "#d9d9d9"))
        hatched = [(left, met_left), (met_right, right)]
        met = drawing.say(WORDS["met"])
        if met_right - met_left > CHARACTER * (len(met) + 1):
            parts.append(_text((met_left + met_right) / 2, middle + TEXT * 0.36, met))
    else:  # the guard bands meet: nothing is left between them
        hatched = [(left, right)]
    for start, end in hatched:
        parts += _hatching(start, end, band, BAND)
    parts.append(
        f'<path d="M{left:.1f} {band:.1f}H{right:.1f}M{left:.1f} {band + BAND:.1f}H{right:.1f}" '
        'stroke="#000" stroke-width="1.5"/>'
    )
    parts += [
        f'<path d="M{drawing.x(mark):.1f} {top - 2:.1f}V{band + BAND + 4:.1f}" stroke="#000" '
        'stroke-width="3"/>'
        for mark in drawing.limits
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
            bottom = top + height + start
            strokes.append(f"M{a:.1f} {bottom - a:.1f}L{b:.1f} {bottom - b:.1f}")
        start += 5.5
    return [f'<path d="{"".join(strokes)}" stroke="#000" stroke-width="1.3"/>'] if strokes else []


def _values(drawing: Drawing, top: float) -> tuple[list[str], float]:
    """A pointer at each value that the limits are for, and what it came to; where that ends."""
    places = [drawing.x(mark) for mark in drawing.figures["values"]]
    if not places:
        return [], top + 8
    parts = [f'<path d="M{x:.1f} {top + 2:.1f}l7 13h-14z" fill="#000"/>' for x in places]
    whole = " ".join(drawing.says)
    fits = CHARACTER * len(whole) <= drawing.width - 2 * SIDE
    y = top + 15 + TEXT + 1
    for words in [whole] if fits else drawing.says:
        middle = _within(sum(places) / len(places), words, drawing.width)
        parts.append(_text(middle, y, words, weight=700))
        y += TEXT + 4
    return parts, y - TEXT


def _legend(drawing: Drawing, top: float) -> tuple[list[str], float]:
    """What the dots and the hatching mean, and where that ends."""
    x, y = SIDE, top + TEXT + 5
    parts: list[str] = []
    if drawing.figures["readings"]:
        reading = drawing.say(LEGEND["reading"])
        parts += [_dot(x + 7, y - 5), _text(x + 22, y, reading, anchor="start")]
        x += 22 + CHARACTER * len(reading) + 14
    if drawing.guarded:
        parts += _hatching(x, x + 16, y - 11, 12)
        parts.append(
            f'<rect x="{x}" y="{y - 11:.1f}" width="16" height="12" fill="none" stroke="#000"/>'
        )
        parts.append(_text(x + 22, y, drawing.say(LEGEND["guard_band"]), anchor="start"))
    return parts, (y + 6 if parts else top + 6)

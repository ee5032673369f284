"""A timeline as a drawing: posts as rows, days from left to right.

The drawing carries all its looks in attributes, so that it needs no stylesheet and no style
attribute, on pages and on paper. Filled is a plain grey bar, short a hatched one with a heavy edge,
and both are said in words: black on white is enough. Titles stand above their bars, so that
the days have the whole width of a telephone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from html import escape

from assessments.evidence.drawings.style import FONTS, HAIR, INK, SHADE, SOFT, UNPRINTABLE, label
from assessments.evidence.results import Drawing
from certificates.coverage.axis import ticks
from certificates.coverage.timeline import SHORT, Bar, Row, Say, Timeline
from certificates.coverage.wording import day

WIDE = 600
"""At the least width that pages give a drawing, 28rem, the letters are 11 px high."""
NARROW = 340
"""The letters are 14 px high where a telephone shows the drawing 328 px wide."""
ROOM = 1.1
"""How high the rows of one drawing may be, against the width of a wide one: a page holds it."""
TEXT = 15
LINE = 19.0
CHARACTER = 8.2  # how wide a letter is, reckoned amply
SIDE = 2.0
BAR = 18.0
GAP = 10.0


@dataclass(frozen=True, slots=True)
class Field:
    """Where the days lie: ``width`` units hold all of them."""

    first: date
    last: date
    width: int
    say: Say = str

    def x(self, on: date) -> float:
        """The left edge of a day; the right edge of the last is the left of the next."""
        days = (self.last - self.first).days + 1
        return SIDE + (self.width - 2 * SIDE) * (on - self.first).days / days

    def after(self, on: date) -> float:
        """The right edge of a day."""
        days = (self.last - self.first).days + 1
        return SIDE + (self.width - 2 * SIDE) * ((on - self.first).days + 1) / days

    @property
    def letters(self) -> int:
        """How many letters fit on a line."""
        return int((self.width - 2 * SIDE) / CHARACTER)


def timeline_drawings(
    found: Timeline, *, key: str, title: str, width: int = WIDE, say: Say = str
) -> tuple[Drawing, ...]:
    """The timeline in as many drawings as it takes for each to fit on a page; none without rows.

    ``key`` makes the drawings' keys; ``width`` is that of the view box, against letters of 15:
    WIDE for pages that scroll a drawing sideways and for paper, NARROW for a telephone. ``say``
    says each text that is drawn; ``title`` is drawn as it is.
    """
    field = Field(found.first, found.last, width, say)
    heights = [_height(row, field) for row in found.rows]
    groups = _sheets(found.rows, heights)
    drawn = []
    for number, rows in enumerate(groups, start=1):
        part = say(f"({number} of {len(groups)})")
        part = f" {part}" if len(groups) > 1 else ""
        shown = replace(found, rows=tuple(rows))
        words = UNPRINTABLE.sub("", shown.told(say) + part)
        name = key if number == 1 else f"{key}-{number}"
        svg = _svg(shown, field, UNPRINTABLE.sub("", title + part), words)
        drawn.append(Drawing(name, title + part, words, svg))
    return tuple(drawn)


def _sheets(rows: Sequence[Row], heights: Sequence[float]) -> list[list[Row]]:
    """The rows in as few groups as they take when each has the room of a page."""
    found: list[list[Row]] = []
    left = 0.0
    for row, height in zip(rows, heights, strict=True):
        if not found or height > left:
            found.append([])
            left = ROOM * WIDE
        found[-1].append(row)
        left -= height
    return found


def _svg(shown: Timeline, field: Field, title: str, words: str) -> str:
    parts, top = _legend(field)
    labels, top = _axis(field, top)
    parts += labels
    if shown.breaks:
        marked, top = _break_label(shown.breaks, field, top)
        parts += marked
    y = top + GAP / 2
    for row in shown.rows:
        parts += _row(row, field, y, shown.breaks)
        y += _height(row, field)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {field.width} {y:.0f}" '
        f'width="{field.width}" height="{y:.0f}" role="img" aria-label="{escape(title)}" '
        f'font-family="{FONTS}" font-size="{TEXT}" fill="{INK}">'
        f"<title>{escape(title)}</title><desc>{escape(words)}</desc>"
        f'<rect width="{field.width}" height="{y:.0f}" fill="#fff"/>{"".join(parts)}</svg>'
    )


def _height(row: Row, field: Field) -> float:
    lines = len(_lines(field.say(row.title), field)) + len(_lines(field.say(row.words), field))
    return lines * LINE + BAR + 2 * GAP


def _lines(words: str, field: Field) -> list[str]:
    return label(words, field.letters).split("\n")


def _row(row: Row, field: Field, top: float, breaks: date | None) -> list[str]:
    """The title, when the post is short, and the bars below, with the ticks behind them."""
    parts = []
    y = top
    for words, weight in ((field.say(row.title), 600), (field.say(row.words), 400)):
        for line in _lines(words, field):
            y += LINE
            parts.append(_text(SIDE, y - 4, line, weight=weight))
    y += 2
    parts += [_tick(field.x(on), y - 1, y + BAR + 6) for on, _ in _ticks(field)]
    for bar in row.bars:
        left = field.x(bar.first)
        # One day of some years is thinner than its edges.
        parts += _bar(bar, field.say(bar.state), left, max(field.after(bar.last), left + 3), y)
    if breaks:
        parts.append(_break_line(breaks, field, y - 1, y + BAR + 6))
    return parts


def _bar(bar: Bar, word: str, left: float, right: float, top: float) -> list[str]:
    parts = _short(left, right, top) if bar.state == SHORT else [_filled(left, right, top)]
    width = CHARACTER * len(word) + 8
    if right - left > width + 8:
        if bar.state == SHORT:
            # A word on hatching is read on a ground of its own.
            parts.append(
                f'<rect x="{left + 4:.1f}" y="{top + 2:.1f}" width="{width:.1f}" '
                f'height="{BAR - 4:.1f}" fill="#fff"/>'
            )
        weight = 600 if bar.state == SHORT else 400
        parts.append(_text(left + 8, top + BAR - 4.5, word, weight=weight))
    return parts


def _filled(left: float, right: float, top: float) -> str:
    return (
        f'<rect class="filled" x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" '
        f'height="{BAR}" fill="{SHADE}" stroke="{SOFT}" stroke-width="1"/>'
    )


def _short(left: float, right: float, top: float) -> list[str]:
    """A bar with slanting strokes cut off at its sides: a pattern would need a name of its own."""
    strokes = []
    start = left - BAR + 3
    while start < right:
        # The stroke rises from (start, bottom) to (start + BAR, top).
        a, b = max(start, left), min(start + BAR, right)
        if b > a:
            foot = top + BAR + start
            strokes.append(f"M{a:.1f} {foot - a:.1f}L{b:.1f} {foot - b:.1f}")
        start += 7
    return [
        f'<rect class="short" x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" '
        f'height="{BAR}" fill="#fff" stroke="{INK}" stroke-width="2"/>',
        f'<path d="{"".join(strokes)}" stroke="{INK}" stroke-width="1.2"/>',
    ]


def _legend(field: Field) -> tuple[list[str], float]:
    """What the two kinds of bar mean, and where that ends."""
    room = 46.0
    filled, short = field.say("filled"), field.say("short of masons")
    parts = [_filled(SIDE, SIDE + 30, 3), _text(SIDE + 38, 3 + BAR - 4, filled)]
    left = SIDE + room + CHARACTER * len(filled) + 10
    parts += [*_short(left, left + 30, 3), _text(left + 38, 3 + BAR - 4, short)]
    return parts, BAR + 12


def _ticks(field: Field) -> list[tuple[date, str]]:
    found = ticks(field.first, field.last, field.letters)
    return [(on, field.say(words)) for on, words in found]


def _axis(field: Field, top: float) -> tuple[list[str], float]:
    """The labels of the ticks, those that have room; where they end."""
    parts = []
    free = 0.0
    for on, words in _ticks(field):
        x = field.x(on)
        ends = x + CHARACTER * len(words)
        if x >= free and ends <= field.width:
            parts.append(_text(x, top + LINE - 5, words, colour=SOFT))
            free = ends + CHARACTER
        parts.append(_tick(x, top + LINE - 2, top + LINE + 4))
    return parts, top + LINE + 6


def _tick(x: float, top: float, bottom: float) -> str:
    return f'<path d="M{x:.1f} {top:.1f}V{bottom:.1f}" stroke="{HAIR}" stroke-width="1"/>'


def _break_label(on: date, field: Field, top: float) -> tuple[list[str], float]:
    """The words about the first day not covered, over a triangle at its start; where they end."""
    words = field.say(f"First day not covered: {day(on)}")
    lines = _lines(words, field)
    half = CHARACTER * max(map(len, lines)) / 2
    middle = min(max(field.x(on), SIDE + half), field.width - SIDE - half)
    parts = []
    for line in lines:
        top += LINE
        parts.append(_text(middle, top - 4, line, anchor="middle", weight=600))
    # At an edge the triangle stays whole, and the line below it exact.
    x = min(max(field.x(on), SIDE + 6), field.width - SIDE - 6)
    parts.append(f'<path d="M{x - 6:.1f} {top:.1f}h12l-6 9z" fill="{INK}"/>')
    return parts, top + 10


def _break_line(on: date, field: Field, top: float, bottom: float) -> str:
    """A broken line through the bars at the start of the day."""
    return (
        f'<path class="break" d="M{field.x(on):.1f} {top:.1f}V{bottom:.1f}" stroke="{INK}" '
        f'stroke-width="2" stroke-dasharray="5 3"/>'
    )


def _text(
    x: float, y: float, words: str, *, anchor: str = "start", weight: int = 400, colour: str = INK
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-weight="{weight}" '
        f'fill="{colour}">{escape(words)}</text>'
    )

"""Drawings of figures: black on white, read without colour, inline in pages and in PDFs."""

from assessments.evidence.drawings.charts import Mark, Series, histogram, lines, scatter
from assessments.evidence.drawings.dots import Dot, dots
from assessments.evidence.drawings.drawing import drawing
from assessments.evidence.drawings.style import (
    ACCENT,
    HAIR,
    HATCHES,
    INK,
    LINE_STYLES,
    MARKERS,
    SHADE,
    SOFT,
    label,
)

__all__ = [
    "ACCENT",
    "HAIR",
    "HATCHES",
    "INK",
    "LINE_STYLES",
    "MARKERS",
    "SHADE",
    "SOFT",
    "Dot",
    "Mark",
    "Series",
    "dots",
    "drawing",
    "histogram",
    "label",
    "lines",
    "scatter",
]

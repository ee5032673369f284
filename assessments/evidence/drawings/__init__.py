"""Drawings of figures: black on white, read without colour, inline in pages and in PDFs."""

from assessments.evidence.drawings.drawing import drawing
from assessments.evidence.drawings.style import (
    ACCENT,
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
    "HATCHES",
    "INK",
    "LINE_STYLES",
    "MARKERS",
    "SHADE",
    "SOFT",
    "drawing",
    "label",
]

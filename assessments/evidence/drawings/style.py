"""How drawings look: the ink and the one accent of the pages, and what tells series apart."""

from __future__ import annotations

import re
import textwrap
from typing import Any

INK = "#16191c"
SOFT = "#4a5158"
ACCENT = "#1f4b86"
SHADE = "#f2f3f0"
HAIR = "#c4c8c2"
# What tells series apart without colour, in the order in which to use them.
MARKERS = ("o", "s", "^", "D", "v", "P", "X", "*")
LINE_STYLES = ("-", "--", ":", "-.")
HATCHES = ("", "///", "...", "xxx", "\\\\\\", "+++")

# The faces of the pages and of the PDFs, and then what any machine has. No spaces between them:
# WeasyPrint takes a space for a part of the name.
FONTS = (
    "Commissioner,'Source Sans 3','Segoe UI',Roboto,'Helvetica Neue','Liberation Sans',"
    "'Noto Sans',sans-serif"
)
# 13 pt in a drawing 150 mm wide is 10 px where a telephone shows it 328 px wide.
TEXT_SHARE = 13 / 150

# Neither XML nor a font has these.
UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def label(text: str, width: int = 22) -> str:
    """The text in lines of at most ``width`` characters, all of it, for a label of a drawing.

    >>> label("Face of the dutchman flush with the stone around it")
    'Face of the dutchman\\nflush with the stone\\naround it'
    """
    return "\n".join(textwrap.wrap(UNPRINTABLE.sub("", text), width)) or "-"


def settings(width_mm: float) -> dict[Any, Any]:
    """What matplotlib is told for one drawing of that width.

    The layout is measured in the face that matplotlib brings along, so that it is the same on
    every machine. It runs wider than those of the pages: what fits in it fits in them.
    """
    size = TEXT_SHARE * width_mm
    return {
        "svg.fonttype": "none",
        "text.parse_math": False,
        "axes.formatter.use_mathtext": False,
        "axes.unicode_minus": True,
        "font.family": ["DejaVu Sans"],
        "font.size": size,
        "axes.labelsize": size,
        "axes.titlesize": size,
        "axes.titlelocation": "left",
        "legend.fontsize": size,
        "xtick.labelsize": size,
        "ytick.labelsize": size,
        "text.color": INK,
        "axes.labelcolor": INK,
        "axes.edgecolor": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "axes.linewidth": 0.7,
        "xtick.major.width": 0.7,
        "ytick.major.width": 0.7,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.facecolor": "none",
        "figure.facecolor": "none",
        "legend.frameon": False,
        "lines.linewidth": 1.4,
        "lines.markersize": 7,
        "patch.edgecolor": INK,
        "hatch.color": INK,
        "hatch.linewidth": 0.7,
        "grid.color": HAIR,
        "grid.linewidth": 0.6,
    }

"""One drawing, from what draws on its axes."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable
from threading import Lock

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.text import Text

from assessments.evidence.drawings.clean import clean
from assessments.evidence.drawings.style import UNPRINTABLE, label, settings
from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Drawing

MM_PER_INCH = 25.4
KEY = re.compile(r"[A-Za-z][A-Za-z0-9_.-]*")
# As many as fit on the width beside the axes, and on the whole of it.
TICK_LETTERS, LETTERS = 26, 50
# The settings of matplotlib belong to the process: one drawing at a time changes them.
_DRAWING = Lock()


def drawing(
    key: str,
    title: str,
    alternative: str,
    draw: Callable[[Axes], None],
    *,
    width_mm: float = 150,
    height_mm: float = 80,
) -> Drawing:
    """What ``draw`` puts on the axes, as an SVG that stands inline in a page or in a PDF.

    ``alternative`` says in words what the drawing shows. ``key`` begins with a letter and holds
    letters, digits, dots, hyphens and underscores; it makes the ids in the SVG unique on a page.
    The same input gives the same bytes. EvidenceError for a key that will not do or a size
    that is none.

    >>> shown = drawing("slope", "Slope", "A rising line.", lambda axes: axes.plot([0, 1], [0, 1]))
    >>> shown.svg.startswith("<svg"), "style=" in shown.svg
    (True, False)
    """
    if not KEY.fullmatch(key):
        raise EvidenceError("key", "A letter first, then letters, digits, dots, - and _.")
    if not (width_mm > 0 and height_mm > 0):
        raise EvidenceError("width_mm", "Width and height in millimetres are above nothing.")
    with _DRAWING, mpl.rc_context(), warnings.catch_warnings():
        # A letter that the measuring face lacks is measured as a box; the page's faces have it.
        warnings.filterwarnings("ignore", r"Glyph \d+ .* missing from", UserWarning)
        # More labels than the sheet has room for: they are drawn over each other, not refused.
        warnings.filterwarnings("ignore", "constrained_layout not applied", UserWarning)
        mpl.rcdefaults()
        mpl.rcParams.update({**settings(width_mm), "svg.hashsalt": key})
        raw = _svg(draw, width_mm / MM_PER_INCH, height_mm / MM_PER_INCH)
    return Drawing(key, title, alternative, clean(raw, key, alternative, width_mm))


def _svg(draw: Callable[[Axes], None], width: float, height: float) -> str:
    """The SVG as matplotlib writes it; sizes in inches."""
    figure = Figure(figsize=(width, height), layout="constrained")
    canvas = FigureCanvasSVG(figure)
    axes = figure.add_subplot()
    draw(axes)
    for axis in (axes.xaxis, axes.yaxis):
        texts = [text.get_text() for text in axis.get_ticklabels()]
        fitting = [_fitting(text, TICK_LETTERS) for text in texts]
        if fitting != texts:
            axis.set_ticks(axis.get_ticklocs(), fitting)
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        text.set_text(_fitting(text.get_text(), LETTERS))
        # Lines that begin together stand right in any face, whatever it measures.
        text.set_multialignment("left")
    written = io.StringIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    canvas.print_svg(written, metadata=nothing)  # type: ignore[no-untyped-call]
    return written.getvalue()


def _fitting(text: str, letters: int) -> str:
    """The text without what cannot be printed, wrapped where a line would run out of the sheet."""
    lines = UNPRINTABLE.sub("", text).split("\n")
    return "\n".join(label(line, letters) if len(line) > letters else line for line in lines)

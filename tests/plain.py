"""Records, submittals, sheets and drawings with hardly anything on them, where nobody reads them.

To lay a page out takes more than all else that issuing does. What is printed is tested in
``tests/certificates/pdf`` and with each document; the attachment, the field for the signature, the
metadata and the signature are as ever.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from io import BytesIO
from typing import IO
from unittest import mock

from matplotlib.axes import Axes
from weasyprint import HTML, Document
from weasyprint.text.fonts import FontConfiguration

from assessments.evidence.drawings.drawing import _svg
from certificates.rendering.document import FORM
from training.documents import Paper

BODY = (
    "<style>input { appearance: auto }</style></head><body><h1>Not laid out</h1>"
    '<form><input type="checkbox" name="signature" title="Signature"></form></body></html>'
)


@contextmanager
def plain_records() -> Iterator[None]:
    """Run the block with records and submittals that are signed, but say nothing on their page."""
    with (
        mock.patch("certificates.rendering.document._lay_out", _plain),
        mock.patch("certificates.submittal.rendering._lay_out", _plain),
    ):
        yield


@contextmanager
def plain_sheets() -> Iterator[None]:
    """Run the block with one blank page for each document of an ordinary template."""
    blank = BytesIO()
    HTML(string="<title>Blank</title>").write_pdf(blank)

    def write(source: str, target: IO[bytes], *, paper: Paper, parts: Sequence[str] = ()) -> None:
        assert "</html>" in source
        target.write(blank.getvalue())

    with mock.patch("training.documents.render.write_pdf", write):
        yield


@contextmanager
def plain_drawings() -> Iterator[None]:
    """Run the block with one empty drawing in the place of each that matplotlib would make."""
    with mock.patch("assessments.evidence.drawings.drawing._svg", _empty):
        yield


def _empty(draw: Callable[[Axes], None], width: float, height: float) -> str:
    return _drawn_once()


@cache
def _drawn_once() -> str:
    return _svg(lambda axes: None, 6, 3)


def _plain(html: str, fonts: FontConfiguration) -> Document:
    head, found, _ = html.partition("</head>")
    assert found
    return HTML(string=head + BODY).render(font_config=fonts, **FORM)

"""From a record document to a PDF: templates, then WeasyPrint."""

from collections.abc import Mapping
from datetime import datetime
from functools import cache, partial
from pathlib import Path
from typing import Any

from django.template import Context, Engine
from weasyprint import CSS, HTML, Attachment, Document
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher

from assessments.engine import canonical
from assessments.engine.errors import EngineError
from certificates.rendering.certificate import certificate_page
from certificates.rendering.competency import competency_pages
from certificates.rendering.errors import RenderingError
from certificates.rendering.finish import finish
from certificates.signing.attachment import FILE_NAME
from certificates.signing.signer import AMBIGUOUS_END

TEMPLATES = Path(__file__).resolve().parents[2] / "templates" / "certificates" / "pdf"
PAPERS = ("letter", "a4")
# Roomy as a rule; set closer when much is to be said; last, conditions on the second page.
DENSITIES = ("roomy", "dense", "moved")
TRIES = 32  # each but one in about 128 succeeds
SEAL = "seal"  # the id of the field for the signature in the page source
KIND = {"pdf_variant": "pdf/a-3u", "pdf_tags": True, "pdf_forms": True}


def render(record: Mapping[str, Any], *, paper: str = "letter") -> bytes:
    """Return the unsigned PDF (PDF/A-3u and PDF/UA-1) of a record document.

    ``record`` is a ``bankermark/record/1`` document (FORMATS of the engine for what is in it),
    ``paper`` is ``letter`` or ``a4``. The same record gives the same bytes. The document itself
    is attached as ``record.json`` in its RFC 8785 form, so that the SHA-256 of the attachment is
    the digest of the record. Raises RenderingError for a record that cannot be shown as one.
    """
    fonts = FontConfiguration()
    document = _lay_out(record, paper, fonts)
    for padding in range(TRIES):
        pdf = _write(document, record, padding)
        # The packed objects and the reference table are compressed after the finisher had its
        # say; each ends like a line end once in 256 times. Padding changes both.
        if AMBIGUOUS_END not in pdf:
            return pdf
    raise RenderingError("The record cannot be written with clear ends of its streams.")


def _lay_out(record: Mapping[str, Any], paper: str, fonts: FontConfiguration) -> Document:
    """Lay the pages out so that the signature and the code are on the first one, if they can."""
    fetcher = URLFetcher(allowed_protocols=["file"])
    for density in DENSITIES:
        html = HTML(string=record_html(record, paper=paper, density=density), url_fetcher=fetcher)
        style = CSS(filename=TEMPLATES / "record.css", font_config=fonts, url_fetcher=fetcher)
        document = html.render(stylesheets=[style], font_config=fonts, **KIND)
        if SEAL in document.pages[0].anchors:
            break
    return document


def _write(document: Document, record: Mapping[str, Any], padding: int) -> bytes:
    issued = datetime.fromisoformat(record["issued_at"])
    attachment = Attachment(
        string=canonical.canonical(record),
        name=FILE_NAME,
        description="The record as data: standard, observations and decision",
        created=issued,
        modified=issued,
        relationship="Source",
    )
    finisher = partial(finish, padding=padding)
    pdf: bytes = document.write_pdf(finisher=finisher, attachments=[attachment], **KIND)
    return pdf


def record_html(record: Mapping[str, Any], *, paper: str, density: str = DENSITIES[0]) -> str:
    """The page source of a record; see ``render`` for the parameters and errors.

    ``density`` is one of ``DENSITIES``: how much room the first page gives.
    """
    if paper not in PAPERS:
        raise RenderingError(f"There is no paper {paper!r} here: use {' or '.join(PAPERS)}.")
    try:
        if record["result"] != "met":
            raise RenderingError(
                "Only a decision that the passing standard was met can become a record."
            )
        context = {
            "paper": paper,
            "density": density,
            "issued_at": record["issued_at"],
            "page": certificate_page(record),
            "pages": competency_pages(record),
        }
    except KeyError as error:
        raise RenderingError(f"The record lacks {error.args[0]!r}: build it again.") from error
    except EngineError as error:
        raise RenderingError(f"The record cannot be read ({error}): build it again.") from error
    return _engine().get_template("record.html").render(Context(context, use_l10n=False))


@cache
def _engine() -> Engine:
    return Engine(dirs=[str(TEMPLATES)])

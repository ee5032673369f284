"""From a record document to its two PDFs: templates, then WeasyPrint."""

from collections.abc import Mapping
from datetime import datetime
from functools import cache, partial
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from django.template import Context, Engine
from weasyprint import CSS, HTML, Attachment, Document
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher

from assessments.engine import canonical
from assessments.engine.errors import EngineError
from certificates.rendering.competency import competency_pages
from certificates.rendering.errors import RenderingError
from certificates.rendering.facts import facts_of
from certificates.rendering.finish import finish
from certificates.signing.attachment import FILE_NAME
from certificates.signing.signer import AMBIGUOUS_END

Kind = Literal["certificate", "competency"]
CERTIFICATE: Kind = "certificate"
COMPETENCY: Kind = "competency"
KINDS = (CERTIFICATE, COMPETENCY)
TEMPLATES = Path(__file__).resolve().parents[2] / "templates" / "certificates" / "pdf"
PAPERS = ("letter", "a4")
# A certificate is roomy as a rule and set closer when much is to be said; then the conditions,
# whose place the range takes, the range itself, and at last the outcomes and the scope too are
# left to the competency record.
DENSITIES = ("roomy", "dense", "moved", "spare", "brief")
TRIES = 32  # each but one in about 128 succeeds
NO_PHOTOGRAPHS: Mapping[str, bytes] = MappingProxyType({})
FORM = {"pdf_variant": "pdf/a-3u", "pdf_tags": True, "pdf_forms": True}


def render(
    record: Mapping[str, Any],
    *,
    kind: Kind = CERTIFICATE,
    paper: str = "letter",
    photographs: Mapping[str, bytes] = NO_PHOTOGRAPHS,
) -> bytes:
    """Return the unsigned PDF (PDF/A-3u and PDF/UA-1) of a record document.

    ``record`` is a ``bankermark/record/1`` document (FORMATS of the engine for what is in it),
    ``kind`` is ``certificate`` (one page) or ``competency``, ``paper`` is ``letter`` or ``a4``.
    ``photographs`` are the JPEG bytes of the record's photographs by their SHA-256; of one whose
    bytes are not given the competency record says so. The same input gives the same bytes. The
    document itself is attached as ``record.json`` in its RFC 8785 form, so that the SHA-256 of
    the attachment is the digest of the record. Raises RenderingError for a record that cannot
    be shown as one.
    """
    if kind not in KINDS:
        raise RenderingError(f"There is no document {kind!r} here: use {' or '.join(KINDS)}.")
    fonts = FontConfiguration()
    if kind == CERTIFICATE:
        document = _one_page(record, paper, fonts)
    else:
        html = record_html(record, kind=kind, paper=paper, photographs=photographs)
        document = _lay_out(html, fonts)
    for padding in range(TRIES):
        pdf = _write(document, record, padding)
        # The packed objects and the reference table are compressed after the finisher had its
        # say; each ends like a line end once in 256 times. Padding changes both.
        if AMBIGUOUS_END not in pdf:
            return pdf
    raise RenderingError("The record cannot be written with clear ends of its streams.")


def _one_page(record: Mapping[str, Any], paper: str, fonts: FontConfiguration) -> Document:
    """Lay the certificate out so that all of it stands on one page."""
    for density in DENSITIES:
        document = _lay_out(record_html(record, paper=paper, density=density), fonts)
        if len(document.pages) == 1:
            return document
    raise RenderingError(
        "The certificate does not fit on one page: the names of the program, the issuer, the "
        "site or the assessors are too long for it. Shorten the longest, then issue again."
    )


def _lay_out(html: str, fonts: FontConfiguration) -> Document:
    fetcher = URLFetcher(allowed_protocols=["file", "data"])
    style = CSS(filename=TEMPLATES / "record.css", font_config=fonts, url_fetcher=fetcher)
    page = HTML(string=html, url_fetcher=fetcher)
    return page.render(stylesheets=[style], font_config=fonts, **FORM)


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
    pdf: bytes = document.write_pdf(finisher=finisher, attachments=[attachment], **FORM)
    return pdf


def record_html(
    record: Mapping[str, Any],
    *,
    paper: str,
    kind: Kind = CERTIFICATE,
    density: str = DENSITIES[0],
    photographs: Mapping[str, bytes] = NO_PHOTOGRAPHS,
) -> str:
    """The page source of a record; see ``render`` for the parameters and errors.

    ``density`` is one of ``DENSITIES``: how much room the certificate gives.
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
            "kind": kind,
            "density": density,
            "issued_at": record["issued_at"],
            "page": facts_of(record),
        }
        if kind == COMPETENCY:
            context["pages"] = competency_pages(record, photographs)
    except KeyError as error:
        raise RenderingError(f"The record lacks {error.args[0]!r}: build it again.") from error
    except EngineError as error:
        raise RenderingError(f"The record cannot be read ({error}): build it again.") from error
    return _engine().get_template("record.html").render(Context(context, use_l10n=False))


@cache
def _engine() -> Engine:
    return Engine(dirs=[str(TEMPLATES)])

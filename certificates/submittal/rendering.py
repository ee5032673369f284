"""From a submittal's document to its PDF (PDF/A-3u and PDF/UA-1), ready to be signed."""

from collections.abc import Mapping
from datetime import datetime
from functools import cache, partial
from typing import Any

from django.template import Context, Engine
from weasyprint import CSS, HTML, Attachment, Document
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher

from assessments.engine import canonical
from certificates.rendering.document import FORM, PAPERS, TEMPLATES, TRIES
from certificates.rendering.errors import RenderingError
from certificates.rendering.finish import finish
from certificates.signing.attachment import SUBMITTAL_NAME
from certificates.signing.signer import AMBIGUOUS_END
from certificates.submittal.facts import facts_of


def render_submittal(document: Mapping[str, Any], *, paper: str = "letter") -> bytes:
    """Return the unsigned PDF of a ``bankermark/submittal/1`` document.

    ``paper`` is ``letter`` or ``a4``. The document itself, and nothing else, is attached as
    ``submittal.json`` in its RFC 8785 form, so that the SHA-256 of the attachment is its digest.
    The same input gives the same bytes. Raises RenderingError for what cannot be shown.
    """
    fonts = FontConfiguration()
    laid_out = _lay_out(submittal_html(document, paper=paper), fonts)
    for padding in range(TRIES):
        pdf = _write(laid_out, document, padding)
        # As for records: no stream may end like a line end (ISO 19005-3, 6.1.7.1).
        if AMBIGUOUS_END not in pdf:
            return pdf
    raise RenderingError("The submittal cannot be written with clear ends of its streams.")


def submittal_html(document: Mapping[str, Any], *, paper: str) -> str:
    """Return the page source; see ``render_submittal`` for parameters and errors."""
    if paper not in PAPERS:
        raise RenderingError(f"There is no paper {paper!r} here: use {' or '.join(PAPERS)}.")
    try:
        context = {
            "paper": paper,
            "submitted_at": document["submitted_at"],
            "page": facts_of(document),
        }
    except KeyError as error:
        raise RenderingError(f"The submittal lacks {error.args[0]!r}: make it again.") from error
    return _engine().get_template("submittal.html").render(Context(context, use_l10n=False))


def _lay_out(html: str, fonts: FontConfiguration) -> Document:
    fetcher = URLFetcher(allowed_protocols=["file", "data"])
    style = CSS(filename=TEMPLATES / "submittal.css", font_config=fonts, url_fetcher=fetcher)
    return HTML(string=html, url_fetcher=fetcher).render(
        stylesheets=[style], font_config=fonts, **FORM
    )


def _write(laid_out: Document, document: Mapping[str, Any], padding: int) -> bytes:
    submitted = datetime.fromisoformat(document["submitted_at"])
    attachment = Attachment(
        string=canonical.canonical(document),
        name=SUBMITTAL_NAME,
        description="The submittal as data: posts, who covers each, gaps and how they are met",
        created=submitted,
        modified=submitted,
        relationship="Source",
    )
    pdf: bytes = laid_out.write_pdf(
        finisher=partial(finish, padding=padding), attachments=[attachment], **FORM
    )
    return pdf


@cache
def _engine() -> Engine:
    return Engine(dirs=[str(TEMPLATES)])

"""From a Django template to a PDF, with WeasyPrint."""

from collections.abc import Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import IO, Any, Literal, get_args

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import translation
from weasyprint import CSS, HTML, Document
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher

from training.documents.finish import finish
from training.reader import lengths_of

Paper = Literal["letter", "a4"]
PAPERS: tuple[Paper, ...] = get_args(Paper)
STYLES: Path = settings.BASE_DIR / "templates" / "documents"
KIND = {"pdf_variant": "pdf/ua-1", "pdf_tags": True}


def render_pdf(
    template: str,
    context: Mapping[str, Any],
    *,
    paper: Paper,
    title: str,
    language: str = "en",
    parts: Sequence[str] = (),
) -> bytes:
    """Return the PDF (PDF/UA-1, ISO 14289-1) of a template that extends ``documents/base.html``.

    ``title`` stands in the metadata and at the foot of each page, ``language`` is a BCP 47 tag.
    ``parts`` are the ids of elements that each begin on a page of their own: pages are numbered
    inside each, and the string ``part`` that its styles set stands at their foot. Nothing is
    fetched from the network, and the same input gives the same bytes. Raises Refused where no
    font on this machine has a letter that is needed.
    """
    source = source_of(template, context, paper=paper, title=title, language=language)
    target = BytesIO()
    write_pdf(source, target, paper=paper, parts=parts)
    return target.getvalue()


def source_of(
    template: str,
    context: Mapping[str, Any],
    *,
    paper: Paper,
    title: str,
    language: str = "en",
) -> str:
    """Return the HTML of a template that extends ``documents/base.html``.

    What it says depends on ``language``, never on who asks for it; lengths stay as taken.
    """
    about = {"title": title, "language": language, "paper": paper}
    with translation.override(language), lengths_of(None):
        return render_to_string(template, {**context, "document": about})


def write_pdf(source: str, target: IO[bytes], *, paper: Paper, parts: Sequence[str] = ()) -> None:
    """Write the PDF of what ``source_of`` gave, as ``render_pdf``; asks no database.

    Written to a file, its photographs never are in memory all at once.
    """
    fonts = FontConfiguration()
    fetcher = URLFetcher(allowed_protocols=["file", "data"])
    styles = [
        CSS(filename=STYLES / "document.css", font_config=fonts, url_fetcher=fetcher),
        CSS(string=f"@page {{ size: {paper} }}", font_config=fonts, url_fetcher=fetcher),
    ]
    html = HTML(string=source, base_url=f"{STYLES.as_uri()}/", url_fetcher=fetcher)
    document = html.render(stylesheets=styles, font_config=fonts, **KIND)
    if len(parts) > 1:
        # How many pages each has is known only once they are laid out.
        numbers = CSS(string=_numbering(document, parts), font_config=fonts, url_fetcher=fetcher)
        document = html.render(stylesheets=[*styles, numbers], font_config=fonts, **KIND)
    document.write_pdf(target, finisher=finish, **KIND)


def _numbering(document: Document, parts: Sequence[str]) -> str:
    """Return the styles that number the pages of each part by itself."""
    first: dict[str, int] = {}
    for at, page in enumerate(document.pages):
        for name in page.anchors:
            first.setdefault(name, at)
    starts = [first[name] for name in parts]
    ends = [*starts[1:], len(document.pages)]
    return "".join(
        f"#{name} {{ page: {name} }} @page :nth(1 of {name}) {{ counter-reset: page 1 }} "
        f"@page {name} {{ @bottom-left {{ content: string(part) }} "
        f'@bottom-right {{ content: "Page " counter(page) " of {end - start}" }} }}'
        for name, start, end in zip(parts, starts, ends, strict=True)
    )

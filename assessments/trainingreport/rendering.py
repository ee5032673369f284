"""From a report's document and its photographs to a tagged PDF."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from assessments.queries.trainingreport import pictures_in
from assessments.trainingreport.job import PICTURES
from assessments.trainingreport.scaled import PAPER, NotReadableError, scaled
from training.documents import render_pdf
from training.errors import Refused


def render_report(document: Mapping[str, Any], folder: Path, tell: Callable[[int], None]) -> bytes:
    """Return the PDF; ``folder`` holds the photographs below ``pictures/``, by their id.

    Each photograph is made as small as paper needs it, one after the other, in its place.
    ``tell`` is called with the number of steps done: one a photograph, and one for the pages.
    Raises Refused where a photograph cannot be read, or no font has a letter.
    """
    sources: dict[str, str] = {}
    done = 0
    for picture in pictures_in(document):
        path = folder / PICTURES / f"{picture['id']}.jpg"
        if path.exists():
            _make_small(path, picture)
            sources[picture["id"]] = path.as_uri()
        done += 1
        tell(done)
    pdf = render_pdf(
        "documents/training_report.html",
        {"report": document, "sources": sources},
        paper=document["paper"],
        title=document["title"],
    )
    tell(done + 1)
    return pdf


def _make_small(path: Path, picture: Mapping[str, Any]) -> None:
    try:
        with path.open("rb") as file:
            small = scaled(file, PAPER)
    except NotReadableError:
        raise Refused(
            f"Photograph {picture['number']} (“{picture['caption'][:80]}”) cannot be read any "
            "longer. Leave it out, and ask for the report again."
        ) from None
    path.write_bytes(small)

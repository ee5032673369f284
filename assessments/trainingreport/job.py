"""What the process that makes a PDF is given: the page, and its photographs as files."""

import json
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from assessments.queries.trainingreport import pictures_in
from assessments.trainingreport.photographs import open_shot
from assessments.trainingreport.wire import JOB, PICTURES, SOURCE
from training.documents import source_of

TEMPLATE = "documents/training_report.html"


def write_job(folder: Path, document: Mapping[str, Any]) -> Path:
    """Write what ``child`` needs into ``folder``, and return it.

    Photographs are copied in pieces, never held whole; one that is kept no longer is left out,
    and the report says so in its place.
    """
    pictures = folder / PICTURES
    pictures.mkdir()
    sources: dict[str, str] = {}
    listed: list[dict[str, Any]] = []
    for picture in pictures_in(document):
        target = pictures / f"{picture['id']}.jpg"
        opened = open_shot(picture["id"])
        if opened is not None:
            with opened, target.open("wb") as copy:
                shutil.copyfileobj(opened, copy)
            sources[picture["id"]] = target.as_uri()
        listed.append(
            {
                "file": target.name,
                "number": picture["number"],
                "caption": picture["caption"],
            }
        )
    paper, title = document["paper"], document["title"]
    context = {"report": document, "sources": sources}
    (folder / SOURCE).write_text(source_of(TEMPLATE, context, paper=paper, title=title))
    (folder / JOB).write_text(json.dumps({"paper": paper, "pictures": listed}))
    return folder

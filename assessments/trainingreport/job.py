"""What the process that makes a PDF is given: the document, and its photographs as files."""

import json
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from assessments.queries.trainingreport import pictures_in
from assessments.trainingreport.photographs import open_shot

JOB, MADE, PICTURES = "job.json", "report.pdf", "pictures"


def write_job(folder: Path, document: Mapping[str, Any]) -> Path:
    """Write what ``child`` needs into ``folder``, and return it.

    Photographs are copied in pieces, never held whole; one that is kept no longer is left out,
    and the report says so in its place.
    """
    pictures = folder / PICTURES
    pictures.mkdir()
    for picture in pictures_in(document):
        source = open_shot(picture["id"])
        if source is not None:
            with source, (pictures / f"{picture['id']}.jpg").open("wb") as target:
                shutil.copyfileobj(source, target)
    (folder / JOB).write_text(json.dumps(document))
    return folder

"""Read the record document that is attached to a PDF."""

from typing import Any

from pyhanko.pdf_utils.reader import PdfFileReader

from assessments.engine import canonical
from assessments.engine.errors import EngineError

FILE_NAME = "record.json"


def read_record(reader: PdfFileReader) -> dict[str, Any] | None:
    """The attached record document; None when there is none, several, or one that is no JSON."""
    try:
        names = list(reader.root["/Names"]["/EmbeddedFiles"]["/Names"])
    except KeyError:
        return None
    files = [
        names[index + 1].get_object()
        for index in range(0, len(names) - 1, 2)
        if names[index] == FILE_NAME
    ]
    if len(files) != 1:
        return None
    try:
        record = canonical.loads(files[0]["/EF"]["/F"].data)
    except EngineError:
        return None
    return record if isinstance(record, dict) else None

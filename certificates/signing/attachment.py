"""Read the record document that is attached to a PDF."""

from typing import Any

from pyhanko.pdf_utils.reader import PdfFileReader

from assessments.engine import canonical
from assessments.engine.errors import EngineError

FILE_NAME = "record.json"
SUBMITTAL_NAME = "submittal.json"


def read_record(reader: PdfFileReader, name: str = FILE_NAME) -> dict[str, Any] | None:
    """The attached document ``name``; None when there is none, several, or one that is no JSON."""
    files = _attached(reader, name)
    if len(files) != 1:
        return None
    try:
        record = canonical.loads(files[0]["/EF"]["/F"].data)
    except EngineError:
        return None
    return record if isinstance(record, dict) else None


def is_attached(reader: PdfFileReader, name: str) -> bool:
    """Whether a file of this name is attached, whatever it holds; False where none can be read."""
    try:
        return bool(_attached(reader, name))
    except Exception:  # a stranger's file: what else is wrong with it is told by those who verify
        return False


def _attached(reader: PdfFileReader, name: str) -> list[Any]:
    try:
        names = list(reader.root["/Names"]["/EmbeddedFiles"]["/Names"])
    except KeyError:
        return []
    return [
        names[index + 1].get_object()
        for index in range(0, len(names) - 1, 2)
        if names[index] == name
    ]

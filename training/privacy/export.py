"""Everything held about a person as one archive (ZIP, APPNOTE 6.3), made while it is sent.

The format is ``bankermark/person/1``, told in training/EXPORT_FORMAT.md.
"""

import hashlib
import json
import logging
import zipfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import PurePosixPath
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db.models.fields.files import FieldFile

from training.models import Person
from training.privacy.parts import PARTS
from training.zipped import Sink, packing

log = logging.getLogger(__name__)

SCHEMA = "bankermark/person/1"
PIECE = 256 * 1024
ROWS_AT_ONCE = 200
README = """\
Everything that is held about you here.

data.json
  All rows, by kind; training/EXPORT_FORMAT.md of the program tells the format.
files/
  The files that belong to them. "files" in data.json says of each its row and its SHA-256.

Where a file could not be read, "missing" in data.json says so.
"""


def archive(person: Person, *, now: datetime) -> Iterator[bytes]:
    """Give the archive in pieces; of a file at most ``PIECE`` bytes are held in memory."""
    sink = Sink()
    told: list[dict[str, Any]] = []
    with packing(sink) as packed:
        packed.writestr("README.txt", README)
        for entry, file in files_of(person):
            yield from _stored(packed, sink, entry, file)
            told.append(entry)
            yield sink.taken()
        document = {**data_of(person, now=now), "files": told}
        packed.writestr("data.json", as_bytes(document))
    yield sink.taken()


def data_of(person: Person, *, now: datetime) -> dict[str, Any]:
    """Return all rows about ``person``: schema, when, and of each part title and rows."""
    return {
        "schema": SCHEMA,
        "made_at": now.isoformat(timespec="seconds"),
        "parts": {
            key: {
                "title": part.title,
                "rows": [part.data(row) for row in part.rows(person).iterator(ROWS_AT_ONCE)],
            }
            for key, part in PARTS.items()
        },
    }


def digest_of(document: dict[str, Any]) -> str:
    """Return the SHA-256 of an export's data, whenever it was made: its parts alone count."""
    return hashlib.sha256(as_bytes(document["parts"])).hexdigest()


def as_bytes(document: Any) -> bytes:
    """Return the document as it is written: UTF-8, times by ISO 8601, numbers exact as text."""
    text = json.dumps(document, cls=DjangoJSONEncoder, ensure_ascii=False, indent=1)
    return text.encode()


def files_of(person: Person) -> Iterator[tuple[dict[str, Any], FieldFile]]:
    """Give each file about ``person`` with what is told of it: part, row, name in the archive."""
    for key, part in PARTS.items():
        for row in part.rows(person).iterator(ROWS_AT_ONCE):
            for column, file in part.files(row):
                if file.name and file.name != "erased":
                    # The row's key and the kind of file: nothing that anybody typed.
                    name = f"files/{key}/{row.pk}-{column}{PurePosixPath(file.name).suffix}"
                    yield {"part": key, "row": str(row.pk), "column": column, "name": name}, file


def _stored(
    packed: zipfile.ZipFile, sink: Sink, entry: dict[str, Any], file: FieldFile
) -> Iterator[bytes]:
    try:
        stored = file.storage.open(file.name or "", "rb")
    # An object store raises its own types; whatever it was, the file cannot be had.
    except Exception:
        log.exception("%s cannot be read for an export", file.name)
        entry["missing"] = "The file cannot be read from the storage."
        return
    digest, size = hashlib.sha256(), 0
    with stored, packed.open(entry["name"], "w") as target:
        while piece := stored.read(PIECE):
            digest.update(piece)
            size += len(piece)
            target.write(piece)
            yield sink.taken()
    entry.update(sha256=digest.hexdigest(), size=size)

"""The PDF of a record as it lies in the storage: read only if it is what was issued."""

import hashlib
import hmac
import logging

from certificates.models import Record
from certificates.signing.verify import MAX_BYTES

log = logging.getLogger(__name__)

MISSING = "The file of this record cannot be read from the storage."
CHANGED = "The file of this record is not the one that was issued: it was changed afterwards."


class NotAsIssued(Exception):  # noqa: N818 - named for what was found
    """The stored file is missing or was changed; the text is a sentence for a reader."""


def read_as_issued(record: Record) -> bytes:
    """Return the record's PDF after comparing it with the digest of its issue.

    A record has some hundred kilobytes, so it is compared and sent from the same copy in
    memory: nothing can slip in between. Raises NotAsIssued, and logs it.
    """
    try:
        with record.pdf.storage.open(record.pdf.name or "", "rb") as stored:
            pdf: bytes = stored.read(MAX_BYTES + 1)
    # An object store raises its own types; whatever it was, the file cannot be had.
    except Exception as error:
        log.exception("record %s: %s cannot be read", record.number, record.pdf.name)
        raise NotAsIssued(MISSING) from error
    found = hashlib.sha256(pdf).hexdigest()
    if not hmac.compare_digest(found, record.pdf_sha256):
        log.error(
            "record %s: %s has SHA-256 %s, was issued with %s",
            record.number,
            record.pdf.name,
            found,
            record.pdf_sha256,
        )
        raise NotAsIssued(CHANGED)
    return pdf

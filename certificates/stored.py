"""The PDFs of a record as they lie in the storage: read only if they are what was issued."""

import hashlib
import hmac
import logging

from django.utils.translation import gettext_noop as N_

from certificates.models import Record
from certificates.rendering import CERTIFICATE, COMPETENCY, Kind
from certificates.signing.verify import MAX_BYTES

log = logging.getLogger(__name__)

MISSING = N_("The file of this record cannot be read from the storage.")
CHANGED = N_("The file of this record is not the one that was issued: it was changed afterwards.")
ERASED = N_(
    "This record was erased at the holder's wish: neither its content nor its file is kept."
)


class NotAsIssued(Exception):  # noqa: N818 - named for what was found
    """The stored file is missing or was changed; the text is a sentence for a reader."""


class ErasedRecord(NotAsIssued):
    """The file is gone for good, since the holder was erased."""


def is_erased(record: Record) -> bool:
    """Say whether the content of the record was erased with its holder's data."""
    return "erased" in record.document


def read_as_issued(record: Record, kind: Kind = CERTIFICATE) -> bytes:
    """Return a PDF of the record after comparing it with the digest of its issue.

    ``kind`` is ``certificate`` or ``competency``; records from before there were two documents
    have the first alone. A document has some hundred kilobytes, with photographs up to three
    thousand, so it is compared and sent from the same copy in memory: nothing can slip in
    between. Raises NotAsIssued, and logs it; its kind ErasedRecord for one that was erased.
    """
    if is_erased(record):
        raise ErasedRecord(ERASED)
    file, digest = record.pdf, record.pdf_sha256
    if kind == COMPETENCY:
        file, digest = record.competency, record.competency_sha256 or ""
    try:
        with file.storage.open(file.name or "", "rb") as stored:
            pdf: bytes = stored.read(MAX_BYTES + 1)
    # An object store raises its own types; whatever it was, the file cannot be had.
    except Exception as error:
        log.exception("record %s: %s cannot be read", record.number, file.name)
        raise NotAsIssued(MISSING) from error
    found = hashlib.sha256(pdf).hexdigest()
    if not hmac.compare_digest(found, digest):
        log.error(
            "record %s: %s has SHA-256 %s, was issued with %s",
            record.number,
            file.name,
            found,
            digest,
        )
        raise NotAsIssued(CHANGED)
    return pdf

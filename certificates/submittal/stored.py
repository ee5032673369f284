"""The PDF of a submittal as it lies in the storage: read only if it is what was signed."""

import hashlib
import hmac
import logging

from certificates.models import Submittal
from certificates.signing.verify import MAX_BYTES
from certificates.stored import NotAsIssued
from training.privacy.erasable import GONE

ERASED = (
    "The file of this submittal was removed, since it named a person whose data was erased. A copy "
    "that was saved before can still be checked."
)
log = logging.getLogger(__name__)

MISSING = "The file of this submittal cannot be read from the storage."
CHANGED = "The file of this submittal is not the one that was signed: it was changed afterwards."


def read_as_submitted(submittal: Submittal) -> bytes:
    """Return the signed PDF after comparing it with its digest; NotAsIssued, logged, else."""
    file = submittal.pdf
    if file.name == GONE:
        raise NotAsIssued(ERASED)
    try:
        with file.storage.open(file.name or "", "rb") as stored:
            pdf: bytes = stored.read(MAX_BYTES + 1)
    # An object store raises its own types; whatever it was, the file cannot be had.
    except Exception as error:
        log.exception("submittal %s: %s cannot be read", submittal.pk, file.name)
        raise NotAsIssued(MISSING) from error
    found = hashlib.sha256(pdf).hexdigest()
    if not hmac.compare_digest(found, submittal.pdf_sha256):
        log.error("submittal %s: %s has SHA-256 %s", submittal.pk, file.name, found)
        raise NotAsIssued(CHANGED)
    return pdf

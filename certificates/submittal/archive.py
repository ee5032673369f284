"""All of a submittal in one file: the signed PDF, every record, and what they are checked with."""

import logging
import zipfile
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from functools import partial

from cryptography import x509
from django.conf import settings

from certificates.checker import checker_page
from certificates.keys import keystore_of
from certificates.models import Record, Submittal
from certificates.rendering import CERTIFICATE, COMPETENCY, Kind
from certificates.signing import KeyStoreError
from certificates.stored import NotAsIssued, read_as_issued
from certificates.submittal.stored import read_as_submitted
from training.models import Organisation
from training.said import english
from training.zipped import Sink, packing

log = logging.getLogger(__name__)

NO_KEYS = "The certificates of this issuer could not be read when this archive was made."
CHECKER = settings.BASE_DIR / "static" / "checker"
# The oldest time that the format knows: the same content gives the same bytes.
FIXED = (1980, 1, 1, 0, 0, 0)
FILE_MODE = 0o100644 << 16


def archive(submittal: Submittal, *, now: datetime) -> Iterator[bytes]:
    """Give the archive (ZIP, APPNOTE 6.3) in pieces; at most one file is held in memory.

    In it, below ``submittal-N/``: the signed PDF, both PDFs of every record as issued, the roots
    and the lists of revoked certificates of all who signed, the checker, and README.txt. A file
    that cannot be read as it was signed is replaced by a text that says so. The same state of the
    storage and of the lists gives the same bytes.
    """
    sink = Sink()
    folder = f"submittal-{submittal.number}"
    with packing(sink) as packed:
        for name, data in _files(submittal, now):
            entry = zipfile.ZipInfo(f"{folder}/{name}", FIXED)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = FILE_MODE
            packed.writestr(entry, data)
            yield sink.taken()
    yield sink.taken()


def _files(submittal: Submittal, now: datetime) -> Iterator[tuple[str, bytes]]:
    name = f"submittal-{submittal.number}.pdf"
    yield from _one(name, partial(read_as_submitted, submittal))
    issuers = {submittal.project.contractor_id: submittal.project.contractor}
    for record in _records(submittal):
        issuers[record.provider_id] = record.provider
        yield from _of_record(record)
    roots: list[x509.Certificate] = []
    for pk in sorted(issuers):
        found, files = _keys(issuers[pk], now)
        roots += found
        yield from files
    page = checker_page(CHECKER, roots, origin=settings.BASE_URL, made=submittal.submitted_at)
    yield "record-checker.html", page.encode()
    yield "README.txt", readme(submittal, [issuers[pk] for pk in sorted(issuers)]).encode()


def _records(submittal: Submittal) -> Iterable[Record]:
    rows = submittal.records.select_related("record__provider").defer("record__document")
    return (row.record for row in rows.order_by("record__number").iterator(chunk_size=50))


def _of_record(record: Record) -> Iterator[tuple[str, bytes]]:
    kinds: tuple[Kind, ...] = (CERTIFICATE, COMPETENCY) if record.competency else (CERTIFICATE,)
    for kind in kinds:
        # The number is made here of digits and capitals: nothing that anybody typed.
        yield from _one(
            f"records/{record.number}-{kind}.pdf", partial(read_as_issued, record, kind)
        )


def _one(name: str, read: Callable[[], bytes]) -> Iterator[tuple[str, bytes]]:
    try:
        yield name, read()
    except NotAsIssued as missing:
        yield f"{name}.MISSING.txt", f"{missing} Ask whoever sent you this archive.\r\n".encode()


def _keys(
    issuer: Organisation, now: datetime
) -> tuple[list[x509.Certificate], list[tuple[str, bytes]]]:
    """Return the roots of an issuer, and the files of its roots and of its list."""
    keystore = keystore_of(issuer)
    base = f"keys/issuer-{issuer.pk}"
    try:
        roots, pem = keystore.roots(), keystore.roots_pem()
        return roots, [(f"{base}-root.pem", pem), (f"{base}.crl", keystore.crl(now))]
    except KeyStoreError:
        log.exception("the keys of issuer %s are left out of an archive", issuer.pk)
        return [], [(f"{base}.MISSING.txt", f"{NO_KEYS}\r\n".encode())]


def readme(submittal: Submittal, issuers: Iterable[Organisation]) -> str:
    """Return the text that tells what is in the archive and how to check it."""
    lines = [
        f"Submittal {submittal.number} of {submittal.project.name}",
        f"by {submittal.project.contractor.name}",
        "",
        f"submittal-{submittal.number}.pdf",
        "  Who covers which post, signed by the contractor. The file submittal.json inside it",
        "  says the same as data. Its SHA-256 is",
        f"  {submittal.pdf_sha256}",
        "records/",
        "  Both PDFs of every record that it names, as their issuers signed them.",
        "keys/",
        "  The root certificates (PEM) of those who signed, and their lists of revoked",
        "  certificates (DER, RFC 5280) as they were when this archive was made:",
        *(
            f"  issuer-{each.pk}: {each.name} ({english(each.get_kind_display())})"
            for each in issuers
        ),
        "record-checker.html",
        "  A page that works without a connection. Open it in a browser and choose the PDFs: it",
        "  says of each whether it is, to the last byte, what was signed, and by whom. The roots",
        "  in keys/ are in it. They came with the files, so compare them with those that the",
        f"  issuers publish: {settings.BASE_URL}/issuers/NUMBER/root.pem.",
        "",
        "What no file can know: whether a record was suspended, withdrawn or replaced since.",
        f"Check its number at {settings.BASE_URL}/check/.",
        "",
        "Where a file could not be read as it was signed, a text ending in .MISSING.txt stands",
        "in its place.",
        "",
        "A record says that its holder met the passing standard of a certificate program. It is",
        "not a certification of persons and not a license. Local codes and licensed practice",
        "govern the work.",
    ]
    return "\r\n".join([*lines, ""])

"""Check that a PDF is a record as its issuer signed it, to the last byte."""

import logging
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from io import BytesIO
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.decode_limits import (
    DEFAULT_PURPOSE_LIMITS,
    DecodeLimits,
    DecodePurpose,
    DocumentDecodeBudget,
    StreamDecodeLimits,
)
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import EmbeddedPdfSignature
from pyhanko.sign.validation.pdf_embedded import async_validate_pdf_signature
from pyhanko.sign.validation.status import PdfSignatureStatus
from pyhanko_certvalidator import ValidationContext

from certificates.signing import verdict
from certificates.signing.attachment import read_record
from certificates.signing.form import faults_of_form
from certificates.signing.verdict import Verdict
from certificates.signing.waiting import wait_for

# A record has some 100 kB, and its streams swell to some 300 kB each. Wider limits would let a
# small hostile file keep a server busy for minutes.
MAX_BYTES = 4 * 1024 * 1024
MAX_STREAM = 4 * 1024 * 1024
MAX_TABLE = 256 * 1024
LIMITS = DecodeLimits(
    per_stream=StreamDecodeLimits(max_output_size=MAX_STREAM),
    per_purpose={
        **DEFAULT_PURPOSE_LIMITS,
        DecodePurpose.XREF_STREAM: StreamDecodeLimits(max_output_size=MAX_TABLE),
    },
    document_budget=DocumentDecodeBudget(base_allowance=4 * MAX_STREAM, max_ratio=4),
)
# The clock of the machine that signed and of the one that checks may differ.
CLOCK_ALLOWANCE = timedelta(minutes=10)

logger = logging.getLogger(__name__)


def verify(pdf: bytes, trusted: list[x509.Certificate], *, now: datetime | None = None) -> Verdict:
    """Return the verdict on ``pdf``; ``trusted`` are the roots of the issuers known here.

    The certificate is judged at the time that the signature bears, so a record stays genuine
    after its signing certificate has run out. ``now`` (default: this machine's clock) only
    bounds that time. Never raises for what is in ``pdf``.
    """
    if len(pdf) > MAX_BYTES:
        return Verdict([verdict.TOO_LARGE])
    if not pdf.startswith(b"%PDF-"):
        return Verdict([verdict.NOT_A_PDF])
    try:
        return _verify(pdf, trusted, now or datetime.now(UTC))
    except Exception:
        # The bytes come from anyone, and the parser below raises dozens of types on hostile
        # ones; whatever it stumbles over, the answer to the reader is the same.
        logger.info("a PDF could not be read while it was checked", exc_info=True)
        return Verdict([verdict.UNREADABLE])


def _verify(pdf: bytes, trusted: list[x509.Certificate], now: datetime) -> Verdict:
    reader = PdfFileReader(BytesIO(pdf), decode_limits=LIMITS)
    if reader.encrypted:
        return Verdict([verdict.ENCRYPTED])
    signatures = reader.embedded_signatures
    if not signatures:
        return Verdict([verdict.NO_SIGNATURE])
    if len(signatures) > 1:
        return Verdict([verdict.SEVERAL_SIGNATURES])
    signature = signatures[0]
    signed_at = signature.self_reported_timestamp
    faults = faults_of_form(pdf, reader, signature)
    faults += _faults_of_signature(signature, trusted, signed_at, now)
    record = None if faults else read_record(reader)
    if not faults and record is None:
        faults.append(verdict.NO_RECORD)
    return Verdict(
        faults,
        signed_at=signed_at,
        signer=signature.signer_cert.subject.native.get("common_name"),
        certificate_sha256=signature.signer_cert.sha256.hex(),
        record=record,
    )


def _faults_of_signature(
    signature: EmbeddedPdfSignature,
    trusted: list[x509.Certificate],
    signed_at: datetime | None,
    now: datetime,
) -> list[str]:
    """Faults of the signature and of the certificate that it was made with."""
    if signed_at is None or signed_at.tzinfo is None:
        return [verdict.NOT_A_RECORD_SIGNATURE]
    certificate = signature.signer_cert
    status = _status(signature, trusted, signed_at)
    faults = []
    if not status.intact:
        faults.append(verdict.ALTERED)
    if not status.valid:
        faults.append(verdict.BAD_SIGNATURE)
    if not certificate.not_valid_before <= signed_at <= certificate.not_valid_after:
        faults.append(verdict.OUTSIDE_VALIDITY)
    elif not faults and not (trusted and status.trusted):
        # Whose certificate it is has no meaning unless the signature was made with it.
        faults.append(verdict.UNKNOWN_ISSUER)
    if signed_at > now + CLOCK_ALLOWANCE:
        faults.append(verdict.SIGNED_IN_FUTURE)
    if not faults and not status.bottom_line:
        faults.append(verdict.ALTERED)
    return faults


def _status(
    signature: EmbeddedPdfSignature, trusted: list[x509.Certificate], signed_at: datetime
) -> PdfSignatureStatus:
    context = ValidationContext(
        trust_roots=[_root(certificate) for certificate in trusted],
        moment=signed_at,
        allow_fetching=False,
    )
    return wait_for(
        async_validate_pdf_signature(signature, signer_validation_context=context, skip_diff=True)
    )


@lru_cache(maxsize=64)
def _root(certificate: x509.Certificate) -> Any:
    """The certificate in pyHanko's form: kept, because the same few roots serve every check."""
    (root,) = load_certs_from_pemder_data(certificate.public_bytes(Encoding.DER))
    return root

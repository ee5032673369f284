"""Check that a PDF is a record as its issuer signed it, to the last byte."""

import logging
from datetime import UTC, datetime, timedelta
from io import BytesIO

from cryptography import x509
from cryptography.hazmat.primitives import serialization
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.validation import EmbeddedPdfSignature
from pyhanko.sign.validation.pdf_embedded import (
    async_validate_pdf_signature,
    read_certification_data,
)
from pyhanko.sign.validation.status import PdfSignatureStatus
from pyhanko_certvalidator import ValidationContext

from certificates.signing import verdict
from certificates.signing.attachment import read_record
from certificates.signing.verdict import Verdict
from certificates.signing.waiting import wait_for

MAX_BYTES = 20 * 1024 * 1024
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
    reader = PdfFileReader(BytesIO(pdf))
    if reader.encrypted:
        return Verdict([verdict.ENCRYPTED])
    signatures = reader.embedded_signatures
    if not signatures:
        return Verdict([verdict.NO_SIGNATURE])
    if len(signatures) > 1:
        return Verdict([verdict.SEVERAL_SIGNATURES])
    signature = signatures[0]
    signed_at = signature.self_reported_timestamp
    faults = _faults_of_form(pdf, reader, signature)
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


def _faults_of_form(
    pdf: bytes, reader: PdfFileReader, signature: EmbeddedPdfSignature
) -> list[str]:
    """Faults that show without any cryptography: what is covered, and by what kind."""
    faults = []
    if not _covers_all(pdf, signature):
        faults.append(verdict.NOT_WHOLE)
    certification = read_certification_data(reader)
    if (
        signature.sig_object.get("/SubFilter") != SigSeedSubFilter.PADES.value
        or certification is None
        or certification.permission != MDPPerm.NO_CHANGES
        or certification.author_sig.container_ref != signature.sig_object.container_ref
    ):
        faults.append(verdict.NOT_A_RECORD_SIGNATURE)
    return faults


def _covers_all(pdf: bytes, signature: EmbeddedPdfSignature) -> bool:
    """Whether every byte is either hashed or part of the signature itself.

    ISO 32000-1, 12.8.1 lets the byte range leave out the signature's own hex string, and only
    that; the zeros that fill up the string must be zeros.
    """
    byte_range = [int(number) for number in signature.byte_range]
    if len(byte_range) != 4:
        return False
    start, before, resume, after = byte_range
    if start != 0 or not 0 < before < resume or resume + after != len(pdf):
        return False
    gap = pdf[before:resume]
    if gap[:1] != b"<" or gap[-1:] != b">":
        return False
    contents = bytes.fromhex(gap[1:-1].decode("ascii"))
    if contents.hex().upper().encode() != gap[1:-1] or contents != signature.pkcs7_content:
        return False
    return not any(contents[_der_length(contents) :])


def _der_length(data: bytes) -> int:
    """Number of bytes of the DER value at the start of ``data`` (ITU-T X.690, 8.1.3 and 10.1)."""
    first = data[1]
    if first < 0x80:
        return 2 + first
    octets = first & 0x7F
    return 2 + octets + int.from_bytes(data[2 : 2 + octets], "big")


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
    elif not (trusted and status.trusted):
        faults.append(verdict.UNKNOWN_ISSUER)
    if signed_at > now + CLOCK_ALLOWANCE:
        faults.append(verdict.SIGNED_IN_FUTURE)
    if not faults and not status.bottom_line:
        faults.append(verdict.ALTERED)
    return faults


def _status(
    signature: EmbeddedPdfSignature, trusted: list[x509.Certificate], signed_at: datetime
) -> PdfSignatureStatus:
    pem = b"".join(root.public_bytes(serialization.Encoding.PEM) for root in trusted)
    context = ValidationContext(
        trust_roots=list(load_certs_from_pemder_data(pem)) if trusted else [],
        moment=signed_at,
        allow_fetching=False,
    )
    return wait_for(
        async_validate_pdf_signature(signature, signer_validation_context=context, skip_diff=True)
    )

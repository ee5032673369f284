"""Check that a PDF is a record as its issuer signed it, to the last byte."""

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO

from cryptography import x509
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
from certificates.signing.attachment import (
    FILE_NAME,
    SUBMITTAL_NAME,
    is_attached,
    read_record,
)
from certificates.signing.evidence import read_evidence
from certificates.signing.form import faults_of_form, token_of
from certificates.signing.stamping import CLOCK_ALLOWANCE, as_asn1, time_in
from certificates.signing.trusted import judge_revocation, read_stamp
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

logger = logging.getLogger(__name__)


def verify(
    pdf: bytes,
    trusted: Sequence[x509.Certificate],
    *,
    now: datetime | None = None,
    stamp_roots: Sequence[x509.Certificate] = (),
    crls: Sequence[x509.CertificateRevocationList] = (),
    attached: str = FILE_NAME,
) -> Verdict:
    """Return the verdict on ``pdf``; ``trusted`` are the roots of the issuers known here.

    ``attached`` names the file inside that is given as ``record``: that of a record, or
    ``SUBMITTAL_NAME`` of a contractor's submittal, which is trusted by the contractor's roots.

    The certificate is judged at the time that the signature bears, so a record stays genuine
    after its signing certificate has run out. ``now`` (default: this machine's clock) only
    bounds that time. ``stamp_roots`` are the roots of time-stamp authorities known here; the
    time of any other authority is not trusted. ``crls`` are lists of revoked certificates, which
    are looked at beside those inside the file. Never raises for what is in ``pdf``.
    """
    if len(pdf) > MAX_BYTES:
        return Verdict([verdict.TOO_LARGE])
    if not pdf.startswith(b"%PDF-"):
        return Verdict([verdict.NOT_A_PDF])
    try:
        trust = _Trust(trusted, tuple(stamp_roots), crls)
        return _verify(pdf, trust, now or datetime.now(UTC), attached)
    except Exception:
        # The bytes come from anyone, and the parser below raises dozens of types on hostile
        # ones; whatever it stumbles over, the answer to the reader is the same.
        logger.info("a PDF could not be read while it was checked", exc_info=True)
        return Verdict([verdict.UNREADABLE])


@dataclass(frozen=True)
class _Trust:
    """Whom the reader trusts, and the lists that the reader has."""

    roots: Sequence[x509.Certificate]
    stamp_roots: tuple[x509.Certificate, ...]
    lists: Sequence[x509.CertificateRevocationList]


def _verify(pdf: bytes, trust: _Trust, now: datetime, attached: str) -> Verdict:
    reader = PdfFileReader(BytesIO(pdf), decode_limits=LIMITS)
    if reader.encrypted:
        return Verdict([verdict.ENCRYPTED])
    signatures = reader.embedded_signatures
    if not signatures:
        return Verdict([verdict.NO_SIGNATURE])
    if len(signatures) > 1:
        return Verdict([verdict.SEVERAL_SIGNATURES])
    if attached == FILE_NAME and is_attached(reader, SUBMITTAL_NAME):
        return Verdict([verdict.SUBMITTAL])
    signature = signatures[0]
    evidence = read_evidence(reader)
    signed_at = signature.self_reported_timestamp
    faults = faults_of_form(pdf, reader, signature, evidence)
    status = _status(signature, trust, signed_at) if _has_zone(signed_at) else None
    faults += _faults_of_signature(signature, status, signed_at, now, known=bool(trust.roots))
    stamp = read_stamp(
        status.timestamp_validity if status else None, signed_at, known=bool(trust.stamp_roots)
    )
    faults += stamp.faults
    revocation = judge_revocation(signature.signer_cert, trust.roots, trust.lists, evidence)
    if not faults:
        faults += revocation.faults(stamp.trusted_at)
    record = None if faults else read_record(reader, attached)
    if not faults and record is None:
        faults.append(verdict.NO_RECORD)
    return Verdict(
        faults,
        signed_at=signed_at,
        signer=signature.signer_cert.subject.native.get("common_name"),
        certificate_sha256=signature.signer_cert.sha256.hex(),
        record=record,
        stamped_at=stamp.trusted_at,
        level=stamp.level(evidence),
        revoked=revocation.revoked,
        doubtful_from=revocation.doubtful_from,
    )


def _has_zone(signed_at: datetime | None) -> bool:
    return signed_at is not None and signed_at.tzinfo is not None


def _faults_of_signature(
    signature: EmbeddedPdfSignature,
    status: PdfSignatureStatus | None,
    signed_at: datetime | None,
    now: datetime,
    *,
    known: bool,
) -> list[str]:
    """Faults of the signature and of the certificate that it was made with."""
    if status is None or signed_at is None:
        return [verdict.NOT_A_RECORD_SIGNATURE]
    certificate = signature.signer_cert
    faults = []
    if not status.intact:
        faults.append(verdict.ALTERED)
    if not status.valid:
        faults.append(verdict.BAD_SIGNATURE)
    if not certificate.not_valid_before <= signed_at <= certificate.not_valid_after:
        faults.append(verdict.OUTSIDE_VALIDITY)
    elif not faults and not (known and status.trusted):
        # Whose certificate it is has no meaning unless the signature was made with it.
        faults.append(verdict.UNKNOWN_ISSUER)
    if signed_at > now + CLOCK_ALLOWANCE:
        faults.append(verdict.SIGNED_IN_FUTURE)
    # Whether the time-stamp is trusted is another question than whether the file is as signed.
    if not faults and not status.seed_value_ok:
        faults.append(verdict.ALTERED)
    return faults


def _status(
    signature: EmbeddedPdfSignature, trust: _Trust, signed_at: datetime | None
) -> PdfSignatureStatus:
    token = token_of(signature)
    stamped_at = time_in(token) if token is not None else None
    return wait_for(
        async_validate_pdf_signature(
            signature,
            signer_validation_context=_context(trust.roots, signed_at),
            ts_validation_context=_context(trust.stamp_roots, stamped_at),
            skip_diff=True,
        )
    )


def _context(roots: Sequence[x509.Certificate], moment: datetime | None) -> ValidationContext:
    """Trust in ``roots`` at one moment, without asking anybody over the network."""
    return ValidationContext(
        trust_roots=[as_asn1(root) for root in roots], moment=moment, allow_fetching=False
    )

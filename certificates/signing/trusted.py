"""When a file was signed at the latest, and what became of the certificate since."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from asn1crypto import x509 as asn1_x509
from cryptography import x509
from pyhanko.sign.validation.status import TimestampSignatureStatus

from certificates.signing import verdict
from certificates.signing.evidence import Evidence
from certificates.signing.revocation import find_revocation
from certificates.signing.stamping import CLOCK_ALLOWANCE


@dataclass(frozen=True)
class Stamp:
    """The time-stamp of a signature; ``trusted_at`` only from an authority known here."""

    present: bool = False
    trusted_at: datetime | None = None
    faults: list[str] = field(default_factory=list)

    def level(self, evidence: Evidence) -> Literal["B-B", "B-T", "B-LT"]:
        """The level of PAdES that the file was made as."""
        if not self.present:
            return "B-B"
        return "B-LT" if evidence.lists else "B-T"


@dataclass(frozen=True)
class Judged:
    """What the lists say of a certificate; None where there is no list to look at."""

    revoked: bool | None
    doubtful_from: datetime | None = None

    def faults(self, trusted_at: datetime | None) -> list[str]:
        """None for a signature that was certainly made before the doubt began."""
        if self.doubtful_from is None:
            return []
        if trusted_at is None:
            return [verdict.REVOKED_UNSTAMPED]
        return [verdict.REVOKED_BEFORE] if trusted_at >= self.doubtful_from else []


def read_stamp(
    status: TimestampSignatureStatus | None, signed_at: datetime | None, *, known: bool
) -> Stamp:
    """Judge what pyHanko says of the time-stamp of a signature, if there is one.

    Its own signature must be good whether or not its authority is ``known``, and the time in it
    that which the signature bears, but for what clocks differ.
    """
    if status is None:
        return Stamp()
    if not (status.intact and status.valid):
        return Stamp(present=True, faults=[verdict.BAD_STAMP])
    if signed_at is None or abs(status.timestamp - signed_at) > CLOCK_ALLOWANCE:
        return Stamp(present=True, faults=[verdict.STAMP_AT_ODDS])
    return Stamp(present=True, trusted_at=status.timestamp if known and status.trusted else None)


def judge_revocation(
    certificate: asn1_x509.Certificate,
    roots: Sequence[x509.Certificate],
    lists: Sequence[x509.CertificateRevocationList],
    evidence: Evidence,
) -> Judged:
    """What the lists given and those inside the file say of the signer's certificate."""
    signer = x509.load_der_x509_certificate(certificate.dump())
    for root in roots:
        try:
            signer.verify_directly_issued_by(root)
        except Exception:  # the library raises ValueError, TypeError or InvalidSignature
            continue
        revoked, found = find_revocation(signer, root, (*lists, *evidence.lists))
        return Judged(revoked, found.doubtful_from if found else None)
    return Judged(None)

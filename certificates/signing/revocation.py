"""Lists of revoked signing certificates (RFC 5280, section 5): made by the issuer's root, and read.

A list says of each certificate since when it is revoked and, where that is known to be earlier,
since when its key was in doubt (the invalidity date, 5.3.2).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec

# RFC 5280, 5.1.2.5 leaves the period to the issuer: common practice for offline roots, no source.
LIST_LIFE = timedelta(days=30)
# A list older than this is made anew when somebody asks for it.
LIST_REFRESH = timedelta(days=7)
KEY_COMPROMISE = x509.ReasonFlags.key_compromise


@dataclass(frozen=True)
class Revocation:
    """One revoked certificate: ``doubtful_from`` is the instant from which nothing counts."""

    serial: int
    revoked_at: datetime
    doubtful_from: datetime
    reason: x509.ReasonFlags


def make_list(
    root: x509.Certificate,
    root_key: ec.EllipticCurvePrivateKey,
    revocations: Iterable[Revocation],
    *,
    number: int,
    at: datetime,
) -> x509.CertificateRevocationList:
    """The list of ``root`` as at ``at``; ``number`` is greater than that of every list before."""
    builder = (
        x509.CertificateRevocationListBuilder()
        .issuer_name(root.subject)
        .last_update(at)
        .next_update(at + LIST_LIFE)
        .add_extension(x509.CRLNumber(number), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(root_key.public_key()),
            critical=False,
        )
    )
    for revocation in revocations:
        builder = builder.add_revoked_certificate(_entry(revocation))
    return builder.sign(root_key, hashes.SHA256())


def number_of(listed: x509.CertificateRevocationList) -> int:
    """The number of a list."""
    return listed.extensions.get_extension_for_class(x509.CRLNumber).value.crl_number


def find_revocation(
    certificate: x509.Certificate,
    root: x509.Certificate,
    lists: Iterable[x509.CertificateRevocationList],
) -> tuple[bool | None, Revocation | None]:
    """Whether the lists that ``root`` signed name ``certificate``, and the earliest doubt if so.

    None when there is no list of this root at all, so that nothing is known. Lists of others
    are left out.
    """
    own = [listed for listed in lists if _is_of(listed, root)]
    found = [
        _read(entry)
        for listed in own
        if (entry := listed.get_revoked_certificate_by_serial_number(certificate.serial_number))
        is not None
    ]
    if found:
        return True, min(found, key=lambda revocation: revocation.doubtful_from)
    return (False if own else None), None


def _is_of(listed: x509.CertificateRevocationList, root: x509.Certificate) -> bool:
    key = root.public_key()
    return (
        listed.issuer == root.subject
        and isinstance(key, ec.EllipticCurvePublicKey)
        and listed.is_signature_valid(key)
    )


def _entry(revocation: Revocation) -> x509.RevokedCertificate:
    builder = (
        x509.RevokedCertificateBuilder()
        .serial_number(revocation.serial)
        .revocation_date(revocation.revoked_at)
        .add_extension(x509.CRLReason(revocation.reason), critical=False)
    )
    if revocation.doubtful_from < revocation.revoked_at:
        doubtful = revocation.doubtful_from.replace(tzinfo=None)
        builder = builder.add_extension(x509.InvalidityDate(doubtful), critical=False)
    return builder.build()


def _read(entry: x509.RevokedCertificate) -> Revocation:
    revoked_at = doubtful_from = entry.revocation_date_utc
    reason = x509.ReasonFlags.unspecified
    for extension in entry.extensions:
        if isinstance(extension.value, x509.InvalidityDate):
            doubtful_from = min(revoked_at, extension.value.invalidity_date_utc)
        elif isinstance(extension.value, x509.CRLReason):
            reason = extension.value.reason
    return Revocation(entry.serial_number, revoked_at, doubtful_from, reason)

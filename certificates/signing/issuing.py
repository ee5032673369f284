"""Making of keys and certificates: an issuer root, and signing certificates below it.

Keys are ECDSA on P-256. Certificates follow the profile of RFC 5280. There is no extended key
usage: readers that know only some purposes would refuse a certificate that names another one.
"""

from datetime import datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

ROOT_LIFE = timedelta(days=30 * 365)
SIGNING_LIFE = timedelta(days=10 * 365)
# Machines that share a folder may differ by some minutes; a certificate must not start later
# than the first signature made with it.
CLOCK_ALLOWANCE = timedelta(days=1)
# RFC 5280, appendix A.1: ub-common-name and ub-organization-name. The library counts bytes.
LONGEST_NAME = 64


def make_key() -> ec.EllipticCurvePrivateKey:
    """A fresh private key on P-256."""
    return ec.generate_private_key(ec.SECP256R1())


def make_root(
    key: ec.EllipticCurvePrivateKey, *, organisation: str, at: datetime
) -> x509.Certificate:
    """The self-signed root of an issuer, valid for 30 years from the day before ``at``."""
    name = _name(organisation, "issuer root")
    public = key.public_key()
    return (
        _begin(name, name, public, at, at + ROOT_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(root=True), critical=True)
        .sign(key, hashes.SHA256())
    )


def make_signing_certificate(
    key: ec.EllipticCurvePrivateKey,
    *,
    root: x509.Certificate,
    root_key: ec.EllipticCurvePrivateKey,
    organisation: str,
    at: datetime,
    purpose: str = "records",
    crl_url: str | None = None,
) -> x509.Certificate:
    """A certificate for signing, for 10 years or until the root ends if that is sooner.

    ``purpose`` is what it signs, and stands in its name. ``crl_url`` is the public address of the
    list of revoked certificates (RFC 5280, 4.2.1.13).
    """
    end = min(at + SIGNING_LIFE, root.not_valid_after_utc)
    builder = (
        _begin(_name(organisation, purpose), root.subject, key.public_key(), at, end)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(root=False), critical=True)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(root_key.public_key()),
            critical=False,
        )
    )
    if crl_url:
        place = x509.DistributionPoint([x509.UniformResourceIdentifier(crl_url)], None, None, None)
        builder = builder.add_extension(x509.CRLDistributionPoints([place]), critical=False)
    return builder.sign(root_key, hashes.SHA256())


def _begin(
    subject: x509.Name,
    issuer: x509.Name,
    public: ec.EllipticCurvePublicKey,
    at: datetime,
    end: datetime,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(at - CLOCK_ALLOWANCE)
        .not_valid_after(end)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
    )


def _name(organisation: str, purpose: str) -> x509.Name:
    ending = f", {purpose}"
    return x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, _cut(organisation, LONGEST_NAME)),
            x509.NameAttribute(
                NameOID.COMMON_NAME, _cut(organisation, LONGEST_NAME - len(ending)) + ending
            ),
        ]
    )


def _cut(text: str, most: int) -> str:
    """As many letters of ``text`` as take ``most`` bytes of UTF-8."""
    return text.encode()[:most].decode(errors="ignore")


def _usage(*, root: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not root,
        content_commitment=not root,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=root,
        crl_sign=root,
        encipher_only=False,
        decipher_only=False,
    )

"""Signers and a time-stamp authority that no issuer vouches for, in names that pretend it."""

from datetime import UTC, datetime, timedelta
from functools import cache

from asn1crypto import keys
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from pyhanko.sign.signers import SimpleSigner
from pyhanko.sign.timestamps.dummy_client import DummyTimeStamper

from tests.certificates.pdf.conftest import SIGNED_AT
from tests.certificates.tamper.objects import SimpleCertificateStore
from tests.certificates.tamper.subject import Subject

Key = ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey
LIFE = timedelta(days=365)


def certificate(
    key: Key,
    subject: x509.Name,
    issuer: x509.Name,
    issuer_key: Key,
    *,
    serial: int | None = None,
    time_stamping: bool = False,
) -> x509.Certificate:
    """A certificate for ``key`` in the name of ``subject``, as ``issuer`` would make it."""
    builder = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(serial or x509.random_serial_number())
        .not_valid_before(SIGNED_AT - LIFE)
        .not_valid_after(SIGNED_AT + 9 * LIFE)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(
            x509.KeyUsage(
                digital_signature=True, content_commitment=True, key_encipherment=False,
                data_encipherment=False, key_agreement=False, key_cert_sign=False,
                crl_sign=False, encipher_only=False, decipher_only=False,
            ),
            critical=True,
        )
    )  # fmt: skip
    if time_stamping:
        usage = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING])
        builder = builder.add_extension(usage, critical=True)
    return builder.sign(issuer_key, hashes.SHA256())


def signer_of(key: Key, own: x509.Certificate, *others: x509.Certificate) -> SimpleSigner:
    """A signer that also embeds ``others``."""
    store = SimpleCertificateStore()
    store.register_multiple([_asn1(other) for other in others])
    return SimpleSigner(signing_cert=_asn1(own), signing_key=_key(key), cert_registry=store)


def stranger(subject: Subject) -> SimpleSigner:
    """Somebody with a certificate that has the issuer's names and number, made by himself."""
    genuine = subject.keystore.signing_certificates()[0]
    key = ec.generate_private_key(ec.SECP256R1())
    own = certificate(key, genuine.subject, genuine.issuer, key, serial=genuine.serial_number)
    return signer_of(key, own)


def below_leaf(subject: Subject) -> SimpleSigner:
    """A certificate issued by the signing certificate, which may not issue any.

    RFC 5280, 4.2.1.9.
    """
    identity = subject.keystore.identity(at=SIGNED_AT)
    key = ec.generate_private_key(ec.SECP256R1())
    own = certificate(key, identity.certificate.subject, identity.certificate.subject, identity.key)
    return signer_of(key, own, identity.certificate)


@cache
def time_stamper() -> DummyTimeStamper:
    """A time-stamp authority of no repute."""
    key = rsa.generate_private_key(65537, 2048)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Clock of Eve")])
    own = certificate(key, name, name, key, time_stamping=True)
    return DummyTimeStamper(
        _asn1(own), _key(key), fixed_dt=datetime(2026, 9, 28, 14, 5, tzinfo=UTC)
    )


def _asn1(own: x509.Certificate) -> asn1_x509.Certificate:
    return asn1_x509.Certificate.load(own.public_bytes(serialization.Encoding.DER))


def _key(key: Key) -> keys.PrivateKeyInfo:
    return keys.PrivateKeyInfo.load(
        key.private_bytes(
            serialization.Encoding.DER,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )

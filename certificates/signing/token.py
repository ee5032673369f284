"""The one form in which a time-stamp token (RFC 3161, 2.4.2) stands in a record.

An authority may dress the same signed statement in many ways: other certificates beside it,
attributes that nobody signed, other encodings. A record keeps what the authority signed and the
certificates that lead to a root, each of which is also in the part of the file that the issuer
signs, so that not one byte of the token can be changed.
"""

from collections.abc import Iterable

from asn1crypto import cms, core, x509
from asn1crypto.parser import emit

# Class, method and tag of the values around it (ITU-T X.690, 8.1.2).
SEQUENCE = (0, 1, 16)
SET = (0, 1, 17)
NUMBERED_0 = (2, 1, 0)
NUMBERED_1 = (2, 1, 1)

SIGNED_DATA = cms.ContentType("signed_data").dump()
TST_INFO = cms.ContentType("tst_info").dump()
# RFC 5652, 5.1 and 5.3: a content other than plain data; a signer named by issuer and number.
CONTENT_VERSION = cms.CMSVersion("v3").dump()
SIGNER_VERSION = cms.CMSVersion("v1").dump()
DIGESTS = frozenset({"sha256", "sha384", "sha512"})
RSA = frozenset({"rsassa_pkcs1v15", "sha256_rsa", "sha384_rsa", "sha512_rsa"})
ECDSA = frozenset({"sha256_ecdsa", "sha384_ecdsa", "sha512_ecdsa"})


def signer_of(token: cms.ContentInfo, known: Iterable[x509.Certificate]) -> x509.Certificate | None:
    """The certificate among ``known`` that the token names as its signer."""
    (info,) = token["content"]["signer_infos"]
    named = info["sid"].chosen
    for certificate in known:
        if isinstance(named, cms.IssuerAndSerialNumber):
            if (named["issuer"].dump(), named["serial_number"].native) == (
                certificate.issuer.dump(),
                certificate.serial_number,
            ):
                return certificate
        elif named.native == certificate.key_identifier:
            return certificate
    return None


def canonical_token(token: cms.ContentInfo, known: Iterable[x509.Certificate]) -> bytes:
    """Return the token in the one form; ``known`` are the certificates that lead to its root.

    Raises ValueError when it is signed by none of them, or in a way that is not known here.
    """
    certificates = {certificate.dump(): certificate for certificate in known}
    signer = signer_of(token, certificates.values())
    if signer is None:
        raise ValueError("it is signed by another certificate than the ones that were named")
    signed = token["content"]
    (info,) = signed["signer_infos"]
    digest = _digest(info["digest_algorithm"])
    built = emit(
        *SEQUENCE,
        SIGNER_VERSION
        + emit(*SEQUENCE, signer.issuer.dump() + core.Integer(signer.serial_number).dump())
        + digest
        + emit(*NUMBERED_0, info["signed_attrs"].contents)
        + _algorithm(info["signature_algorithm"])
        + core.OctetString(info["signature"].native).dump(),
    )
    content = signed["encap_content_info"]["content"]
    _digest(content.parsed["message_imprint"]["hash_algorithm"])
    # A root vouches for itself; readers have it, and the issuer's list holds it.
    beside = sorted(
        der
        for der, certificate in certificates.items()
        if certificate.subject != certificate.issuer or certificate is signer
    )
    body = (
        CONTENT_VERSION
        + emit(*SET, digest)
        + emit(*SEQUENCE, TST_INFO + emit(*NUMBERED_0, core.OctetString(bytes(content)).dump()))
        + emit(*NUMBERED_0, b"".join(beside))
        + emit(*SET, built)
    )
    whole: bytes = emit(*SEQUENCE, SIGNED_DATA + emit(*NUMBERED_0, emit(*SEQUENCE, body)))
    return whole


def _digest(found: cms.DigestAlgorithm) -> bytes:
    name = found["algorithm"].native
    if name not in DIGESTS:
        raise ValueError(f"its digest is {name}, which does not hold for decades")
    der: bytes = cms.DigestAlgorithm({"algorithm": name}).dump()
    return der


def _algorithm(found: cms.SignedDigestAlgorithm) -> bytes:
    name = found["algorithm"].native
    if name in RSA:
        name = "rsassa_pkcs1v15"
    elif name not in ECDSA:
        raise ValueError(f"it is signed by {name}, which is not known here")
    der: bytes = cms.SignedDigestAlgorithm({"algorithm": name}).dump()
    return der

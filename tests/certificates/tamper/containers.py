"""The signature's container rebuilt around what is signed, and parts swapped between files.

RFC 5652 allows much that the signature does not protect: more certificates, more algorithm names,
attributes that are not signed, other encodings of the same value.
"""

from collections.abc import Callable

from asn1crypto import algos, cms, core
from asn1crypto import x509 as asn1_x509
from asn1crypto.parser import emit
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding

from tests.certificates.tamper.stranger import certificate
from tests.certificates.tamper.subject import (
    Forgery,
    Subject,
    container_of,
    gap_of,
    in_gap,
    with_container,
)

Attack = Callable[[Subject], Forgery]
# The order of the base point of P-256 (NIST SP 800-186, 3.2.1.3).
ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551


def rebuilt(change: Callable[[cms.SignedData, Subject], None]) -> Attack:
    """The container with a change made to its content, encoded anew."""

    def attack(subject: Subject) -> Forgery:
        info = cms.ContentInfo.load(container_of(subject.pdf))
        change(info["content"], subject)
        container = info.dump(force=True)
        assert container != container_of(subject.pdf)
        return Forgery(subject.pdf, with_container(subject.pdf, container))

    return attack


def _signer(data: cms.SignedData) -> cms.SignerInfo:
    return data["signer_infos"][0]


def _more_certificates(data: cms.SignedData, subject: Subject) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([])
    own = certificate(key, name, name, key)
    data["certificates"].append(asn1_x509.Certificate.load(own.public_bytes(Encoding.DER)))


def _no_certificate(data: cms.SignedData, subject: Subject) -> None:
    data["certificates"] = cms.CertificateSet([])


def _more_digests(data: cms.SignedData, subject: Subject) -> None:
    data["digest_algorithms"].append(algos.DigestAlgorithm({"algorithm": "sha1"}))


def _second_signer(data: cms.SignedData, subject: Subject) -> None:
    """A second signer with nothing signed; readers differ in which of two they judge."""
    data["signer_infos"].append(
        {
            "version": "v1",
            "sid": {
                "issuer_and_serial_number": {"issuer": asn1_x509.Name.build({}), "serial_number": 1}
            },
            "digest_algorithm": {"algorithm": "sha256"},
            "signature_algorithm": {"algorithm": "sha256_ecdsa"},
            "signature": b"Eve",
        }
    )


def _no_signer(data: cms.SignedData, subject: Subject) -> None:
    data["signer_infos"] = cms.SignerInfos([])


def _unsigned_attribute(data: cms.SignedData, subject: Subject) -> None:
    _signer(data)["unsigned_attrs"] = cms.CMSAttributes(
        [
            cms.CMSAttribute(
                {"type": "1.2.840.113549.1.9.16.2.4", "values": [core.OctetString(b"Eve")]}
            )
        ]
    )


def _other_version(data: cms.SignedData, subject: Subject) -> None:
    data["version"] = "v3"


def _content_inside(data: cms.SignedData, subject: Subject) -> None:
    """Content of its own inside the container, for readers that hash that instead."""
    data["encap_content_info"] = {"content_type": "data", "content": b"Eve"}


def _other_digest_name(data: cms.SignedData, subject: Subject) -> None:
    _signer(data)["digest_algorithm"] = {"algorithm": "sha384"}


def _no_signed_attributes(data: cms.SignedData, subject: Subject) -> None:
    """Without signed attributes the signature would be over the content itself."""
    _signer(data)["signed_attrs"] = cms.CMSAttributes([])


def _mirrored(data: cms.SignedData, subject: Subject) -> None:
    """(r, -s) verifies wherever (r, s) does: anybody can make it (SEC 1 v2.0, 4.1.4)."""
    signature = algos.DSASignature.load(_signer(data)["signature"].native)
    mirrored = algos.DSASignature({"r": signature["r"].native, "s": ORDER - signature["s"].native})
    _signer(data)["signature"] = mirrored.dump()


def _mirrored_certificate(data: cms.SignedData, subject: Subject) -> None:
    """The same of the root's signature on the signing certificate."""
    held = data["certificates"][0].chosen
    signature = algos.DSASignature.load(held["signature_value"].native)
    mirrored = algos.DSASignature({"r": signature["r"].native, "s": ORDER - signature["s"].native})
    held["signature_value"] = core.OctetBitString(mirrored.dump())


def _zero_signature(data: cms.SignedData, subject: Subject) -> None:
    """r = s = 0, which a careless implementation accepts for every message."""
    _signer(data)["signature"] = algos.DSASignature({"r": 0, "s": 0}).dump()


def _wide_integers(data: cms.SignedData, subject: Subject) -> None:
    """The same two integers with a zero byte more in front of each."""
    signature = algos.DSASignature.load(_signer(data)["signature"].native)
    wide = b"".join(
        emit(0, 0, 2, b"\0\0" + signature[name].native.to_bytes(32, "big")) for name in ("r", "s")
    )
    _signer(data)["signature"] = emit(0, 1, 16, wide)


def _indefinite_length(subject: Subject) -> Forgery:
    """The outermost value with a length that is not told (ITU-T X.690, 8.1.3.6)."""
    content = cms.ContentInfo.load(container_of(subject.pdf)).contents
    return Forgery(subject.pdf, with_container(subject.pdf, b"\x30\x80" + content + b"\x00\x00"))


def _rest_in_room(subject: Subject) -> Forgery:
    """Bytes behind the container, where the room is filled up."""
    return Forgery(
        subject.pdf, with_container(subject.pdf, container_of(subject.pdf) + b"Eve was here")
    )


def _space_in_hex(subject: Subject) -> Forgery:
    """White space among the hex digits, which a reader ignores (ISO 32000-1, 7.3.4.3)."""
    gap = gap_of(subject.pdf)
    room = subject.pdf[gap.start : gap.stop]
    return Forgery(subject.pdf, in_gap(subject.pdf, room[:41] + b" \n" + room[41:-3] + b">"))


def _odd_digits(subject: Subject) -> Forgery:
    """The last zero left out, which a reader adds again (ISO 32000-1, 7.3.4.3)."""
    gap = gap_of(subject.pdf)
    room = subject.pdf[gap.start : gap.stop]
    return Forgery(subject.pdf, in_gap(subject.pdf, room[:-2] + b"> "))


def _of_other(subject: Subject) -> Forgery:
    """The whole container of somebody else's record."""
    return Forgery(subject.pdf, with_container(subject.pdf, container_of(subject.other)))


def _value_of_other(data: cms.SignedData, subject: Subject) -> None:
    """The value of the signature of somebody else's record."""
    other = cms.ContentInfo.load(container_of(subject.other))["content"]
    _signer(data)["signature"] = _signer(other)["signature"].native


def _attributes_of_other(data: cms.SignedData, subject: Subject) -> None:
    """Value and signed attributes of somebody else's record."""
    other = cms.ContentInfo.load(container_of(subject.other))["content"]
    _signer(data)["signed_attrs"] = _signer(other)["signed_attrs"].copy()
    _signer(data)["signature"] = _signer(other)["signature"].native


def _bodies_swapped(subject: Subject) -> Forgery:
    """The pages and the attachment of somebody else's record below this one's signature."""
    revision = subject.pdf[len(subject.unsigned) :]
    assert subject.pdf.startswith(subject.unsigned)
    body = subject.other[: len(subject.unsigned)].ljust(len(subject.unsigned))
    return Forgery(subject.pdf, body + revision)


ATTACKS: dict[str, Attack] = {
    "another certificate": rebuilt(_more_certificates),
    "certificate left out": rebuilt(_no_certificate),
    "another digest announced": rebuilt(_more_digests),
    "another signer": rebuilt(_second_signer),
    "no signer": rebuilt(_no_signer),
    "attribute that is not signed": rebuilt(_unsigned_attribute),
    "version of the container": rebuilt(_other_version),
    "content inside the container": rebuilt(_content_inside),
    "digest of the signer renamed": rebuilt(_other_digest_name),
    "signed attributes left out": rebuilt(_no_signed_attributes),
    "signature mirrored": rebuilt(_mirrored),
    "signature on the certificate mirrored": rebuilt(_mirrored_certificate),
    "signature of zeros": rebuilt(_zero_signature),
    "signature with wider integers": rebuilt(_wide_integers),
    "length not told": _indefinite_length,
    "bytes behind the container": _rest_in_room,
    "white space among the hex digits": _space_in_hex,
    "last hex digit left out": _odd_digits,
    "container of another record": _of_other,
    "signature value of another record": rebuilt(_value_of_other),
    "signed attributes of another record": rebuilt(_attributes_of_other),
    "pages of another record": _bodies_swapped,
}

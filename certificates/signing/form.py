"""Faults of a signature that show without any cryptography: what it covers, and how it is made."""

from asn1crypto import cms, core
from asn1crypto.parser import emit
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.validation import EmbeddedPdfSignature
from pyhanko.sign.validation.pdf_embedded import read_certification_data

from certificates.signing import verdict
from certificates.signing.evidence import Evidence
from certificates.signing.mirror import is_lesser
from certificates.signing.token import (
    NUMBERED_0,
    NUMBERED_1,
    SEQUENCE,
    SET,
    SIGNED_DATA,
    canonical_token,
)

# What stands in every container (RFC 5652, 5.1 to 5.3), in DER.
VERSION = cms.CMSVersion("v1").dump()
DIGEST = cms.DigestAlgorithm({"algorithm": "sha256"}).dump()
ALGORITHM = cms.SignedDigestAlgorithm({"algorithm": "sha256_ecdsa"}).dump()
DETACHED = cms.EncapsulatedContentInfo({"content_type": "data"}).dump()
STAMP = cms.CMSAttributeType("signature_time_stamp_token").dump()


def faults_of_form(
    pdf: bytes, reader: PdfFileReader, signature: EmbeddedPdfSignature, evidence: Evidence
) -> list[str]:
    """The faults, each as a sentence of ``verdict``; none for a signature such as ``sign`` makes.

    What is not hashed, namely the signature's own container, must be exactly as it is made here,
    so that not one byte of a genuine file can be changed.
    """
    faults = []
    if not _covers_all(pdf, signature):
        faults.append(verdict.NOT_WHOLE)
    certification = read_certification_data(reader)
    if (
        signature.sig_object.get("/SubFilter") != SigSeedSubFilter.PADES.value
        or certification is None
        or certification.permission != MDPPerm.NO_CHANGES
        or certification.author_sig.container_ref != signature.sig_object.container_ref
        or not _is_as_made(signature, evidence)
    ):
        faults.append(verdict.NOT_A_RECORD_SIGNATURE)
    return faults


def _covers_all(pdf: bytes, signature: EmbeddedPdfSignature) -> bool:
    """Whether every byte is either hashed or part of the signature itself.

    ISO 32000-1, 12.8.1 lets the byte range leave out the signature's own hex string, and only
    that.
    """
    byte_range = [int(number) for number in signature.byte_range]
    if len(byte_range) != 4:
        return False
    start, before, resume, after = byte_range
    if start != 0 or not 0 < before < resume or resume + after != len(pdf):
        return False
    return pdf[before:resume] == b"<%b>" % signature.pkcs7_content.hex().upper().encode()


def token_of(signature: EmbeddedPdfSignature) -> cms.ContentInfo | None:
    """The time-stamp in the container; None unless there is exactly one."""
    tokens = [
        value
        for attribute in signature.signer_info["unsigned_attrs"]
        if attribute["type"].native == "signature_time_stamp_token"
        for value in attribute["values"]
    ]
    return tokens[0] if len(tokens) == 1 else None


def _is_as_made(signature: EmbeddedPdfSignature, evidence: Evidence) -> bool:
    """Whether the container holds what is signed and nothing else, in the one form made here.

    A reader may accept much else around the signed attributes: other digest names, a name in
    other letters, more certificates. The container is built anew and compared.
    """
    info = signature.signer_info
    certificate = signature.signer_cert
    identifier = certificate.issuer.dump() + core.Integer(certificate.serial_number).dump()
    signer = (
        VERSION
        + emit(*SEQUENCE, identifier)
        + DIGEST
        + emit(*NUMBERED_0, info["signed_attrs"].contents)
        + ALGORITHM
        + core.OctetString(info["signature"].native).dump()
        + _unsigned(signature, evidence)
    )
    built = (
        VERSION
        + emit(*SET, DIGEST)
        + DETACHED
        + emit(*NUMBERED_0, certificate.dump())
        + emit(*SET, emit(*SEQUENCE, signer))
    )
    whole: bytes = emit(*SEQUENCE, SIGNED_DATA + emit(*NUMBERED_0, emit(*SEQUENCE, built)))
    found = signature.pkcs7_content
    return whole.ljust(len(found), b"\0") == found and is_lesser(info["signature"].native)


def _unsigned(signature: EmbeddedPdfSignature, evidence: Evidence) -> bytes:
    """The unsigned attributes as they are made: none, or the time-stamp."""
    token = token_of(signature)
    if token is None:
        # Evidence is written with a time-stamp only: where it stands, the stamp was taken out.
        return b"" if evidence == Evidence() else STAMP
    try:
        # The first certificate of the evidence is the issuer's root.
        made = canonical_token(token, evidence.certificates[1:])
    except ValueError:
        return b""
    unsigned: bytes = emit(*NUMBERED_1, emit(*SEQUENCE, STAMP + emit(*SET, made)))
    return unsigned

"""Faults of a signature that show without any cryptography: what it covers, and how it is made."""

from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.validation import EmbeddedPdfSignature
from pyhanko.sign.validation.pdf_embedded import read_certification_data

from certificates.signing import verdict

# id-signedData, 1.2.840.113549.1.7.2 (RFC 5652, 5.1), in DER.
SIGNED_DATA = bytes.fromhex("06092a864886f70d010702")
SEQUENCE = 0x30
EXPLICIT_0 = 0xA0


def faults_of_form(pdf: bytes, reader: PdfFileReader, signature: EmbeddedPdfSignature) -> list[str]:
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
        or not _is_as_made(signature)
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


def _is_as_made(signature: EmbeddedPdfSignature) -> bool:
    """Whether the container holds what is signed and nothing else, in the one form made here.

    A reader may accept much else around the signed attributes: other digest names, a name in
    other letters, more certificates. The container is built anew and compared.
    """
    info = signature.signer_info
    certificate = signature.signer_cert
    built = type(signature.signed_data)(
        {
            "version": "v1",
            "digest_algorithms": [{"algorithm": "sha256"}],
            "encap_content_info": {"content_type": "data"},
            "certificates": [certificate],
            "signer_infos": [
                {
                    "version": "v1",
                    "sid": {
                        "issuer_and_serial_number": {
                            "issuer": certificate.issuer,
                            "serial_number": certificate.serial_number,
                        }
                    },
                    "digest_algorithm": {"algorithm": "sha256"},
                    "signed_attrs": info["signed_attrs"],
                    "signature_algorithm": {"algorithm": "sha256_ecdsa"},
                    "signature": info["signature"].native,
                }
            ],
        }
    ).dump()
    whole = _der(SEQUENCE, SIGNED_DATA + _der(EXPLICIT_0, built))
    found = signature.pkcs7_content
    return found == whole.ljust(len(found), b"\0")


def _der(tag: int, content: bytes) -> bytes:
    """A DER value of 128 to 65,535 bytes (ITU-T X.690, 8.1.3.5 and 10.1)."""
    size = len(content)
    octets = 1 if size < 0x100 else 2
    return bytes([tag, 0x80 | octets]) + size.to_bytes(octets, "big") + content

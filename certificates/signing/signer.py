"""Sign a rendered record by PAdES (ETSI EN 319 142-1), closed against every change.

Without a time-stamp authority the level is B-B; with one it is B-LT: the time-stamp stands in the
container, and the issuer's list of revoked certificates in the same update as the signature, so
that a record stays one revision that covers every byte.

The signature goes into the tagged field that rendering reserved, as an incremental update that
touches neither the XMP metadata nor the page, so that the signed file keeps the conformance
(PDF/A-3u, PDF/UA-1) that it had before.
"""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from itertools import count
from typing import Any

from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.misc import PdfError, PdfReadError
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.general import SigningError
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, Signer
from pyhanko.sign.signers.pdf_signer import PdfSigningSession
from pyhanko.stamp import NoOpStampStyle

from certificates.signing.errors import SigningRefused
from certificates.signing.evidence import write_evidence
from certificates.signing.keystore import Identity, KeyStore
from certificates.signing.mirror import lesser
from certificates.signing.stamping import Authority, OtherSigner, Stamper, as_asn1
from certificates.signing.waiting import wait_for

FIELD_NAME = "issuer_signature"
DIGEST = "sha256"
# The longest DER form of two integers of 256 bits: 2 + 2 * (2 + 33) bytes.
LONGEST_SIGNATURE = 72
IDENTIFIER_BYTES = 16
# ISO 19005-3, 6.1.7.1: the length of a stream must match its bytes up to the line end before
# "endstream". Where the data end with a carriage return, strict readers count one byte less.
AMBIGUOUS_END = b"\r\nendstream"
# Hex digits of room for the CMS object: 2,100 are usual, the longest names take 2,500.
ROOM = 3000
# Bytes of a container beside the certificate and its issuer's name, at most.
OVERHEAD = 480
# Bytes by which one token of an authority may be longer than another, and its attribute's frame.
TOKEN_SLACK = 160


def sign(
    pdf: bytes,
    keystore: KeyStore,
    *,
    signing_time: datetime,
    reason: str,
    location: str,
    authority: Authority | None = None,
) -> bytes:
    """Return ``pdf`` with the issuer's signature in its reserved field.

    ``signing_time`` carries a time zone. Without an ``authority`` for time-stamps, the same PDF,
    key and time give the same bytes. Raises KeyStoreError when the key cannot be used,
    SigningRefused when the PDF is not one that ``certificates.rendering.render`` made or has been
    signed before, and when the authority gives no usable time-stamp.
    """
    if signing_time.tzinfo is None:
        raise ValueError("signing_time needs a time zone")
    identity = keystore.identity(at=signing_time)
    about = PdfSignatureMetadata(
        field_name=FIELD_NAME,
        md_algorithm=DIGEST,
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
        name=keystore.organisation,
        reason=reason,
        location=location,
    )
    work = _Work(pdf, about, identity, signing_time)
    if authority is not None:
        work.stamper = Stamper(authority, signing_time)
        work.crl = keystore.crl(signing_time, root=identity.root)
    try:
        return wait_for(work.signed())
    except (SigningError, PdfError) as error:
        raise SigningRefused(
            f"This PDF cannot be signed ({error}). Render the record again, then sign it once."
        ) from error


@dataclass
class _Work:
    """One signature in the making."""

    pdf: bytes
    about: PdfSignatureMetadata
    identity: Identity
    instant: datetime
    stamper: Stamper | None = None
    crl: bytes = b""

    async def signed(self) -> bytes:
        """The signed file."""
        if self.stamper is None:
            return await self._unambiguous()
        await self.stamper.probe()
        try:
            return await self._unambiguous()
        except OtherSigner:
            await self.stamper.probe(fresh=True)
            return await self._unambiguous()

    async def _unambiguous(self) -> bytes:
        # More room moves what follows, and so changes a reference table that ends like a line end.
        for room in count(self._room(), 2):
            writer = _Writer(BytesIO(self.pdf))
            if self.stamper is not None:
                root = as_asn1(self.identity.root)
                write_evidence(writer, [root, *self.stamper.chain], self.crl)
            signer = _RecordSigner(
                self.about, _KeySigner(self.identity), self.instant, self.stamper
            )
            output = await signer.async_sign_pdf(
                writer, existing_fields_only=True, bytes_reserved=room
            )
            signed: bytes = output.getvalue()
            if AMBIGUOUS_END not in signed[len(self.pdf) :]:
                break
        return signed

    def _room(self) -> int:
        """Hex digits to keep free for the CMS object."""
        certificate = self.identity.certificate
        der = certificate.public_bytes(serialization.Encoding.DER)
        room = max(ROOM, 2 * (len(der) + len(certificate.issuer.public_bytes()) + OVERHEAD))
        return room + 2 * (self.stamper.size + TOKEN_SLACK) if self.stamper else room


class _Writer(IncrementalPdfFileWriter):
    """Writes an update that leaves the metadata alone and derives the file's identifier."""

    def _update_meta(self) -> None:
        """Leave XMP and the information dictionary as they are.

        The library would write both anew, and its XMP lacks the claims of conformance.
        """

    @classmethod
    def _handle_id(cls, prev: Any) -> generic.ArrayObject:
        try:
            first = prev.trailer["/ID"][0].original_bytes
        except (KeyError, IndexError) as error:
            raise PdfReadError("it has no identifier") from error
        prev.stream.seek(0)
        second = hashlib.sha256(prev.stream.read()).digest()[:IDENTIFIER_BYTES]
        return generic.ArrayObject([generic.ByteStringObject(part) for part in (first, second)])


class _KeySigner(Signer):
    """Signs with the issuing key; the nonce is derived (RFC 6979), so no bad luck can leak it.

    Of the two values that verify alike, (r, s) and (r, n - s), it gives the one with the lesser s.
    """

    def __init__(self, identity: Identity) -> None:
        super().__init__(signing_cert=as_asn1(identity.certificate))
        self._key = identity.key

    async def async_sign_raw(
        self, data: bytes, digest_algorithm: str, dry_run: bool = False
    ) -> bytes:
        if dry_run:
            return bytes(LONGEST_SIGNATURE)
        return lesser(self._key.sign(data, ec.ECDSA(hashes.SHA256(), deterministic_signing=True)))


class _RecordSigner(PdfSigner):
    """Uses the given instant, and keeps the appearance that rendering made for the field."""

    def __init__(
        self,
        about: PdfSignatureMetadata,
        signer: Signer,
        instant: datetime,
        stamper: Stamper | None,
    ) -> None:
        super().__init__(about, signer, timestamper=stamper, stamp_style=NoOpStampStyle())
        self._instant = instant

    def init_signing_session(self, *args: Any, **kwargs: Any) -> PdfSigningSession:
        session = super().init_signing_session(*args, **kwargs)
        session.system_time = self._instant
        return session

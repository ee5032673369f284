"""Signing and checking with a time-stamp, as the tests do it."""

from datetime import datetime
from io import BytesIO
from typing import Any

from pyhanko.pdf_utils.reader import PdfFileReader

from certificates.signing import KeyStore, Verdict, sign, verify
from certificates.signing.form import token_of
from tests.certificates.pdf.conftest import CHECKED_AT, SIGNED_AT
from tests.certificates.signing.authority import Office


def stamp_it(pdf: bytes, keystore: KeyStore, office: Office, *, at: datetime = SIGNED_AT) -> bytes:
    """Sign as issuing does where a time-stamp authority is configured."""
    return sign(
        pdf,
        keystore,
        signing_time=at,
        reason="Issue of the record",
        location="Port Ellery",
        authority=office.authority,
    )


def check(pdf: bytes, keystore: KeyStore, office: Office, **known: Any) -> Verdict:
    """The verdict of one who knows the issuer and the authority."""
    values = {"now": CHECKED_AT, "stamp_roots": [office.root], **known}
    return verify(pdf, keystore.roots(), **values)


def token_in(pdf: bytes) -> bytes:
    """The time-stamp token of a file in DER."""
    (signature,) = PdfFileReader(BytesIO(pdf)).embedded_signatures
    token = token_of(signature)
    assert token is not None
    der: bytes = token.dump()
    return der

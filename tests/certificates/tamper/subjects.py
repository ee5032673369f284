"""Making of the signed records that are attacked, at every level of signature."""

from cryptography import x509

from certificates.rendering import render
from certificates.signing import KeyStore
from tests.certificates.pdf.conftest import sign_it
from tests.certificates.pdf.factory import LONG_NAME, make_record
from tests.certificates.signing.authority import Office
from tests.certificates.signing.stamped import stamp_it
from tests.certificates.tamper.subject import Sign, Subject


def make_subject(
    keystore: KeyStore, sign: Sign = sign_it, stamp_roots: tuple[x509.Certificate, ...] = ()
) -> Subject:
    """The record with the long name, and one of somebody else in the same layout."""
    unsigned, other = (
        render(make_record(holder={"name": name})) for name in (LONG_NAME, f"Eve{LONG_NAME[3:]}")
    )
    return Subject(
        sign(unsigned, keystore), unsigned, sign(other, keystore), keystore, sign, stamp_roots
    )


def make_stamped_subject(keystore: KeyStore, office: Office) -> Subject:
    """The same two records with a time-stamp and the evidence for later checks."""

    def sign(pdf: bytes, keystore: KeyStore) -> bytes:
        return stamp_it(pdf, keystore, office)

    return make_subject(keystore, sign, (office.root,))

"""Time-stamps (RFC 3161) in records, as programs that are not ours see them, and as ours does."""

import re
import subprocess
from base64 import b64encode
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from page import validate_pdf_bytes
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.status import SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext

from certificates.signing import KeyStore, verify
from certificates.signing.stamping import StampRefused
from tests.certificates.pdf.conftest import CHECKED_AT, PASSPHRASE, SIGNED_AT
from tests.certificates.pdf.tools import run_on
from tests.certificates.signing.authority import Office, make_office, opened
from tests.certificates.signing.stamped import check, stamp_it, token_in
from tests.certificates.signing.test_signature import _parts


def test_a_stamped_record_is_genuine(stamped: bytes, keystore: KeyStore, office: Office) -> None:
    found = check(stamped, keystore, office)
    assert found.faults == []
    assert (found.level, found.stamped_at, found.revoked) == ("B-LT", SIGNED_AT, False)


def test_a_record_without_a_stamp_says_so(signed: bytes, keystore: KeyStore) -> None:
    found = verify(signed, keystore.roots(), now=CHECKED_AT)
    assert (found.level, found.stamped_at, found.revoked) == ("B-B", None, None)


def test_the_time_of_an_unknown_authority_is_not_trusted(
    stamped: bytes, keystore: KeyStore, office: Office
) -> None:
    impostor = make_office(SIGNED_AT, name="Somebody else")
    for roots in ([], [impostor.root]):
        found = check(stamped, keystore, office, stamp_roots=roots)
        assert found.genuine
        assert (found.level, found.stamped_at) == ("B-LT", None)


def test_poppler_finds_the_stamped_file_valid_and_covered(stamped: bytes) -> None:
    said = run_on(stamped, "pdfsig", "-nocert", "FILE")
    assert said.count("Signature #") == 1
    assert "Signature is Valid." in said
    assert "Total document signed" in said


def test_qpdf_finds_nothing_wrong(stamped: bytes) -> None:
    assert "No syntax or stream encoding errors found" in run_on(stamped, "qpdf", "--check", "FILE")


@pytest.mark.parametrize("profile", ["pdfa3u", "ua1"])
def test_the_stamped_file_conforms(stamped: bytes, profile: str) -> None:
    report = validate_pdf_bytes(stamped, profile=profile)
    assert report.rules.total > 100
    assert [failure.message for failure in report.failures] == []


def test_openssl_verifies_signature_and_stamp(
    stamped: bytes, keystore: KeyStore, office: Office, tmp_path: Path
) -> None:
    content, contents = _parts(stamped)
    (info,) = PdfFileReader(BytesIO(stamped)).embedded_signatures[0].signed_data["signer_infos"]
    files = {
        "content": content,
        "cms": contents,
        "root": keystore.roots_pem(),
        "token": token_in(stamped),
        "stamp-root": office.root.public_bytes(Encoding.PEM),
        "signature": info["signature"].native,
        "other": b"x" + info["signature"].native[1:],
    }
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    moment = ["-attime", str(int(SIGNED_AT.timestamp()))]

    def said(*words: str) -> str:
        done = subprocess.run(
            ["openssl", *words, *moment], cwd=tmp_path, capture_output=True, text=True, check=False
        )
        return done.stdout + done.stderr

    cms = ["cms", "-verify", "-binary", "-inform", "DER", "-in", "cms", "-content", "content"]
    assert "Verification successful" in said(
        *cms, "-CAfile", "root", "-purpose", "any", "-out", "out"
    )
    stamp = ["ts", "-verify", "-token_in", "-in", "token", "-CAfile", "stamp-root", "-data"]
    assert "Verification: OK" in said(*stamp, "signature")
    assert "Verification: FAILED" in said(*stamp, "other")


def test_pyhanko_trusts_it_with_the_evidence_inside(
    stamped: bytes, keystore: KeyStore, office: Office
) -> None:
    """A reader who wants the certificate's standing on record finds the list in the file."""
    (signature,) = PdfFileReader(BytesIO(stamped)).embedded_signatures
    roots = list(load_certs_from_pemder_data(keystore.roots_pem()))
    stamp_roots = list(load_certs_from_pemder_data(office.root.public_bytes(Encoding.PEM)))
    status = validate_pdf_signature(
        signature,
        ValidationContext(trust_roots=roots, moment=SIGNED_AT, allow_fetching=False),
        ts_validation_context=ValidationContext(
            trust_roots=stamp_roots, moment=SIGNED_AT, allow_fetching=False
        ),
    )
    assert status.bottom_line
    assert status.coverage == SignatureCoverageLevel.ENTIRE_FILE
    assert status.timestamp_validity is not None
    assert status.timestamp_validity.timestamp == SIGNED_AT


def test_the_evidence_is_in_the_one_revision(
    unsigned: bytes, stamped: bytes, keystore: KeyStore, office: Office
) -> None:
    """ETSI EN 319 142-1, 5.4: the store holds what a later check of the signature needs."""
    assert stamped[len(unsigned) :].count(b"%%EOF") == 1
    with pikepdf.open(BytesIO(stamped)) as pdf:
        certificates = [
            x509.load_der_x509_certificate(row.read_bytes()) for row in pdf.Root.DSS.Certs
        ]
        (listed,) = (x509.load_der_x509_crl(row.read_bytes()) for row in pdf.Root.DSS.CRLs)
        assert "/VRI" not in pdf.Root.DSS
    assert set(certificates) == {*keystore.roots(), office.root, office.certificate}
    assert [listed] == keystore.crls()


def test_names_and_addresses_of_the_longest_kind_fit(
    unsigned: bytes, office: Office, tmp_path: Path
) -> None:
    address = f"https://{'records.' * 25}example.org/issuers/123456789/crl.der"
    store = KeyStore(tmp_path, PASSPHRASE, organisation="Βελονάκι " * 30, crl_url=address)
    pdf = stamp_it(unsigned, store, office)
    assert check(pdf, store, office).genuine
    (gap,) = re.findall(rb"/Contents <([0-9A-F]+)>", pdf)
    free = len(gap) // 2 - len(bytes.fromhex(gap.decode()).rstrip(b"\0"))
    assert 20 < free < 500


def test_an_authority_that_cannot_be_reached(
    unsigned: bytes, keystore: KeyStore, office: Office
) -> None:
    nobody = Office(office.root, office.certificate, office.key, url="http://127.0.0.1:9/stamp")
    with pytest.raises(StampRefused, match=r"127\.0\.0\.1 gave no time-stamp .*Try again later"):
        stamp_it(unsigned, keystore, nobody)


@pytest.mark.parametrize("answer", [b"", b"<html>", bytes.fromhex("30053003020102")])
def test_an_authority_that_answers_oddly(
    answer: bytes, unsigned: bytes, keystore: KeyStore
) -> None:
    """The last is a refusal (RFC 3161, 2.4.2: status 2, rejection)."""
    with opened(make_office(SIGNED_AT)) as office:
        office.spoil = answer
        with pytest.raises(StampRefused, match="gave no time-stamp"):
            stamp_it(unsigned, keystore, office)


def test_an_authority_of_another_root(unsigned: bytes, keystore: KeyStore) -> None:
    with opened(make_office(SIGNED_AT)) as office:
        office.root = make_office(SIGNED_AT, name="Somebody else").root
        with pytest.raises(StampRefused, match="not vouched for by a root in BANKERMARK_TIMESTAMP"):
            stamp_it(unsigned, keystore, office)


def test_clocks_that_differ_are_seen_before_anything_is_signed(
    unsigned: bytes, keystore: KeyStore
) -> None:
    with opened(make_office(SIGNED_AT)) as office:
        office.at = SIGNED_AT + timedelta(minutes=11)
        with pytest.raises(StampRefused, match="set the clock of this server right"):
            stamp_it(unsigned, keystore, office)
        office.at = SIGNED_AT + timedelta(minutes=9)
        pdf = stamp_it(unsigned, keystore, office)
        assert check(pdf, keystore, office).stamped_at == office.at


def test_an_authority_that_renews_its_certificate(unsigned: bytes, keystore: KeyStore) -> None:
    with opened(make_office(SIGNED_AT)) as office:
        first = stamp_it(unsigned, keystore, office)
        renewed = make_office(SIGNED_AT)
        office.certificate, office.beside = renewed.certificate, [office.root]
        office.root, old = renewed.root, office.root
        second = stamp_it(unsigned, keystore, office)
        for pdf in (first, second):
            found = check(pdf, keystore, office, stamp_roots=[old, renewed.root])
            assert found.stamped_at == SIGNED_AT


def test_what_the_authority_puts_beside_its_signature_is_left_out(
    unsigned: bytes, keystore: KeyStore
) -> None:
    with opened(make_office(SIGNED_AT)) as office:
        plain = stamp_it(unsigned, keystore, office)
        office.beside = [make_office(SIGNED_AT, name="A stranger").certificate]
        dressed = stamp_it(unsigned, keystore, office)
        assert abs(len(token_in(plain)) - len(token_in(dressed))) < 8
        assert check(dressed, keystore, office).genuine


def test_a_password_of_the_authority_is_sent_and_never_told(
    unsigned: bytes, keystore: KeyStore
) -> None:
    with opened(make_office(SIGNED_AT)) as office:
        office.url = office.url.replace("//", "//mason:chis%40el@")
        stamp_it(unsigned, keystore, office)
    assert office.seen == {"Basic " + b64encode(b"mason:chis@el").decode()}
    with pytest.raises(StampRefused) as raised:
        stamp_it(unsigned, keystore, office)
    assert "chis" not in str(raised.value)

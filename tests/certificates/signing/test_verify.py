"""The verdict on genuine files, on foreign ones and on rubbish."""

import zlib
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from cryptography.hazmat.primitives import hashes
from hypothesis import given, settings
from hypothesis import strategies as st

from certificates.signing import KeyStore, verdict, verify
from certificates.signing.verify import MAX_BYTES
from tests.certificates.pdf.conftest import CHECKED_AT, PASSPHRASE, SIGNED_AT, sign_it
from tests.certificates.pdf.factory import Document
from tests.faults.marks import examples


def test_a_signed_record_is_genuine(signed: bytes, keystore: KeyStore, record: Document) -> None:
    found = verify(signed, keystore.roots(), now=CHECKED_AT)
    assert found.genuine
    assert found.faults == []
    assert found.record == record
    assert found.signed_at == SIGNED_AT
    assert found.signer == "Ashlar Row Training Yard, records"
    certificate = keystore.identity(at=SIGNED_AT).certificate
    assert found.certificate_sha256 == certificate.fingerprint(hashes.SHA256()).hex()


def test_it_stays_genuine_after_its_certificate_has_run_out(
    signed: bytes, keystore: KeyStore
) -> None:
    late = datetime(2050, 1, 1, tzinfo=UTC)
    assert keystore.identity(at=SIGNED_AT).certificate.not_valid_after_utc < late
    assert verify(signed, keystore.roots(), now=late).genuine


def test_an_issuer_that_is_not_known_here(
    signed: bytes, unsigned: bytes, keystore: KeyStore, tmp_path: Path
) -> None:
    """An impostor with the same name, and a server that knows nobody."""
    impostor = KeyStore(tmp_path, PASSPHRASE, organisation=keystore.organisation)
    forged = verify(sign_it(unsigned, impostor), keystore.roots(), now=CHECKED_AT)
    assert forged.faults == [verdict.UNKNOWN_ISSUER]
    assert forged.record is None
    assert forged.signer == "Ashlar Row Training Yard, records"
    assert verify(signed, [], now=CHECKED_AT).faults == [verdict.UNKNOWN_ISSUER]
    both = [*impostor.roots(), *keystore.roots()]
    assert verify(signed, both, now=CHECKED_AT).genuine


def test_a_time_that_has_not_come(signed: bytes, keystore: KeyStore) -> None:
    early = verify(signed, keystore.roots(), now=SIGNED_AT - timedelta(minutes=11))
    assert early.faults == [verdict.SIGNED_IN_FUTURE]
    assert verify(signed, keystore.roots(), now=SIGNED_AT - timedelta(minutes=9)).genuine


def test_an_unsigned_record(unsigned: bytes, keystore: KeyStore) -> None:
    assert verify(unsigned, keystore.roots()).faults == [verdict.NO_SIGNATURE]


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", "réglet".encode(), b"\x00" * 100])
def test_what_is_no_pdf(data: bytes) -> None:
    assert verify(data, []).faults == [verdict.NOT_A_PDF]


def test_what_is_too_large() -> None:
    assert verify(b"%PDF-1.7" + bytes(MAX_BYTES), []).faults == [verdict.TOO_LARGE]


def test_a_file_with_a_password(unsigned: bytes) -> None:
    output = BytesIO()
    with pikepdf.open(BytesIO(unsigned)) as pdf:
        pdf.save(output, encryption=pikepdf.Encryption(owner="mason", user=""))
    assert verify(output.getvalue(), []).faults == [verdict.ENCRYPTED]


def test_a_signed_file_without_a_record(unsigned: bytes, keystore: KeyStore) -> None:
    for change in (_drop_attachment, _spoil_attachment, _double_attachment):
        output = BytesIO()
        with pikepdf.open(BytesIO(unsigned)) as pdf:
            change(pdf)
            pdf.save(output)
        found = verify(sign_it(output.getvalue(), keystore), keystore.roots(), now=CHECKED_AT)
        assert found.faults == [verdict.NO_RECORD]


def _drop_attachment(pdf: pikepdf.Pdf) -> None:
    del pdf.Root["/Names"]


def _spoil_attachment(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Names.EmbeddedFiles.Names[1].EF.F.write(b'{"number": "1", "number": "2"}')


def _double_attachment(pdf: pikepdf.Pdf) -> None:
    names = pdf.Root.Names.EmbeddedFiles.Names
    names.extend([names[0], names[1]])


@given(st.binary(max_size=400))
@settings(max_examples=examples(150), deadline=None)
def test_rubbish_gets_a_verdict(data: bytes) -> None:
    assert not verify(b"%PDF-" + data, []).genuine


@pytest.mark.parametrize(
    "body",
    [
        b"[" * 100_000,
        b"1 0 obj\n" + b"<</A" * 20_000,
        b"trailer<</Root 1 0 R/Size 9/Prev 9>>\nstartxref\n9\n%%EOF",
        b"startxref\n-5\n%%EOF",
        b"startxref\n99999999999999999999\n%%EOF",
    ],
)
def test_hostile_structure_gets_a_verdict(body: bytes) -> None:
    assert verify(b"%PDF-1.7\n" + body, []).faults == [verdict.UNREADABLE]


def test_a_stream_that_swells_is_cut_short() -> None:
    """40 MB of zeros in 40 kB, as a reference stream (ISO 32000-1, 7.5.8)."""
    packed = zlib.compress(bytes(40_000_000), 9)
    head = b"%PDF-1.7\n"
    bomb = (
        b"1 0 obj\n<</Type/XRef/W[1 2 1]/Size 10000000/Root 1 0 R/Filter/FlateDecode/Length %d>>\n"
        b"stream\n%b\nendstream\nendobj\nstartxref\n%d\n%%%%EOF" % (len(packed), packed, len(head))
    )
    assert verify(head + bomb, []).faults == [verdict.UNREADABLE]

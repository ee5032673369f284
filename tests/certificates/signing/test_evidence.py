"""Certificates and lists inside the file, as they are written and read again."""

from io import BytesIO
from typing import Any

import pikepdf
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader

from certificates.signing import KeyStore
from certificates.signing.evidence import Evidence, read_evidence, write_evidence
from certificates.signing.signer import AMBIGUOUS_END
from certificates.signing.stamping import as_asn1
from tests.certificates.pdf.conftest import SIGNED_AT


def test_bytes_that_end_like_a_line_are_written_so_that_every_reader_counts_alike(
    unsigned: bytes, keystore: KeyStore
) -> None:
    """ISO 19005-3, 6.1.7.1; pikepdf is the other reader."""
    root = as_asn1(keystore.identity(at=SIGNED_AT).root)
    odd = asn1_x509.Certificate.load(root.dump()[:-1] + b"\r")
    crl = keystore.crl(SIGNED_AT)
    writer: Any = IncrementalPdfFileWriter(BytesIO(unsigned))
    write_evidence(writer, [odd], crl)
    output = BytesIO()
    writer.write(output)
    written = output.getvalue()
    assert AMBIGUOUS_END not in written[len(unsigned) :]
    found = read_evidence(PdfFileReader(BytesIO(written)))
    assert [row.dump() for row in found.certificates] == [odd.dump()]
    assert found.lists == (x509.load_der_x509_crl(crl),)
    with pikepdf.open(BytesIO(written)) as pdf:
        assert pdf.Root.DSS.Certs[0].read_bytes() == odd.dump()


def test_a_file_without_evidence(unsigned: bytes) -> None:
    assert read_evidence(PdfFileReader(BytesIO(unsigned))) == Evidence()

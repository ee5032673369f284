"""Evidence for later checks inside the signed file: the document security store (DSS).

ISO 32000-2, 12.8.4.3, and ETSI EN 319 142-1, 5.4: certificates and lists of revoked ones. It is
written together with the signature, which covers it.
"""

from dataclasses import dataclass

from asn1crypto import crl as asn1_crl
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation.dss import DocumentSecurityStore


@dataclass(frozen=True)
class Evidence:
    """The certificates, and the lists of revoked ones, in DER form read from a file."""

    certificates: tuple[asn1_x509.Certificate, ...] = ()
    lists: tuple[x509.CertificateRevocationList, ...] = ()


def write_evidence(
    writer: IncrementalPdfFileWriter, certificates: list[asn1_x509.Certificate], crl: bytes
) -> None:
    """Put the store into the revision that ``writer`` makes."""
    store = DocumentSecurityStore.supply_dss_in_writer(
        writer, None, certs=certificates, crls=[asn1_crl.CertificateList.load(crl)]
    )
    for reference in (*store.certs.values(), *store.crls):
        stream = reference.get_object()
        # ISO 19005-3, 6.1.7.1: strict readers take a last carriage return for a part of the line
        # end that follows, and then find the length of the stream wrong.
        if stream.data.endswith(b"\r"):
            stream.apply_filter("/ASCIIHexDecode")


def read_evidence(reader: PdfFileReader) -> Evidence:
    """The store of a file; empty when there is none. Raises ValueError for one that is odd."""
    if "/DSS" not in reader.root:
        return Evidence()
    store = DocumentSecurityStore.read_dss(reader)
    return Evidence(
        tuple(store.load_certs()),
        tuple(x509.load_der_x509_crl(row.get_object().data) for row in store.crls),
    )

"""The same signed record as the tests of the PDF use."""

from tests.certificates.pdf.conftest import keystore, record, signed, unsigned

__all__ = ["keystore", "record", "signed", "unsigned"]

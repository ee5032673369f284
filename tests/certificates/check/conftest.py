"""The signed record that the tests of the PDF use, too."""

from tests.certificates.pdf.conftest import keystore, record, signed, unsigned

__all__ = ["keystore", "record", "signed", "unsigned"]

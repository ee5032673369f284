"""The signed records that the tests of signatures use, too."""

from tests.certificates.signing.conftest import (
    keystore,
    office,
    record,
    signed,
    stamped,
    unsigned,
)

__all__ = ["keystore", "office", "record", "signed", "stamped", "unsigned"]

"""The signed records that are attacked."""

import pytest

from certificates.signing import KeyStore
from tests.certificates.pdf.conftest import keystore
from tests.certificates.tamper.subject import Subject
from tests.certificates.tamper.subjects import make_subject

__all__ = ["keystore"]


@pytest.fixture(scope="session")
def subject(keystore: KeyStore) -> Subject:
    """A record signed without a time-stamp."""
    return make_subject(keystore)

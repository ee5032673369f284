"""The signed records that are attacked."""

from collections.abc import Iterator

import pytest

from certificates.signing import KeyStore
from tests.certificates.pdf.conftest import SIGNED_AT, keystore
from tests.certificates.signing.authority import make_office, opened
from tests.certificates.tamper.subject import Subject
from tests.certificates.tamper.subjects import make_stamped_subject, make_subject

__all__ = ["keystore"]


@pytest.fixture(scope="session")
def subject(keystore: KeyStore) -> Subject:
    """A record signed without a time-stamp."""
    return make_subject(keystore)


@pytest.fixture(scope="session")
def stamped_subject(keystore: KeyStore) -> Iterator[Subject]:
    """A record signed with a time-stamp of the tests' own authority."""
    with opened(make_office(SIGNED_AT)) as office:
        yield make_stamped_subject(keystore, office)

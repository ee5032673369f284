"""The same signed record as the tests of the PDF use, and one with a time-stamp."""

from collections.abc import Iterator

import pytest

from certificates.signing import KeyStore
from tests.certificates.pdf.conftest import SIGNED_AT, keystore, record, signed, unsigned
from tests.certificates.signing.authority import Office, make_office, opened
from tests.certificates.signing.stamped import stamp_it

__all__ = ["keystore", "office", "record", "signed", "stamped", "unsigned"]


@pytest.fixture(scope="session")
def office() -> Iterator[Office]:
    """A time-stamp authority whose clock stands at the time of signing."""
    with opened(make_office(SIGNED_AT)) as served:
        yield served


@pytest.fixture(scope="session")
def stamped(unsigned: bytes, keystore: KeyStore, office: Office) -> bytes:
    """The record signed with a time-stamp."""
    return stamp_it(unsigned, keystore, office)

"""The documents of a record, rendered and signed once for all tests of the PDFs."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from certificates.rendering import render
from certificates.signing import KeyStore, sign
from tests.certificates.pdf.factory import LONG_NAME, Document, make_record

SIGNED_AT = datetime(2026, 9, 28, 14, 5, tzinfo=UTC)
CHECKED_AT = datetime(2027, 1, 2, 3, 4, tzinfo=UTC)
PASSPHRASE = b"mallet and chisel"


@pytest.fixture(scope="session")
def keystore(tmp_path_factory: pytest.TempPathFactory) -> KeyStore:
    """Fresh issuing keys."""
    folder: Path = tmp_path_factory.mktemp("keys") / "issuing"
    return KeyStore(folder, PASSPHRASE, organisation="Ashlar Row Training Yard")


@pytest.fixture(scope="session")
def record() -> Document:
    """The record with the long name."""
    return make_record(holder={"name": LONG_NAME})


@pytest.fixture(scope="session")
def unsigned(record: Document) -> bytes:
    """The certificate of that record on US Letter."""
    return render(record)


@pytest.fixture(scope="session")
def signed(unsigned: bytes, keystore: KeyStore) -> bytes:
    """That PDF signed."""
    return sign_it(unsigned, keystore)


@pytest.fixture(scope="session")
def competency(record: Document) -> bytes:
    """The competency record on US Letter, unsigned."""
    return render(record, kind="competency")


@pytest.fixture(scope="session")
def signed_competency(competency: bytes, keystore: KeyStore) -> bytes:
    """That PDF signed."""
    return sign_it(competency, keystore)


def sign_it(pdf: bytes, keystore: KeyStore) -> bytes:
    """Sign as issuing does."""
    return sign(
        pdf,
        keystore,
        signing_time=SIGNED_AT,
        reason="Issue of the record",
        location="Port Ellery",
    )

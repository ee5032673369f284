"""A revoked certificate: what was certainly signed before the doubt stays good, nothing else."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes

from certificates.signing import KeyStore, verdict, verify
from tests.certificates.pdf.conftest import CHECKED_AT, PASSPHRASE, SIGNED_AT, sign_it
from tests.certificates.signing.authority import Office
from tests.certificates.signing.stamped import check, stamp_it

SECOND = timedelta(seconds=1)


@pytest.fixture
def store(tmp_path: Path) -> KeyStore:
    """Keys that may be revoked without touching those of other tests."""
    return KeyStore(tmp_path / "keys", PASSPHRASE, organisation="Ashlar Row Training Yard")


def lists_after(store: KeyStore, doubtful_from: datetime) -> list[x509.CertificateRevocationList]:
    """The issuer's lists once its key is known to have been in wrong hands."""
    made = store.signing_certificates() or [store.identity(at=SIGNED_AT).certificate]
    certificate = made[-1]
    store.revoke(
        certificate.fingerprint(hashes.SHA256()).hex(),
        at=CHECKED_AT - timedelta(days=1),
        doubtful_from=doubtful_from,
    )
    return store.crls()


def test_stamped_before_the_doubt_stays_genuine(
    unsigned: bytes, store: KeyStore, office: Office
) -> None:
    pdf = stamp_it(unsigned, store, office)
    found = check(pdf, store, office, crls=lists_after(store, SIGNED_AT + SECOND))
    assert found.genuine
    assert found.revoked is True
    assert found.doubtful_from == SIGNED_AT + SECOND


def test_stamped_at_or_after_the_doubt_does_not_count(
    unsigned: bytes, store: KeyStore, office: Office
) -> None:
    pdf = stamp_it(unsigned, store, office)
    for doubt in (SIGNED_AT, SIGNED_AT - SECOND):
        found = check(pdf, store, office, crls=lists_after(store, doubt))
        assert found.faults == [verdict.REVOKED_BEFORE]
        assert found.record is None


def test_without_a_trusted_time_nothing_counts(
    unsigned: bytes, store: KeyStore, office: Office
) -> None:
    """The time in a signature is whatever its maker wrote there; so is an unknown stamp's."""
    plain, stamped = sign_it(unsigned, store), stamp_it(unsigned, store, office)
    lists = lists_after(store, SIGNED_AT + timedelta(days=30))
    faults = verify(plain, store.roots(), now=CHECKED_AT, crls=lists).faults
    assert faults == [verdict.REVOKED_UNSTAMPED]
    assert check(stamped, store, office, crls=lists, stamp_roots=[]).faults == faults
    assert verify(plain, store.roots(), now=CHECKED_AT).genuine


def test_records_of_the_next_key_are_not_touched(
    unsigned: bytes, store: KeyStore, office: Office
) -> None:
    lists = lists_after(store, SIGNED_AT)
    store.rotate(at=SIGNED_AT)
    found = check(stamp_it(unsigned, store, office), store, office, crls=lists)
    assert found.genuine
    assert found.revoked is False


def test_the_list_inside_a_file_is_looked_at_too(
    unsigned: bytes, store: KeyStore, office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Signed with a revoked key, and the newest list inside says so itself."""
    thief = store.identity(at=SIGNED_AT)
    lists_after(store, SIGNED_AT)
    monkeypatch.setattr(KeyStore, "identity", lambda self, *, at: thief)
    found = check(stamp_it(unsigned, store, office), store, office)
    assert found.faults == [verdict.REVOKED_BEFORE]


def test_lists_of_an_impostor_revoke_nothing(
    unsigned: bytes, store: KeyStore, office: Office, tmp_path: Path
) -> None:
    impostor = KeyStore(tmp_path / "other", PASSPHRASE, organisation=store.organisation)
    pdf = stamp_it(unsigned, store, office)
    found = check(pdf, store, office, crls=lists_after(impostor, SIGNED_AT))
    assert found.genuine
    assert found.revoked is False

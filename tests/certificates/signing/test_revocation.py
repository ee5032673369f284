"""Revoked signing certificates: what the list says, and what openssl makes of it."""

import subprocess
from datetime import timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding

from certificates.signing import KeyStore, KeyStoreError
from certificates.signing.register import NAME
from certificates.signing.revocation import LIST_LIFE, LIST_REFRESH, find_revocation
from tests.certificates.pdf.conftest import PASSPHRASE
from tests.certificates.signing.test_keystore import START

ADDRESS = "https://records.example.org/issuers/1/crl.der"
LATER = START + timedelta(days=40)
DOUBT = START + timedelta(days=20)


@pytest.fixture
def store(tmp_path: Path) -> KeyStore:
    """Keys that name the address of their list."""
    return KeyStore(tmp_path / "keys", PASSPHRASE, organisation="Ashlar Row", crl_url=ADDRESS)


def sha256_of(certificate: x509.Certificate) -> str:
    return certificate.fingerprint(hashes.SHA256()).hex()


def openssl(folder: Path, *words: str) -> str:
    """What openssl says about the files in ``folder``, on both its outputs."""
    done = subprocess.run(
        ["openssl", *words], cwd=folder, capture_output=True, text=True, check=False
    )
    return done.stdout + done.stderr


def test_openssl_verifies_the_list_and_refuses_what_it_names(
    store: KeyStore, tmp_path: Path
) -> None:
    identity = store.identity(at=START)
    other = store.rotate(at=LATER)
    listed = store.revoke(sha256_of(identity.certificate), at=LATER, doubtful_from=DOUBT)
    (tmp_path / "list.der").write_bytes(listed)
    (tmp_path / "root.pem").write_bytes(store.roots_pem())
    for name, certificate in (("old.pem", identity.certificate), ("new.pem", other)):
        (tmp_path / name).write_bytes(certificate.public_bytes(Encoding.PEM))
    words = ["crl", "-inform", "DER", "-in", "list.der"]
    said = openssl(tmp_path, *words, "-CAfile", "root.pem", "-text", "-out", "list.pem")
    assert "verify OK" in said
    text = (tmp_path / "list.pem").read_text()
    assert "Key Compromise" in text
    assert "Invalidity Date" in text
    assert f"{DOUBT:%b %d %H:%M:%S %Y} GMT" in text
    assert "X509v3 CRL Number" in text
    openssl(tmp_path, *words, "-out", "list.pem")
    check = ["verify", "-CAfile", "root.pem", "-CRLfile", "list.pem", "-crl_check", "-attime"]
    moment = str(int(LATER.timestamp()) + 60)
    assert "certificate revoked" in openssl(tmp_path, *check, moment, "old.pem")
    assert "new.pem: OK" in openssl(tmp_path, *check, moment, "new.pem")


def test_the_list_follows_the_profile(store: KeyStore) -> None:
    """RFC 5280, 5.1.2 and 5.2: issuer, dates, key identifier, a number that grows."""
    root = store.identity(at=START).root
    first = x509.load_der_x509_crl(store.crl(START))
    assert first.issuer == root.subject
    assert first.next_update_utc == START + LIST_LIFE
    assert len(first) == 0
    named = first.extensions.get_extension_for_class(x509.AuthorityKeyIdentifier).value
    own = root.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    assert named.key_identifier == own.digest
    (second,) = store.publish_crl(LATER)
    numbers = [
        listed.extensions.get_extension_for_class(x509.CRLNumber).value.crl_number
        for listed in (first, second)
    ]
    assert numbers == [1, 2]
    assert store.crls() == [second]


def test_a_fresh_list_is_kept_and_a_stale_one_made_anew(store: KeyStore) -> None:
    store.identity(at=START)
    first = store.crl(START)
    assert store.crl(START + LIST_REFRESH - timedelta(seconds=1)) == first
    reader = KeyStore(store.folder, None, organisation="")
    assert reader.crl(START + LIST_REFRESH) == first
    assert store.crl(START + LIST_REFRESH) != first


def test_certificates_name_the_address_of_the_list(store: KeyStore) -> None:
    """RFC 5280, 4.2.1.13."""
    leaf = store.identity(at=START).certificate
    (place,) = leaf.extensions.get_extension_for_class(x509.CRLDistributionPoints).value
    assert [name.value for name in place.full_name or []] == [ADDRESS]


def test_a_revoked_certificate_signs_nothing_more(store: KeyStore) -> None:
    old = store.identity(at=START).certificate
    store.revoke(sha256_of(old), at=START)
    with pytest.raises(KeyStoreError, match="rotate the issuing key"):
        store.identity(at=START)
    new = store.rotate(at=START)
    assert store.identity(at=START).certificate == new != old


def test_revoking_again_moves_the_doubt_back_only(store: KeyStore) -> None:
    identity = store.identity(at=START)
    name = sha256_of(identity.certificate)
    for doubt in (DOUBT, START, DOUBT):
        store.revoke(name, at=LATER, doubtful_from=doubt)
    known, found = find_revocation(identity.certificate, identity.root, store.crls())
    assert known is True
    assert found is not None
    assert (found.doubtful_from, found.revoked_at) == (START, LATER)
    assert len(store.crls()[0]) == 1


def test_lists_of_other_issuers_say_nothing(store: KeyStore, tmp_path: Path) -> None:
    identity = store.identity(at=START)
    impostor = KeyStore(tmp_path / "other", PASSPHRASE, organisation="Ashlar Row")
    impostor.identity(at=START)
    impostor.crl(START)
    assert find_revocation(identity.certificate, identity.root, impostor.crls()) == (None, None)
    store.crl(START)
    assert find_revocation(identity.certificate, identity.root, store.crls()) == (False, None)


def test_what_cannot_be_revoked_is_named(store: KeyStore) -> None:
    with pytest.raises(KeyStoreError, match="No record was signed here yet"):
        store.crl(START)
    name = sha256_of(store.identity(at=START).certificate)
    with pytest.raises(KeyStoreError, match="has the SHA-256 abc: look it up"):
        store.revoke("abc", at=START)
    reader = KeyStore(store.folder, None, organisation="")
    with pytest.raises(KeyStoreError, match="set BANKERMARK_KEY_PASSPHRASE"):
        reader.revoke(name, at=START)
    assert not (store.folder / NAME).exists()
    (store.folder / NAME).write_text("[{}]")
    with pytest.raises(KeyStoreError, match=r"revoked\.json is damaged"):
        store.identity(at=START)

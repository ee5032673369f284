"""Issuing keys in a device behind PKCS#11: SoftHSM2 stands in for it."""

import os
import subprocess
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from shutil import which

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec

from certificates.signing import KeyStore, KeyStoreError, verify
from certificates.signing.device import Device
from tests.certificates.pdf.conftest import CHECKED_AT, PASSPHRASE, SIGNED_AT, sign_it
from tests.certificates.pdf.tools import run_on
from tests.certificates.signing.test_keystore import START, files, store

LIBRARY = Path("/usr/lib/softhsm/libsofthsm2.so")
PIN = "2718-2818"
pytestmark = pytest.mark.skipif(
    not LIBRARY.exists() or which("softhsm2-util") is None,
    reason="the Debian package softhsm2 is not installed",
)


@pytest.fixture(scope="module")
def device(tmp_path_factory: pytest.TempPathFactory) -> Device:
    """A fresh token; the library reads its configuration once, when it is loaded."""
    folder = tmp_path_factory.mktemp("softhsm")
    (folder / "tokens").mkdir()
    (folder / "softhsm2.conf").write_text(f"directories.tokendir = {folder / 'tokens'}\n")
    os.environ["SOFTHSM2_CONF"] = str(folder / "softhsm2.conf")
    subprocess.run(
        ["softhsm2-util", "--init-token", "--free", "--label", "yard", "--pin", PIN,
         "--so-pin", "31415926"],
        check=True,
        capture_output=True,
    )  # fmt: skip
    return Device(LIBRARY, "yard", PIN)


@pytest.fixture
def keystore_in_device(device: Device, tmp_path: Path) -> KeyStore:
    """A store without a passphrase."""
    return KeyStore(tmp_path / "keys", None, organisation="Ashlar Row Training Yard", device=device)


def test_a_record_signed_in_the_device_is_genuine(
    unsigned: bytes, keystore_in_device: KeyStore
) -> None:
    signed = sign_it(unsigned, keystore_in_device)
    assert "Signature is Valid." in run_on(signed, "pdfsig", "-nocert", "FILE")
    assert verify(signed, keystore_in_device.roots(), now=CHECKED_AT).genuine


def test_no_key_is_in_the_files(keystore_in_device: KeyStore) -> None:
    identity = keystore_in_device.identity(at=START)
    identity.certificate.verify_directly_issued_by(identity.root)
    for path in files(keystore_in_device.folder):
        assert b"PRIVATE" not in path.read_bytes()
    with pytest.raises(KeyStoreError, match="never leaves it"):
        identity.key.private_numbers()


def test_rotation_and_lists_are_made_in_the_device(keystore_in_device: KeyStore) -> None:
    first = keystore_in_device.identity(at=START)
    name = first.certificate.fingerprint(hashes.SHA256()).hex()
    listed = x509.load_der_x509_crl(keystore_in_device.revoke(name, at=START))
    key = first.root.public_key()
    assert isinstance(key, ec.EllipticCurvePublicKey)
    assert listed.is_signature_valid(key)
    second = keystore_in_device.rotate(at=START)
    assert keystore_in_device.identity(at=START).certificate == second != first.certificate


def test_keys_made_as_files_go_on_until_the_next_rotation(
    tmp_path: Path, device: Device, unsigned: bytes
) -> None:
    old = sign_it(unsigned, store(tmp_path / "keys"))
    name = store(tmp_path).organisation
    both = KeyStore(tmp_path / "keys", PASSPHRASE, organisation=name, device=device)
    assert sign_it(unsigned, both) == old
    later = SIGNED_AT + timedelta(days=1)
    renewed = both.rotate(at=later)
    assert both.identity(at=later).certificate == renewed
    assert (
        b"PRIVATE"
        not in (tmp_path / "keys" / f"signing-{renewed.serial_number:x}.pem").read_bytes()
    )
    assert verify(old, both.roots(), now=CHECKED_AT).genuine


def test_what_is_wrong_with_a_device_is_named(
    keystore_in_device: KeyStore, device: Device, tmp_path: Path
) -> None:
    keystore_in_device.identity(at=START)
    folder = keystore_in_device.folder
    for wrong in (replace(device, label="other"), replace(device, pin="0000-0000")):
        with pytest.raises(KeyStoreError, match=r"cannot be used .*BANKERMARK_PKCS11_TOKEN and"):
            KeyStore(folder, None, organisation="", device=wrong).rotate(at=START)
    with pytest.raises(KeyStoreError, match="is in a device: set BANKERMARK_PKCS11_MODULE"):
        store(folder).identity(at=START)
    stranger = ec.generate_private_key(ec.SECP256R1()).public_key()
    with pytest.raises(KeyStoreError, match="does not hold the key"):
        device.key_for(stranger)
    assert PIN not in repr(device)


def test_a_forked_process_signs_too(keystore_in_device: KeyStore) -> None:
    """A worker that was forked after its parent had used the device."""
    key = keystore_in_device.identity(at=START).key
    message = b"mortar"
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.write(writer, key.sign(message, ec.ECDSA(hashes.SHA256())))
        finally:
            os._exit(0)
    os.close(writer)
    with os.fdopen(reader, "rb") as pipe:
        signature = pipe.read()
    os.waitpid(child, 0)
    key.public_key().verify(signature, message, ec.ECDSA(hashes.SHA256()))

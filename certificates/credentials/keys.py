"""The Ed25519 keys that sign an issuer's credentials, in the folder of its issuing keys.

``credential-<when it was made>-<begin of its digest>.pem`` holds one encrypted PKCS#8 private
key and its public key. The newest one signs; the older ones stay published, since credentials
signed with them are out there. The public keys can be read without the passphrase.
"""

import fcntl
import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from certificates.signing.errors import KeyStoreError

FILES = "credential-*.pem"
PUBLIC_MARK = b"-----BEGIN PUBLIC KEY-----"
BACKUP = "put the file back from a backup"


class CredentialKeys:
    """The keys for credentials in ``folder``; ``passphrase`` is needed to sign, not to publish.

    The folder gets mode 0700 and its files 0600. Raises KeyStoreError, whose text says what to
    do, when the passphrase is missing or wrong or a file cannot be used.
    """

    def __init__(self, folder: Path, passphrase: bytes | None) -> None:
        self.folder = folder
        self._passphrase = passphrase

    def public(self) -> list[Ed25519PublicKey]:
        """Every public key made so far, the newest first; none before the first use."""
        return [_public(path) for path in self._files()]

    def signer(self, *, at: datetime) -> Ed25519PrivateKey:
        """The newest private key; makes the first one when there is none.

        Several processes may come here at once: one makes the key, the others wait and read it.
        """
        passphrase = self._need_passphrase()
        if not self._files():
            with self._locked():
                if not self._files():
                    self._make(at)
        return _private(self._files()[0], passphrase)

    def rotate(self, *, at: datetime) -> Ed25519PublicKey:
        """Make a new key, which signs from now on. The older ones stay published."""
        self._need_passphrase()
        with self._locked():
            return self._make(at)

    def _need_passphrase(self) -> bytes:
        if not self._passphrase:
            raise KeyStoreError(
                "The passphrase of the credentials' key is missing: set BANKERMARK_KEY_PASSPHRASE "
                "to the one that this server's keys were made with."
            )
        return self._passphrase

    def _files(self) -> list[Path]:
        try:
            return sorted(self.folder.glob(FILES), reverse=True)
        except OSError as error:
            raise KeyStoreError(_unusable(self.folder, error)) from error

    def _make(self, at: datetime) -> Ed25519PublicKey:
        key = Ed25519PrivateKey.generate()
        data = key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.BestAvailableEncryption(self._need_passphrase()),
        )
        public = key.public_key()
        pem = public.public_bytes(
            serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo
        )
        name = f"credential-{at.astimezone(UTC):%Y%m%dT%H%M%S%fZ}-{_digest(public)[:16]}"
        draft = self.folder / f"{name}.draft"
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(data + pem)
            file.flush()
            os.fsync(file.fileno())
        draft.rename(self.folder / f"{name}.pem")
        return public

    @contextmanager
    def _locked(self) -> Iterator[None]:
        """Hold the lock of the folder's credential keys, for which other processes wait."""
        try:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            self.folder.chmod(0o700)
            handle = os.open(self.folder / "credential.lock", os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise KeyStoreError(_unusable(self.folder, error)) from error
        with os.fdopen(handle, "wb") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield


def _public(path: Path) -> Ed25519PublicKey:
    data = _read(path)
    try:
        key = serialization.load_pem_public_key(data[max(data.find(PUBLIC_MARK), 0) :])
    except (ValueError, UnsupportedAlgorithm) as error:
        raise KeyStoreError(f"{path} holds no readable public key: {BACKUP}.") from error
    if not isinstance(key, Ed25519PublicKey) or _digest(key)[:16] not in path.name:
        raise KeyStoreError(f"The public key in {path} is not the one of its name: {BACKUP}.")
    return key


def _private(path: Path, passphrase: bytes) -> Ed25519PrivateKey:
    data = _read(path)
    if path.stat().st_mode & 0o077:
        raise KeyStoreError(
            f"{path} can be read by other users of this machine: run `chmod 600 {path}`."
        )
    try:
        key = serialization.load_pem_private_key(data.partition(PUBLIC_MARK)[0], passphrase)
    except TypeError as error:
        raise KeyStoreError(f"The private key in {path} is not encrypted: {BACKUP}.") from error
    except ValueError as error:
        raise KeyStoreError(
            f"The private key in {path} does not open: BANKERMARK_KEY_PASSPHRASE is not the "
            f"passphrase that it was made with, or the file is damaged. Set the right one, or "
            f"{BACKUP}."
        ) from error
    if not isinstance(key, Ed25519PrivateKey) or key.public_key() != _public(path):
        raise KeyStoreError(f"The private key in {path} is not the one published: {BACKUP}.")
    return key


def _digest(key: Ed25519PublicKey) -> str:
    raw = key.public_bytes(serialization.Encoding.Raw, serialization.PublicFormat.Raw)
    return hashlib.sha256(raw).hexdigest()


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise KeyStoreError(_unusable(path, error)) from error


def _unusable(path: Path, error: OSError) -> str:
    return (
        f"{path} cannot be used ({error.strerror}): give it to the user who runs this server, "
        "with mode 0700 for the folder and 0600 for its files."
    )

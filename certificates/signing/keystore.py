"""The folder that holds the issuing keys, and what may be done with it.

``root-<serial>.pem`` holds a root, ``signing-<serial>.pem`` a signing certificate below a root.
Each file holds one encrypted PKCS#8 private key and its certificate, and is written whole or not
at all. Certificates can be read without the passphrase, so a server that only checks records
needs none.
"""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

from certificates.signing import issuing
from certificates.signing.errors import KeyStoreError

ROOT = "root"
SIGNING = "signing"
CERTIFICATE_MARK = b"-----BEGIN CERTIFICATE-----"


@dataclass(frozen=True)
class Identity:
    """A private key, the certificate for it, and the root that vouches for the certificate."""

    key: ec.EllipticCurvePrivateKey
    certificate: x509.Certificate
    root: x509.Certificate


class KeyStore:
    """The issuing keys in ``folder``; ``passphrase`` is needed to sign, not to check.

    The folder gets mode 0700 and its files 0600. Raises KeyStoreError, whose text says what to
    do, when the passphrase is missing or wrong or a file cannot be used.
    """

    def __init__(self, folder: Path, passphrase: bytes | None, *, organisation: str) -> None:
        self.folder = folder
        self.organisation = organisation
        self._passphrase = passphrase

    def roots(self) -> list[x509.Certificate]:
        """The roots of this issuer, the newest first: what ``verify`` trusts. May be empty."""
        return [certificate for _, certificate in self._certificates(ROOT)]

    def signing_certificates(self) -> list[x509.Certificate]:
        """Every signing certificate made so far, the newest first."""
        return [certificate for _, certificate in self._certificates(SIGNING)]

    def roots_pem(self) -> bytes:
        """The roots as PEM text, for readers that want to check records themselves."""
        pem = serialization.Encoding.PEM
        return b"".join(root.public_bytes(pem) for root in self.roots())

    def identity(self, *, at: datetime) -> Identity:
        """The newest signing certificate valid at the instant ``at``, with its key.

        Makes the root and the first signing certificate when the folder holds none. Several
        processes may come here at once: one makes the keys, the others wait and read them.
        """
        self._need_passphrase()
        if not self._certificates(SIGNING):
            with self._locked():
                if not self._certificates(SIGNING):
                    self._issue(at)
        for path, certificate in self._certificates(SIGNING):
            if certificate.not_valid_before_utc <= at <= certificate.not_valid_after_utc:
                root = self._root_of(path, certificate)
                return Identity(self._key(path, certificate), certificate, root)
        raise KeyStoreError(
            f"No signing certificate in {self.folder} is valid at {at:%Y-%m-%d %H:%M %Z}. "
            "Make a new one (rotate the issuing key), and check this machine's clock."
        )

    def rotate(self, *, at: datetime) -> x509.Certificate:
        """Make a new signing certificate; from ``at`` on it signs. The older ones stay trusted."""
        self._need_passphrase()
        with self._locked():
            return self._issue(at)

    def _issue(self, at: datetime) -> x509.Certificate:
        roots = self._certificates(ROOT)
        current = [
            (path, root)
            for path, root in roots
            if root.not_valid_before_utc <= at < root.not_valid_after_utc
        ]
        if current:
            path, root = current[0]
            root_key = self._key(path, root)
        else:
            root_key = issuing.make_key()
            root = issuing.make_root(root_key, organisation=self.organisation, at=at)
            self._write(ROOT, root_key, root)
        key = issuing.make_key()
        certificate = issuing.make_signing_certificate(
            key, root=root, root_key=root_key, organisation=self.organisation, at=at
        )
        self._write(SIGNING, key, certificate)
        return certificate

    def _need_passphrase(self) -> bytes:
        if not self._passphrase:
            raise KeyStoreError(
                "The passphrase of the issuing key is missing: set BANKERMARK_KEY_PASSPHRASE to "
                "the one that this server's keys were made with."
            )
        return self._passphrase

    def _certificates(self, kind: str) -> list[tuple[Path, x509.Certificate]]:
        """Files of one kind with their certificates: the one that starts last comes first."""
        try:
            paths = [path for path in self.folder.iterdir() if path.match(f"{kind}-*.pem")]
        except FileNotFoundError:
            return []
        except OSError as error:
            raise KeyStoreError(_unreadable(self.folder, error)) from error
        found = [(path, _read_certificate(path)) for path in paths]
        found.sort(
            key=lambda pair: (pair[1].not_valid_before_utc, pair[1].serial_number), reverse=True
        )
        return found

    def _root_of(self, path: Path, certificate: x509.Certificate) -> x509.Certificate:
        for root in self.roots():
            try:
                certificate.verify_directly_issued_by(root)
            except Exception:  # the library raises ValueError, TypeError or InvalidSignature
                continue
            return root
        raise KeyStoreError(
            f"No root in {self.folder} vouches for {path.name}: put the root file back from the "
            "backup that this file came from."
        )

    def _key(self, path: Path, certificate: x509.Certificate) -> ec.EllipticCurvePrivateKey:
        data = _read(path)
        if path.stat().st_mode & 0o077:
            raise KeyStoreError(
                f"{path} can be read by other users of this machine: run `chmod 600 {path}`."
            )
        try:
            key = serialization.load_pem_private_key(data, self._need_passphrase())
        except TypeError as error:
            raise KeyStoreError(
                f"The private key in {path} is not encrypted: put the file back from a backup."
            ) from error
        except ValueError as error:
            raise KeyStoreError(
                f"The private key in {path} does not open: BANKERMARK_KEY_PASSPHRASE is not the "
                "passphrase that it was made with, or the file is damaged. Set the right "
                "passphrase, or put the file back from a backup."
            ) from error
        if (
            not isinstance(key, ec.EllipticCurvePrivateKey)
            or key.public_key() != certificate.public_key()
        ):
            raise KeyStoreError(
                f"The private key in {path} does not belong to the certificate beside it: put the "
                "file back from a backup."
            )
        return key

    def _write(
        self, kind: str, key: ec.EllipticCurvePrivateKey, certificate: x509.Certificate
    ) -> None:
        data = key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.BestAvailableEncryption(self._need_passphrase()),
        ) + certificate.public_bytes(serialization.Encoding.PEM)
        target = self.folder / f"{kind}-{certificate.serial_number:x}.pem"
        draft = target.with_suffix(".draft")
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        draft.rename(target)

    @contextmanager
    def _locked(self) -> Iterator[None]:
        """Hold the folder's lock, which other processes of this machine wait for."""
        try:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            self.folder.chmod(0o700)
            handle = os.open(self.folder / "lock", os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise KeyStoreError(
                f"{self.folder} cannot be written ({error.strerror}): make it a folder that "
                "belongs to the user who runs this server."
            ) from error
        with os.fdopen(handle, "wb") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise KeyStoreError(_unreadable(path, error)) from error


def _read_certificate(path: Path) -> x509.Certificate:
    data = _read(path)
    start = data.find(CERTIFICATE_MARK)
    try:
        return x509.load_pem_x509_certificate(data[max(start, 0) :])
    except ValueError as error:
        raise KeyStoreError(
            f"{path} holds no readable certificate: put the file back from a backup, or move it "
            "out of the folder."
        ) from error


def _unreadable(path: Path, error: OSError) -> str:
    return (
        f"{path} cannot be read ({error.strerror}): give it to the user who runs this server, "
        "with mode 0700 for the folder and 0600 for its files."
    )

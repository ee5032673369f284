"""Files of a folder of keys: closed to others, written whole or not at all, locked."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cryptography import x509

from certificates.signing.errors import KeyStoreError

CERTIFICATE_MARK = b"-----BEGIN CERTIFICATE-----"


def read(path: Path) -> bytes:
    """The bytes of a file; raise KeyStoreError with what to do when it cannot be read."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise KeyStoreError(_unreadable(path, error)) from error


def read_certificate(path: Path) -> x509.Certificate:
    """The certificate in a file, which may hold a private key in front of it."""
    data = read(path)
    start = data.find(CERTIFICATE_MARK)
    try:
        return x509.load_pem_x509_certificate(data[max(start, 0) :])
    except ValueError as error:
        raise KeyStoreError(
            f"{path} holds no readable certificate: put the file back from a backup, or move it "
            "out of the folder."
        ) from error


def matching(folder: Path, pattern: str) -> list[Path]:
    """The files whose names match; none when the folder is not there yet."""
    try:
        return [path for path in folder.iterdir() if path.match(pattern)]
    except FileNotFoundError:
        return []
    except OSError as error:
        raise KeyStoreError(_unreadable(folder, error)) from error


def write(target: Path, data: bytes) -> None:
    """Put ``data`` in place of ``target`` at once; the caller holds the lock."""
    draft = target.with_suffix(".draft")
    try:
        # What a process left behind when it was killed: nobody else writes under the lock.
        draft.unlink(missing_ok=True)
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        draft.rename(target)
    except OSError as error:
        raise KeyStoreError(_unwritable(target, error)) from error


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the folder's lock, which other processes of this machine wait for."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        folder.chmod(0o700)
        handle = os.open(folder / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as error:
        raise KeyStoreError(_unwritable(folder, error)) from error
    with os.fdopen(handle, "wb") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _unreadable(path: Path, error: OSError) -> str:
    return (
        f"{path} cannot be read ({error.strerror}): give it to the user who runs this server, "
        "with mode 0700 for the folder and 0600 for its files."
    )


def _unwritable(path: Path, error: OSError) -> str:
    return (
        f"{path} cannot be written ({error.strerror}): make it a folder that belongs to the "
        "user who runs this server."
    )

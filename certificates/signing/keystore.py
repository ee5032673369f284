"""The folder that holds the issuing keys, and what may be done with it.

``root-<serial>.pem`` holds a root, ``signing-<serial>.pem`` a signing certificate below a root.
Each file holds one encrypted PKCS#8 private key and its certificate, and is written whole or not
at all. ``crl-<serial>.der`` is the newest list of revoked certificates of a root. Certificates
and lists can be read without the passphrase, so a server that only checks records needs none.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec

from certificates.signing import folder as files
from certificates.signing import issuing
from certificates.signing.device import Device, DeviceKey
from certificates.signing.errors import KeyStoreError
from certificates.signing.register import Noted, read_register, write_register
from certificates.signing.revocation import (
    KEY_COMPROMISE,
    LIST_REFRESH,
    Revocation,
    make_list,
    number_of,
)

ROOT = "root"
SIGNING = "signing"
KEY_MARK = b"PRIVATE KEY-----"
NO_ISSUER = "No record was signed here yet, so there is no list of revoked certificates."


@dataclass(frozen=True)
class Identity:
    """A private key, the certificate for it, and the root that vouches for the certificate."""

    key: ec.EllipticCurvePrivateKey
    certificate: x509.Certificate
    root: x509.Certificate


class KeyStore:
    """The issuing keys in ``folder``; ``passphrase`` is needed to sign, not to check.

    The folder gets mode 0700 and its files 0600. Raises KeyStoreError, whose text says what to
    do, when the passphrase is missing or wrong or a file cannot be used. ``crl_url`` is the
    address at which the list of revoked certificates is published; new certificates name it, and
    ``purpose``, which is what the keys sign.
    With a ``device``, keys are made and stay in it, and the files hold certificates only; the
    passphrase is then needed only for keys made as files before.
    """

    def __init__(
        self,
        folder: Path,
        passphrase: bytes | None,
        *,
        organisation: str,
        purpose: str = "records",
        crl_url: str | None = None,
        device: Device | None = None,
    ) -> None:
        self.folder = folder
        self.organisation = organisation
        self.purpose = purpose
        self.crl_url = crl_url
        self.device = device
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
        """The newest signing certificate valid at the instant ``at``, not revoked, with its key.

        Makes the root and the first signing certificate when the folder holds none. Several
        processes may come here at once: one makes the keys, the others wait and read them.
        """
        self._need_secret()
        if not self._certificates(SIGNING):
            with files.locked(self.folder):
                if not self._certificates(SIGNING):
                    self._issue(at)
        revoked = {row.certificate_sha256 for row in read_register(self.folder)}
        for path, certificate in self._certificates(SIGNING):
            if certificate.fingerprint(hashes.SHA256()).hex() in revoked:
                continue
            if certificate.not_valid_before_utc <= at <= certificate.not_valid_after_utc:
                root = self._root_of(path, certificate)
                return Identity(self._key(path, certificate), certificate, root)
        raise KeyStoreError(
            f"No signing certificate in {self.folder} is valid at {at:%Y-%m-%d %H:%M %Z}. "
            "Make a new one (rotate the issuing key), and check this machine's clock."
        )

    def rotate(self, *, at: datetime) -> x509.Certificate:
        """Make a new signing certificate; from ``at`` on it signs. The older ones stay trusted."""
        self._need_secret()
        with files.locked(self.folder):
            return self._issue(at)

    def crls(self) -> list[x509.CertificateRevocationList]:
        """The newest list of each root, as they are kept; needs no passphrase. May be empty."""
        kept = [self._kept_list(root) for root in self.roots()]
        return [listed for listed in kept if listed is not None]

    def crl(self, at: datetime, *, root: x509.Certificate | None = None) -> bytes:
        """The list of revoked certificates of ``root`` (default: the newest one) in DER.

        The kept one while it is fresh; else it is made anew, which needs the root's key. Without
        the passphrase the kept one is given as it is. Raises KeyStoreError when there is none.
        """
        chosen = root or next(iter(self.roots()), None)
        if chosen is None:
            raise KeyStoreError(NO_ISSUER)
        kept = self._kept_list(chosen)
        if kept is None or (self._can_sign and at >= kept.last_update_utc + LIST_REFRESH):
            with files.locked(self.folder):
                kept = self._make_list(chosen, at)
        return kept.public_bytes(serialization.Encoding.DER)

    def publish_crl(self, at: datetime) -> list[x509.CertificateRevocationList]:
        """Make the list of every root that is valid at ``at`` anew, fresh or not."""
        with files.locked(self.folder):
            return [
                self._make_list(root, at)
                for root in self.roots()
                if root.not_valid_before_utc <= at <= root.not_valid_after_utc
            ]

    def revoke(
        self,
        certificate_sha256: str,
        *,
        at: datetime,
        reason: x509.ReasonFlags = KEY_COMPROMISE,
        doubtful_from: datetime | None = None,
    ) -> bytes:
        """Revoke a signing certificate from ``at`` on; return the new list of its root in DER.

        ``doubtful_from`` is the instant from which its key may have been in wrong hands, if that
        is earlier. Revoking again can move that instant back, never forward. The certificate
        signs nothing any more; make another one with ``rotate``.
        """
        at = at.replace(microsecond=0)
        doubt = min(at, (doubtful_from or at).replace(microsecond=0))
        path, certificate = self._signing_certificate(certificate_sha256)
        root = self._root_of(path, certificate)
        # Nothing is noted that the list could not tell.
        self._root_key(root)
        with files.locked(self.folder):
            before = read_register(self.folder)
            earlier = [row for row in before if row.certificate_sha256 == certificate_sha256]
            for row in earlier:
                at, reason = row.revocation.revoked_at, row.revocation.reason
                doubt = min(doubt, row.revocation.doubtful_from)
            revocation = Revocation(certificate.serial_number, at, doubt, reason)
            kept = [row for row in before if row not in earlier]
            write_register(self.folder, [*kept, Noted(certificate_sha256, revocation)])
            return self._make_list(root, at).public_bytes(serialization.Encoding.DER)

    def _signing_certificate(self, sha256: str) -> tuple[Path, x509.Certificate]:
        for path, certificate in self._certificates(SIGNING):
            if certificate.fingerprint(hashes.SHA256()).hex() == sha256:
                return path, certificate
        raise KeyStoreError(
            f"No signing certificate in {self.folder} has the SHA-256 {sha256}: look it up with "
            "the record that was signed with it."
        )

    def _root_key(self, root: x509.Certificate) -> ec.EllipticCurvePrivateKey:
        return self._key(self.folder / f"{ROOT}-{root.serial_number:x}.pem", root)

    def _list_path(self, root: x509.Certificate) -> Path:
        return self.folder / f"crl-{root.serial_number:x}.der"

    def _kept_list(self, root: x509.Certificate) -> x509.CertificateRevocationList | None:
        path = self._list_path(root)
        if not path.exists():
            return None
        try:
            return x509.load_der_x509_crl(files.read(path))
        except ValueError as error:
            raise KeyStoreError(
                f"{path} is damaged: remove it and run `manage.py publish_crl`."
            ) from error

    def _make_list(self, root: x509.Certificate, at: datetime) -> x509.CertificateRevocationList:
        """Make and keep the list of ``root``; the caller holds the lock."""
        below = {
            certificate.serial_number
            for certificate in self.signing_certificates()
            if certificate.issuer == root.subject
        }
        kept = self._kept_list(root)
        listed = make_list(
            root,
            self._root_key(root),
            [
                row.revocation
                for row in read_register(self.folder)
                if row.revocation.serial in below
            ],
            number=1 if kept is None else number_of(kept) + 1,
            # A clock that was put back must not make a list look older than the one before it.
            at=at if kept is None else max(at, kept.last_update_utc),
        )
        files.write(self._list_path(root), listed.public_bytes(serialization.Encoding.DER))
        return listed

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
            root_key = self._new_key()
            root = issuing.make_root(root_key, organisation=self.organisation, at=at)
            self._write(ROOT, root_key, root)
        key = self._new_key()
        certificate = issuing.make_signing_certificate(
            key,
            root=root,
            root_key=root_key,
            organisation=self.organisation,
            purpose=self.purpose,
            at=self._after_the_newest(at),
            crl_url=self.crl_url,
        )
        self._write(SIGNING, key, certificate)
        return certificate

    def _after_the_newest(self, at: datetime) -> datetime:
        """``at``, or a little later where a certificate begins at it: the newest begins last.

        Certificates begin in whole seconds, so that two of one second could not be told apart.
        """
        for _, newest in self._certificates(SIGNING)[:1]:
            begun = newest.not_valid_before_utc + issuing.CLOCK_ALLOWANCE
            if timedelta(0) <= begun - at.replace(microsecond=0) < timedelta(minutes=1):
                return begun + timedelta(seconds=1)
        return at

    @property
    def _can_sign(self) -> bool:
        return bool(self.device or self._passphrase)

    def _need_secret(self) -> None:
        if self.device is None:
            self._need_passphrase()

    def _new_key(self) -> ec.EllipticCurvePrivateKey:
        return self.device.make() if self.device else issuing.make_key()

    def _need_passphrase(self) -> bytes:
        if not self._passphrase:
            raise KeyStoreError(
                "The passphrase of the issuing key is missing: set BANKERMARK_KEY_PASSPHRASE to "
                "the one that this server's keys were made with."
            )
        return self._passphrase

    def _certificates(self, kind: str) -> list[tuple[Path, x509.Certificate]]:
        """Files of one kind with their certificates: the one that starts last comes first."""
        paths = files.matching(self.folder, f"{kind}-*.pem")
        found = [(path, files.read_certificate(path)) for path in paths]
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
        data = files.read(path)
        if path.stat().st_mode & 0o077:
            raise KeyStoreError(
                f"{path} can be read by other users of this machine: run `chmod 600 {path}`."
            )
        if KEY_MARK not in data:
            return self._device_key(path, certificate)
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

    def _device_key(self, path: Path, certificate: x509.Certificate) -> DeviceKey:
        public = certificate.public_key()
        if self.device is None or not isinstance(public, ec.EllipticCurvePublicKey):
            raise KeyStoreError(
                f"The key of {path} is in a device: set BANKERMARK_PKCS11_MODULE, _TOKEN and _PIN."
            )
        return self.device.key_for(public)

    def _write(
        self, kind: str, key: ec.EllipticCurvePrivateKey, certificate: x509.Certificate
    ) -> None:
        data = certificate.public_bytes(serialization.Encoding.PEM)
        if self.device is None:
            secret = serialization.BestAvailableEncryption(self._need_passphrase())
            form = serialization.PrivateFormat.PKCS8
            data = key.private_bytes(serialization.Encoding.PEM, form, secret) + data
        files.write(self.folder / f"{kind}-{certificate.serial_number:x}.pem", data)

"""A time-stamp authority of the tests: its own root, and a small server on this machine."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from asn1crypto import keys, tsp
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from pyhanko.sign.timestamps import DummyTimeStamper

from certificates.signing.stamping import Authority, as_asn1

BITS = 2048


@dataclass
class Office:
    """Who makes the time-stamps: ``at`` is what its clock says, or the true time."""

    root: x509.Certificate
    certificate: x509.Certificate
    key: rsa.RSAPrivateKey
    at: datetime | None = None
    url: str = ""
    answers: int = 0
    spoil: bytes | None = None
    beside: list[x509.Certificate] = field(default_factory=list)
    seen: set[str | None] = field(default_factory=set)

    @property
    def authority(self) -> Authority:
        """This office, as one who signs is told of it."""
        return Authority(self.url, (self.root,))

    def answer(self, request: bytes) -> bytes:
        """The reply to a request in DER."""
        self.answers += 1
        if self.spoil is not None:
            return self.spoil
        beside: Any = [as_asn1(row) for row in (self.root, *self.beside)]
        stamper = DummyTimeStamper(
            as_asn1(self.certificate),
            keys.PrivateKeyInfo.load(_der(self.key)),
            certs_to_embed=beside,
            fixed_dt=self.at,
        )
        reply: bytes = stamper.request_tsa_response(tsp.TimeStampReq.load(request)).dump()
        return reply


def make_office(at: datetime, *, name: str = "Harbour Time Office") -> Office:
    """An office whose certificates are valid around ``at``, which its clock keeps saying."""
    root_key, key = _key(f"{name} root"), _key(name)
    title = _name(f"{name} root")
    root = (
        _begin(title, title, root_key, at)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(root_key, hashes.SHA256())
    )
    purpose = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING])
    certificate = (
        _begin(_name(name), title, key, at)
        .add_extension(purpose, critical=True)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(root_key.public_key()), False
        )
        .sign(root_key, hashes.SHA256())
    )
    return Office(root, certificate, key, at)


@contextmanager
def opened(office: Office) -> Iterator[Office]:
    """Serve ``office`` at a free port of this machine."""

    class Desk(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            office.seen.add(self.headers["Authorization"])
            reply = office.answer(self.rfile.read(int(self.headers["Content-Length"])))
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.send_header("Content-Length", str(len(reply)))
            self.end_headers()
            self.wfile.write(reply)

        def log_message(self, *args: object) -> None:
            """Keep quiet."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Desk) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        office.url = f"http://127.0.0.1:{server.server_port}/stamp"
        try:
            yield office
        finally:
            server.shutdown()


def write_roots(office: Office, folder: Path) -> Path:
    """The file that a server is given the root in."""
    path = folder / "stamp-roots.pem"
    path.write_bytes(office.root.public_bytes(serialization.Encoding.PEM))
    return path


@lru_cache
def _key(name: str) -> rsa.RSAPrivateKey:
    return rsa.generate_private_key(65537, BITS)


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def _begin(
    subject: x509.Name, issuer: x509.Name, key: rsa.RSAPrivateKey, at: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(at - timedelta(days=30))
        .not_valid_after(at + timedelta(days=365))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), False)
    )


def _der(key: rsa.RSAPrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.DER,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
